package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"

	"tallystick/calc/price"
)

const entryColumns = "number, piece, lot, kind, at, day, target, amount, currency, seconds, millionths, facts"

func scanEntry(scan func(...any) error) (e price.Entry, err error) {
	var facts string
	err = scan(&e.Number, &e.Piece, &e.Lot, &e.Kind, &e.At, &e.Day, &e.Target, &e.Amount, &e.Currency, &e.Seconds, &e.Millionths, &facts)
	if errors.Is(err, sql.ErrNoRows) {
		return e, ErrNotFound
	}
	if err != nil {
		return e, err
	}
	if json.Unmarshal([]byte(facts), &e.Facts) != nil {
		return e, fmt.Errorf("entry %d has facts that cannot be read", e.Number) // never the facts themselves
	}
	return e, nil
}

// Entry finds an entry of the member, or gives ErrNotFound.
func (b *Book) Entry(ctx context.Context, number int) (price.Entry, error) {
	return scanEntry(b.tx.QueryRowContext(ctx, "SELECT "+entryColumns+` FROM entry WHERE owner = ?1 AND number = ?2
		AND piece = (SELECT piece FROM stretch WHERE owner = ?1 AND first <= ?2 ORDER BY first DESC LIMIT 1)`, b.owner, number).Scan)
}

// Entries lists the entries of a piece in order.
func (b *Book) Entries(ctx context.Context, piece int) ([]price.Entry, error) {
	return b.entries(ctx, "piece = ? ORDER BY number", piece)
}

// LotEntries lists the entries of a lot in order, with the shares that pieces took.
func (b *Book) LotEntries(ctx context.Context, lot int) ([]price.Entry, error) {
	return b.entries(ctx, "lot = ? AND lot > 0 ORDER BY number", lot)
}

// EveryEntry lists all entries of the member in order.
func (b *Book) EveryEntry(ctx context.Context) ([]price.Entry, error) {
	return b.entries(ctx, "true ORDER BY number")
}

func (b *Book) entries(ctx context.Context, where string, args ...any) ([]price.Entry, error) {
	rows, err := b.tx.QueryContext(ctx, "SELECT "+entryColumns+" FROM entry WHERE owner = ? AND "+where, append([]any{b.owner}, args...)...)
	if err != nil {
		return nil, err
	}
	var list []price.Entry
	return list, each(rows, func() error {
		e, err := scanEntry(rows.Scan)
		list = append(list, e)
		return err
	})
}

// Last finds the newest entry that an undo would take back, or gives ErrNotFound.
func (b *Book) Last(ctx context.Context) (price.Entry, error) {
	last := 0
	err := b.backLive(ctx, func(p passing) (bool, error) {
		last = p.number
		return false, nil
	})
	if err != nil {
		return price.Entry{}, err
	}
	return b.Entry(ctx, last)
}

// Limit finds the length from which a clock counts as forgotten, in seconds, as the
// member last set it; 0 where they never did.
func (b *Book) Limit(ctx context.Context) (int64, error) {
	if b.tally != nil && b.tally.limitKnown {
		return b.tally.limit, nil
	}
	set, err := b.entries(ctx, `kind = 'limit' AND NOT EXISTS
		(SELECT 1 FROM entry u WHERE u.owner = entry.owner AND u.kind = 'undo' AND u.target = entry.number)
		ORDER BY number DESC LIMIT 1`)
	if err != nil {
		return 0, err
	}
	var limit int64
	if len(set) > 0 {
		limit = set[0].Seconds
	}
	if b.tally != nil {
		b.tally.limit, b.tally.limitKnown = limit, true
	}
	return limit, nil
}

// add numbers an entry, writes it, and brings the lists that hang on it up to date.
// Everything that can be wrong with it is looked at before anything is written.
func (b *Book) add(ctx context.Context, e *price.Entry, receipt []byte) error {
	t := b.tally
	e.Number = t.next
	switch e.Kind {
	case price.EntryOpen:
		e.Piece = t.nextPiece
	case price.EntryLot:
		e.Lot = t.nextLot
	}
	facts, err := encodeFacts(*e)
	if err != nil {
		return err
	}
	if err := b.room(ctx, *e); err != nil {
		return err
	}
	// What is known goes on, or is as it was; or else it is read anew.
	f := t.fold
	t.fold = nil
	if f.before(*e) {
		f, err = b.goOn(ctx, f, *e, facts, receipt)
	} else {
		f, err = b.addAnew(ctx, *e, facts, receipt)
	}
	if err != nil {
		return err
	}
	t.fold = f
	t.note(*e, receipt)
	return nil
}

// begin writes the row of the book, where it is another than it was.
func (b *Book) begin(ctx context.Context, e price.Entry) error {
	opens, begins := e.Kind == price.EntryOpen, e.Kind == price.EntryLot
	if b.tally.kept && !opens && !begins {
		return nil
	}
	piece, lot := b.tally.nextPiece, b.tally.nextLot
	if opens {
		piece++
	}
	if begins {
		lot++
	}
	_, err := b.tx.ExecContext(ctx, `INSERT INTO book (owner, next_entry, next_piece, next_lot, receipts_until) VALUES (?, ?, ?, ?, ?)
		ON CONFLICT DO UPDATE SET next_entry = excluded.next_entry, next_piece = excluded.next_piece, next_lot = excluded.next_lot`,
		b.owner, e.Number+1, piece, lot, b.tally.until)
	return err
}

// encodeFacts gives the facts of a sound entry as they are kept.
func encodeFacts(e price.Entry) (string, error) {
	if problem := e.Unsound(); problem != "" {
		return "", fmt.Errorf("entry %d %s", e.Number, problem)
	}
	if len(e.Facts) == 0 {
		return "{}", nil
	}
	if plain, ok := plainFacts(e.Facts); ok {
		return plain, nil
	}
	facts, err := json.Marshal(e.Facts)
	if err != nil {
		return "", fmt.Errorf("writing facts of entry %d: %w", e.Number, err)
	}
	return string(facts), nil
}

// plainFacts is the JSON of facts in which nothing has to be escaped, as most are: a
// post waits for it that has the turn.
func plainFacts(facts price.Facts) (string, bool) {
	var room [16]price.Fact
	names := slices.AppendSeq(room[:0], maps.Keys(facts))
	slices.Sort(names)
	out := make([]byte, 0, 128)
	for i, name := range names {
		for _, text := range []string{string(name), facts[name]} {
			for j := range len(text) {
				switch c := text[j]; {
				case c < ' ', c > '~', c == '"', c == '\\', c == '<', c == '>', c == '&':
					return "", false
				}
			}
		}
		if i > 0 {
			out = append(out, ',')
		}
		out = append(out, '"')
		out = append(out, name...)
		out = append(out, '"', ':', '"')
		out = append(out, facts[name]...)
		out = append(out, '"')
	}
	return "{" + string(out) + "}", true
}

// insert writes an entry, with its receipt and the clocks that run once it is there:
// nil where none is, or they are not known.
func (b *Book) insert(ctx context.Context, e price.Entry, facts string, receipt []byte, running any) error {
	if receipt == nil {
		receipt = []byte{}
	}
	_, err := b.tx.ExecContext(ctx, "INSERT INTO entry (owner, "+entryColumns+", receipt, running) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)", b.owner,
		int64(e.Number), int64(e.Piece), int64(e.Lot), string(e.Kind), e.At, int64(e.Day), int64(e.Target), e.Amount, e.Currency,
		e.Seconds, e.Millionths, facts, receipt, running) // as the driver takes them: other kinds of number cost a conversion
	return err
}
