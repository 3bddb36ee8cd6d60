package commands

import (
	"context"
	"math/big"
	"strconv"
	"strings"

	"tallystick/calc/measure"
	"tallystick/calc/price"
	"tallystick/store"
)

func lotOption() Option {
	return Option{Name: "lot", Summary: "the number of the lot", Kind: Number, Example: "1", Required: true}
}

func (h house) pieceStockShare() Command {
	lot := lotOption()
	lot.Complete = h.completeLots
	return Command{
		Path:    "piece stock share",
		Summary: "take a share of a lot that several pieces use",
		Private: true,
		Options: []Option{
			lot,
			{Name: "take", Summary: "how much of it: a quantity, a percentage of the lot, or rest", Kind: Number, Example: "12 or 25% or rest", Required: true},
			onOption("the day; today unless you say"), h.pieceOption(),
		},
		Examples: []string{"/piece stock share lot:1 take:12", "/piece stock share lot:1 take:rest"},
		Run:      h.answerPieceStockShare,
	}
}

func (h house) completeLots(ctx context.Context, req Request, typed string) ([]Choice, error) {
	var all []Choice
	err := h.Store.ReadBook(ctx, whoAsks(req), func(b *store.Book) error {
		lots, err := b.Lots(ctx, 0, 25)
		for _, l := range lots {
			n := strconv.Itoa(l.Number)
			all = append(all, Choice{Value: n, Label: shorten(n+" "+oneLine(l.Facts[price.FactWhat]), 90)})
		}
		return err
	})
	return matching(all, typed), err
}

// lotOf finds the lot that is meant.
func (in *reading) lotOf(ctx context.Context, b *store.Book) (price.Lot, error) {
	n := in.whole("lot", 1, price.MaxNumber)
	if in.err != nil {
		return price.Lot{}, in.err
	}
	lot, err := b.Lot(ctx, n)
	if isNotFound(err) {
		err = &Mistake{Option: "lot", Given: measure.Quote(in.text("lot")), Problem: "is none of your lots", Try: "/lot list"}
	}
	return lot, err
}

func (h house) answerPieceStockShare(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	e, err := h.enter(ctx, in, func(m making) (price.Entry, error) {
		lot, err := in.lotOf(ctx, m.book)
		if err != nil {
			return price.Entry{}, err
		}
		if lot.Currency != m.sheet.Currency {
			in.fail(&Mistake{Option: "lot", Given: in.text("lot"), Problem: "is in " + lot.Currency.Code() + " and the piece in " + m.sheet.Currency.Code() + "; I never convert money", Try: "/lot list"})
		}
		facts := in.withTyped(price.Facts{price.FactUnit: lot.Facts[price.FactUnit]}, "take")
		if what := lot.Facts[price.FactWhat]; what != "" {
			facts[price.FactWhat] = what
		}
		return price.Entry{Kind: price.EntryShare, Lot: lot.Number, Day: in.day("on"), Currency: lot.Currency.Code(),
			Millionths: in.take(lot), Facts: facts}, in.err
	})
	if err != nil {
		return Reply{}, err
	}
	return h.shareEntered(ctx, in, e)
}

// take reads how much of a lot is taken.
func (in *reading) take(lot price.Lot) int64 {
	left, _ := lot.Left()
	return value(in, "take", func(text string) (int64, error) {
		taken := new(big.Rat)
		switch word := strings.ToLower(strings.TrimSpace(text)); {
		case word == "rest" || word == "all":
			taken.SetInt64(left)
		case strings.HasSuffix(word, "%"):
			p, err := measure.ParsePercent(text)
			if err != nil {
				return 0, err
			}
			taken.Mul(p.Rat(), big.NewRat(lot.Millionths, 1))
		default:
			n, err := measure.ParseNumber(in.withoutUnit(word, lot.Facts[price.FactUnit]))
			if err != nil {
				return 0, &measure.InputError{Value: text, Problem: "is not a share of the lot", Hint: "12 or 25% or rest"}
			}
			taken.Mul(n.Rat(), big.NewRat(1_000_000, 1))
		}
		n, ok := inMillionths(taken.Quo(taken, big.NewRat(1_000_000, 1)))
		switch {
		case ok && n == 0:
			return 0, &measure.InputError{Value: text, Problem: "takes nothing", Hint: "12 or 25% or rest"}
		case !ok || n > left:
			return 0, &measure.InputError{Value: text, Problem: "is more than is left of the lot, which is " + millionthsText(left, lot.Facts[price.FactUnit]), Hint: "rest"}
		}
		return n, nil
	})
}

// withoutUnit drops the lot's own unit behind a number.
func (in *reading) withoutUnit(text, unit string) string {
	for _, u := range []string{unit, "board feet", "bdft"} {
		if u != "" && (u == unit || unit == price.UnitBoardFeet) {
			text = strings.TrimSpace(strings.TrimSuffix(text, strings.ToLower(u)))
		}
	}
	return text
}

// shareEntered tells what a share is worth, and what is left of its lot.
func (h house) shareEntered(ctx context.Context, in *reading, e price.Entry) (Reply, error) {
	var lot price.Lot
	err := h.Store.ReadBook(ctx, whoAsks(in.req), func(b *store.Book) (err error) {
		lot, err = b.Lot(ctx, e.Lot)
		return err
	})
	if err != nil {
		return Reply{}, err
	}
	unit := lot.Facts[price.FactUnit]
	left, worth := lot.Left()
	reply, err := h.entered(ctx, in, e, millionthsText(e.Millionths, unit)+" of lot "+strconv.Itoa(e.Lot)+" for piece "+strconv.Itoa(e.Piece),
		"Left in the lot: "+millionthsText(left, unit)+", worth "+moneyText(price.NewMoney(worth, lot.Currency), in.req.Locale)+". The shares and what is left always add up to the lot.")
	for _, s := range lot.Shares {
		if s.Entry == e.Number {
			reply.Figures = append(reply.Figures, moneyFigure("share_cost", "Cost of the share", price.NewMoney(s.Cost, lot.Currency), in.req))
		}
	}
	return reply, err
}
