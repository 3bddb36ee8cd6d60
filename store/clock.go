package store

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"tallystick/calc/price"
)

// A Clock is a clock that runs, with the piece that it runs for.
type Clock struct {
	price.Clock
	Piece Piece
}

// Clocks lists the member's running clocks: their own first, then the helpers' by
// name.
func (b *Book) Clocks(ctx context.Context) ([]Clock, error) {
	if b.tally == nil {
		return b.readClocks(ctx)
	}
	if !b.tally.clocksKnown {
		list, err := b.readClocks(ctx)
		if err != nil {
			return nil, err
		}
		b.tally.clocks, b.tally.clocksKnown = list, true
	}
	return slices.Clone(b.tally.clocks), nil
}

// readClocks finds the clocks that run by what the newest entry says of them.
func (b *Book) readClocks(ctx context.Context) ([]Clock, error) {
	var running sql.NullString
	err := b.back(ctx, func(p passing) (bool, error) {
		return false, b.tx.QueryRowContext(ctx, "SELECT running FROM entry WHERE owner = ? AND piece = ? AND number = ?", b.owner, p.piece, p.number).
			Scan(&running)
	})
	if err != nil {
		return nil, err
	}
	var list []Clock
	if !running.Valid {
		return b.addClocksUp(ctx)
	}
	for text := range strings.SplitSeq(running.String, ",") {
		if text == "" {
			continue
		}
		number, err := strconv.Atoi(text)
		if err != nil {
			return nil, fmt.Errorf("reading the clocks that run: %w", err)
		}
		e, err := b.Entry(ctx, number)
		if errors.Is(err, ErrNotFound) {
			continue // its piece was deleted, with what came after
		}
		if err != nil {
			return nil, err
		}
		p, err := b.Piece(ctx, e.Piece)
		if err != nil {
			return nil, err
		}
		list = append(list, Clock{price.Clock{Entry: e.Number, Person: e.Facts[price.FactPerson], Stage: e.Facts[price.FactStage],
			Began: e.Facts.Number(price.FactBegan), Pay: e.Facts.Number(price.FactPay)}, p})
	}
	sortClocks(list)
	return list, nil
}

// addClocksUp finds the clocks that run in all pieces.
func (b *Book) addClocksUp(ctx context.Context) ([]Clock, error) {
	rows, err := b.tx.QueryContext(ctx, "SELECT DISTINCT piece FROM entry WHERE owner = ? AND kind = 'in'", b.owner)
	if err != nil {
		return nil, err
	}
	var pieces []int
	err = each(rows, func() error {
		var piece int
		err := rows.Scan(&piece)
		pieces = append(pieces, piece)
		return err
	})
	if err != nil {
		return nil, err
	}
	var list []Clock
	for _, piece := range pieces {
		sheet, _, err := b.fold(ctx, piece)
		if err != nil {
			return nil, err
		}
		list = append(list, clocksOf(piece, sheet)...)
	}
	sortClocks(list)
	return list, nil
}

// clocksOf are the clocks of a piece that run.
func clocksOf(piece int, sheet price.Sheet) []Clock {
	list := make([]Clock, len(sheet.Running))
	for i, c := range sheet.Running {
		list[i] = Clock{c, Piece{piece, sheet.Facts[price.FactName], sheet.Facts[price.FactCategory], sheet.Status}}
	}
	return list
}

// clocksWith gives the clocks that run when those of a piece are as its fold says. Nobody
// has two, and there are not more than may be.
func (b *Book) clocksWith(ctx context.Context, f *fold) ([]Clock, error) {
	list, err := b.Clocks(ctx)
	if err != nil || f == nil {
		return list, err
	}
	list = slices.DeleteFunc(list, func(c Clock) bool { return c.Piece.Number == f.piece })
	sheet, _ := f.Sheet()
	return joinClocks(list, clocksOf(f.piece, sheet))
}

func joinClocks(list, more []Clock) ([]Clock, error) {
	for _, c := range more {
		if slices.ContainsFunc(list, func(other Clock) bool { return samePerson(other.Person, c.Person) }) {
			return nil, fmt.Errorf("a clock of theirs runs: %w", ErrConflict)
		}
		if list = append(list, c); len(list) > ClockLimit {
			return nil, &FullError{Of: FullClocks}
		}
	}
	sortClocks(list)
	return list, nil
}

func sortClocks(list []Clock) {
	slices.SortFunc(list, func(a, b Clock) int { return cmp.Compare(lower(a.Person), lower(b.Person)) })
}

// runningText is what an entry keeps of the clocks that run.
func runningText(clocks []Clock) string {
	if len(clocks) == 0 {
		return ""
	}
	text := make([]byte, 0, 16)
	for i, c := range clocks {
		if i > 0 {
			text = append(text, ',')
		}
		text = strconv.AppendInt(text, int64(c.Entry), 10)
	}
	return string(text)
}
