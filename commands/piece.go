package commands

import (
	"context"
	"errors"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"

	"tallystick/calc/measure"
	"tallystick/calc/price"
	"tallystick/store"
)

// usualLimit is how long a clock may run before it counts as forgotten, where the
// member has set nothing else: longer than a day's work at one go.
const usualLimit = 8 * time.Hour

// leastLimit is the shortest that a member may set in its place.
const leastLimit = 30 * time.Minute

func whoAsks(req Request) store.Who { return store.Who{Community: req.Community, Member: req.Member} }

// today is the day of a request, in universal time.
func today(req Request) int { return int(req.Time.Unix() / (24 * 60 * 60)) }

// textOption is an option that is kept as a fact, as it is typed.
func textOption(name string, fact price.Fact, summary, example string) Option {
	return Option{Name: name, Summary: summary, Kind: Text, Example: example, MaxLength: price.FactLimit(fact)}
}

func (h house) pieceOption() Option {
	return Option{Name: "piece", Summary: "its number or name; else the open piece", Kind: Word, Example: "1",
		MaxLength: price.FactLimit(price.FactName), Complete: h.completePieces}
}

func onOption(summary string) Option {
	return Option{Name: "on", Summary: summary, Kind: Date, Example: "2026-03-02"}
}

// completePieces offers the newest of the member's own pieces.
func (h house) completePieces(ctx context.Context, req Request, typed string) ([]Choice, error) {
	var all []Choice
	err := h.Store.ReadBook(ctx, whoAsks(req), func(b *store.Book) error {
		pieces, err := b.Pieces(ctx, "", 0, 200)
		for _, p := range pieces {
			all = append(all, Choice{Value: strconv.Itoa(p.Number), Label: shorten(strconv.Itoa(p.Number)+" "+oneLine(p.Name), 90)})
		}
		return err
	})
	return matching(all, typed), err
}

// text is a member's own text as it is kept: as typed, without the spaces around it.
// What is no text, a broken character or a nought, is kept as the mark for one.
func (in *reading) text(name string) string {
	return strings.TrimSpace(strings.ReplaceAll(strings.ToValidUTF8(in.req.Options[name], "�"), "\x00", "�"))
}

// facts takes text options over as they are.
func (in *reading) facts(names map[string]price.Fact) price.Facts {
	facts := price.Facts{}
	for option, fact := range names {
		if !in.has(option) {
			continue
		}
		facts[fact] = in.text(option)
		if fact == price.FactName && !visible(facts[fact]) {
			o, _ := in.req.command.Option(option)
			in.fail(&Mistake{Option: option, Given: measure.Quote(facts[fact]), Problem: "has nothing in it that can be seen", Try: o.Example})
		}
	}
	return facts
}

// visible tells whether a text has a sign that leaves a mark: fillers and blanks of some
// scripts count as letters and signs.
func visible(text string) bool {
	return strings.ContainsFunc(text, func(r rune) bool {
		return unicode.IsPrint(r) && !unicode.IsSpace(r) && !strings.ContainsRune("\u115f\u1160\u2800\u3164\uffa0", r)
	})
}

// minor is an amount in minor units.
func (in *reading) minor(m price.Money) int64 {
	minor, err := m.Minor()
	if err != nil {
		in.fail(err)
	}
	return minor
}

// keepCurrency holds the amounts of a request to the currency of what they are
// for. A bare amount is in it, whatever the community's is.
func (in *reading) keepCurrency(c price.Currency) {
	for _, o := range in.req.command.Options {
		if !in.has(o.Name) {
			continue
		}
		m, marked, err := parseAmount(o.Kind, in.req.Options[o.Name], in.currency)
		if err == nil && marked && m.Currency() != c {
			in.fail(&Mistake{Option: o.Name, Given: measure.Quote(in.req.Options[o.Name]),
				Problem: "is in " + m.Currency().Code() + ", and this is kept in " + c.Code() + "; I never convert money", Try: "the amount in " + c.Code()})
			return
		}
	}
	if in.currency != c && in.req.used != nil { // the setting was not used after all
		*in.req.used = slices.DeleteFunc(*in.req.used, func(said string) bool { return said == "amounts in "+in.currency.Code() })
	}
	in.currency = c
}

// piece finds the piece that is meant.
func (in *reading) piece(ctx context.Context, b *store.Book) (store.Piece, error) {
	if !in.has("piece") {
		p, err := b.Current(ctx)
		if errors.Is(err, store.ErrNotFound) {
			return p, &Mistake{Option: "piece", Problem: "is needed: you have no open piece yet", Try: "/piece open name:Harbour bench"}
		}
		return p, err
	}
	text := in.text("piece")
	if n, err := strconv.Atoi(strings.TrimPrefix(text, "#")); err == nil && n > 0 && n <= price.MaxNumber {
		p, err := b.Piece(ctx, n)
		if !errors.Is(err, store.ErrNotFound) {
			return p, err
		}
	}
	named, err := b.Named(ctx, text)
	switch {
	case err != nil:
		return store.Piece{}, err
	case len(named) == 1:
		return named[0], nil
	case len(named) > 1:
		return store.Piece{}, &Mistake{Option: "piece", Given: measure.Quote(text), Problem: "is the name of " + strconv.Itoa(len(named)) + " of your pieces",
			Try: strconv.Itoa(named[0].Number) + " or " + strconv.Itoa(named[1].Number)}
	}
	return store.Piece{}, &Mistake{Option: "piece", Given: measure.Quote(text), Problem: "is none of your pieces", Try: "/piece list"}
}

// making is what the maker of an entry looks at.
type making struct {
	book  *store.Book
	piece store.Piece
	sheet price.Sheet
}

// enter adds an entry to the piece that is meant. make gives what is particular to
// it; the rest is the same for all.
func (h house) enter(ctx context.Context, in *reading, make func(m making) (price.Entry, error)) (price.Entry, error) {
	return h.write(ctx, in, func(b *store.Book) (price.Entry, error) {
		p, err := in.piece(ctx, b)
		if err != nil {
			return price.Entry{}, err
		}
		sheet, err := b.Sheet(ctx, p.Number)
		if err != nil {
			return price.Entry{}, err
		}
		in.keepCurrency(sheet.Currency)
		e, err := make(making{b, p, sheet})
		if err == nil {
			err = in.err
		}
		e.Piece = p.Number
		return e, err
	})
}

// write adds an entry once for a delivery.
func (h house) write(ctx context.Context, in *reading, make func(b *store.Book) (price.Entry, error)) (price.Entry, error) {
	added, err := h.Store.Enter(ctx, whoAsks(in.req), in.req.Delivery, in.req.Time, func(b *store.Book) (price.Entry, error) {
		e, err := make(b)
		e.At = in.req.Time.Unix()
		if e.Day == 0 {
			e.Day = today(in.req)
		}
		if e.Amount > 0 && e.Currency == "" {
			e.Currency = in.currency.Code()
		}
		return e, err
	})
	in.stands = added.Stands
	return added.Entry, full(err)
}

// entered is the reply to an entry: what was written down, and how the piece
// stands now.
func (h house) entered(ctx context.Context, in *reading, e price.Entry, title string, notes ...string) (Reply, error) {
	reply := Reply{Title: title, Private: true, Notes: notes}
	err := h.standsNow(ctx, in, e.Piece, func(now *store.Standing, b book) error {
		standing, err := standing(in, store.Piece{Number: e.Piece, Name: now.Sheet.Facts[price.FactName]}, now.Sheet)
		if err != nil {
			return err
		}
		reply.Notes = append(reply.Notes, standing)
		warned, err := h.clockNotes(ctx, in, now.Clocks, b)
		reply.Notes = append(reply.Notes, warned...)
		return err
	})
	reply.Actions = append(reply.Actions, undoAction(e.Number))
	return reply, err
}

// book opens the member's book where it has to be looked into.
type book func(f func(b *store.Book) error) error

// standsNow gives f how a piece stands after what was added to it.
func (h house) standsNow(ctx context.Context, in *reading, piece int, f func(now *store.Standing, b book) error) error {
	open := func(f func(b *store.Book) error) error { return h.Store.ReadBook(ctx, whoAsks(in.req), f) }
	if in.stands != nil && in.stands.Sheet.Piece == piece {
		return f(in.stands, open)
	}
	return open(func(b *store.Book) error {
		sheet, err := b.Sheet(ctx, piece)
		if err != nil {
			return err
		}
		clocks, err := b.Clocks(ctx)
		if err != nil {
			return err
		}
		return f(&store.Standing{Sheet: sheet, Clocks: clocks}, func(f func(b *store.Book) error) error { return f(b) })
	})
}

func undoAction(entry int) Action {
	return Action{Label: "Undo it", Path: "piece undo", Options: map[string]string{"entry": strconv.Itoa(entry)}}
}

// standing says in one line how a piece stands.
func standing(in *reading, p store.Piece, s price.Sheet) (string, error) {
	breakEven, err := s.Job().BreakEven()
	if err != nil {
		return "", err
	}
	return pieceTitle(p) + ": " + secondsText(s.OwnSeconds()) + " of your time, " + moneyText(s.Money(s.Cost()), in.req.Locale) +
		" of costs, break-even " + moneyText(breakEven, in.req.Locale) + ".", nil
}

func pieceTitle(p store.Piece) string {
	return "Piece " + strconv.Itoa(p.Number) + ", " + oneLine(p.Name)
}

// planFacts reads what is planned for a piece: its kind, its size and its terms.
func (in *reading) planFacts() price.Facts {
	facts := price.Facts{}
	if in.has("category") {
		facts[price.FactCategory] = in.ownCategory()
	}
	if size := in.size("size"); size != nil {
		facts[price.FactSize] = price.SizeFact(size)
	}
	if in.has("estimate") {
		facts[price.FactEstimate] = price.SecondsFact(in.hours("estimate"))
	}
	amount := func(option string, fact price.Fact) {
		if in.has(option) {
			facts[fact] = price.NumberFact(in.minor(in.money(option)))
		}
	}
	share := func(option string, fact price.Fact) {
		if in.has(option) {
			facts[fact] = price.FractionFact(in.fraction(option))
		}
	}
	amount("rate", price.FactRate)
	share("fee", price.FactFee)
	amount("fixed-fee", price.FactFixed)
	share("haggle", price.FactHaggle)
	return facts
}

// ownCategory is a member's own word for a kind of piece; where the community has
// the same word it is written as the community writes it.
func (in *reading) ownCategory() string {
	word := shorten(price.StageKey(in.text("category")), price.FactLimit(price.FactCategory))
	for _, c := range in.community.Categories {
		if c == strings.ReplaceAll(word, " ", "-") {
			return c
		}
	}
	return word
}

// planOptions are what a piece may be planned by.
func (h house) planOptions() []Option {
	return []Option{
		{Name: "category", Summary: "what kind of piece it is", Kind: Word, Example: "bench", MaxLength: price.FactLimit(price.FactCategory), Complete: h.completeWords(categoriesOf)},
		{Name: "size", Summary: "how large it is to be", Kind: Size, Example: "48 x 14 x 18 in"},
		{Name: "estimate", Summary: "how long you think it takes", Kind: Hours, Example: "12h"},
		{Name: "rate", Summary: "what you want for an hour", Kind: Rate, Example: "25"},
		{Name: "fee", Summary: "the part selling takes", Kind: Percent, Example: "2.9%"},
		{Name: "fixed-fee", Summary: "the fixed part of the fee", Kind: Money, Example: "0.30"},
		{Name: "haggle", Summary: "how far you expect to be brought down", Kind: Percent, Example: "12%"},
	}
}

// planRead says how a plan was read.
func (in *reading) planRead(facts price.Facts, c price.Currency) string {
	var parts []string
	add := func(f price.Fact, text string) {
		if facts.Has(f) {
			parts = append(parts, text)
		}
	}
	money := func(f price.Fact) string { return moneyText(price.NewMoney(facts.Number(f), c), in.req.Locale) }
	add(price.FactCategory, facts[price.FactCategory])
	add(price.FactSize, in.sizeText(facts.Size()))
	add(price.FactEstimate, "estimate "+measure.FormatDuration(facts.Time(price.FactEstimate)))
	add(price.FactRate, money(price.FactRate)+" an hour wanted")
	add(price.FactFee, "a fee of "+facts.Fraction(price.FactFee).Percent()+" %")
	add(price.FactFixed, money(price.FactFixed)+" of fixed fee")
	add(price.FactHaggle, facts.Fraction(price.FactHaggle).Percent()+" % expected haggling")
	return strings.Join(parts, ", ")
}

// sizeText writes a size in both systems, the one of the member first.
func (in *reading) sizeText(size measure.Size) string {
	if size == nil {
		return ""
	}
	first, exact := size.Tape(in.tape)
	if !exact {
		first = "about " + first
	}
	second := size.Metric()
	if in.bare == measure.Millimetre {
		first, second = second, first
	}
	return first + " (" + second + ")"
}

func merged(a, b price.Facts) price.Facts {
	maps.Copy(a, b)
	return a
}
