package commands

import (
	"context"
	"math/big"
	"strconv"
	"strings"

	"tallystick/calc/lumber"
	"tallystick/calc/measure"
	"tallystick/calc/price"
)

// maxTypedBoards is how long a list of boards may be in a job sheet.
const maxTypedBoards = 2000

func boardsOption() Option {
	return Option{Name: "boards", Summary: "the boards, to have them counted", Kind: Boards, MaxLength: maxTypedBoards, Example: "6 @ 5/8 x 3-1/2 x 40 in"}
}

func feetOption() Option {
	return Option{Name: "board-feet", Summary: "or how many board feet", Kind: Number, Example: "14.5"}
}

func tripOption() Option {
	return Option{Name: "trip", Summary: "what the trip cost", Kind: Money, Example: "23.20"}
}

func paidTaxOption() Option {
	return Option{Name: "tax", Summary: "the sales tax on top of it", Kind: Percent, Example: "8.25%"}
}

func whatOption(summary, example string) Option {
	return textOption("what", price.FactWhat, summary, example)
}

func paidOption(summary string) Option {
	return Option{Name: "paid", Summary: summary, Kind: Money, MaxLength: 200, Example: "84"}
}

// woodRead is wood as it was told: by volume, and as it is paid for.
type woodRead struct {
	volume, counted *big.Rat
	text            string
}

// thin tells whether the two counts differ.
func (w woodRead) thin() bool { return w.volume != nil && w.volume.Cmp(w.counted) != 0 }

// wood reads boards or board feet; nothing told is no volume.
func (in *reading) wood() woodRead {
	switch {
	case in.has("boards") && in.has("board-feet"):
		in.fail(&Mistake{Option: "boards", Problem: "and board-feet say the same thing twice", Try: "one of the two"})
	case in.has("boards"):
		lot := in.lot("boards")
		volume, counted := lumber.VolumeOf(lot), lumber.CountedOf(lot)
		return woodRead{volume.Rat(), counted.Rat(), lotText(lot, in)}
	case in.has("board-feet"):
		feet := value(in, "board-feet", func(text string) (*big.Rat, error) {
			n, err := measure.ParseNumber(text)
			if err == nil && n.IsZero() {
				err = &measure.InputError{Value: text, Problem: "is nothing", Hint: "14.5"}
			}
			return n.Rat(), err
		})
		if feet != nil {
			return woodRead{feet, feet, ""}
		}
	}
	return woodRead{}
}

// millionths is a quantity as it is kept.
func (in *reading) millionths(option string, r *big.Rat) int64 {
	if r == nil {
		return 0
	}
	n, ok := inMillionths(r)
	if !ok {
		in.fail(&Mistake{Option: option, Given: measure.Quote(in.req.Options[option]), Problem: "is more than I keep", Try: "14.5"})
	}
	return n
}

// taxed is an amount with the percentage of option tax on top, and that tax.
func (in *reading) taxed(amount price.Money, share *big.Rat) (whole, tax price.Money) {
	rate := value(in, "tax", measure.ParsePercent).Rat()
	if in.err != nil {
		return amount, price.NewMoney(0, amount.Currency())
	}
	whole, err := price.CostOf(new(big.Rat).Mul(share, new(big.Rat).Add(rate, big.NewRat(1, 1))), amount)
	if err == nil {
		tax, err = price.CostOf(new(big.Rat).Mul(share, rate), amount)
	}
	if err != nil {
		in.fail(err)
	}
	return whole, tax
}

// typed keeps how an amount was reckoned, in the member's own figures.
func (in *reading) typed(names ...string) string {
	var parts []string
	for _, n := range names {
		if in.has(n) {
			parts = append(parts, n+": "+in.text(n))
		}
	}
	return shorten(strings.Join(parts, "; "), price.FactLimit(price.FactTyped))
}

// withTyped sets the fact where there is something to keep.
func (in *reading) withTyped(facts price.Facts, names ...string) price.Facts {
	if t := in.typed(names...); t != "" {
		facts[price.FactTyped] = t
	}
	return facts
}

func (h house) pieceStockFound() Command {
	return Command{
		Path:    "piece stock found",
		Summary: "wood that cost nothing but its trip and its cleaning",
		Private: true,
		Options: []Option{
			whatOption("what wood it is", "oak boards from a barn"), boardsOption(), feetOption(), tripOption(),
			{Name: "cleaning", Summary: "time for nails and cleaning", Kind: Hours, Example: "1h15"},
			onOption("the day; today unless you say"), h.pieceOption(),
		},
		Examples: []string{"/piece stock found what:oak boards from a barn boards:6 @ 5/8 x 3-1/2 x 40 in trip:23.20 cleaning:1h15"},
		Run:      h.answerPieceStockFound,
	}
}

func (h house) answerPieceStockFound(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	e, err := h.enter(ctx, in, func(m making) (price.Entry, error) {
		if !in.has("what") && !in.has("boards") && !in.has("board-feet") && !in.has("trip") && !in.has("cleaning") {
			in.fail(&Mistake{Option: "what", Problem: "and everything else are missing, so there is nothing to write down", Try: "what:oak boards board-feet:14.5"})
		}
		facts := in.withTyped(in.facts(map[string]price.Fact{"what": price.FactWhat}), "boards", "board-feet", "trip")
		e := price.Entry{Kind: price.EntryStock, Day: in.day("on"), Currency: m.sheet.Currency.Code(), Facts: facts}
		e.Millionths = in.millionths("board-feet", in.wood().volume)
		e.Amount = in.minor(in.money("trip"))
		if e.Amount > 0 {
			facts[price.FactTrip] = price.NumberFact(e.Amount)
		}
		if e.Seconds = price.Seconds(in.hours("cleaning")); e.Seconds > 0 {
			facts[price.FactStage] = "clean-up"
		}
		return e, in.err
	})
	if err != nil {
		return Reply{}, err
	}
	return h.stockEntered(ctx, in, e, "Found stock is on piece "+strconv.Itoa(e.Piece))
}

// stockEntered is the reply to stock that was written down.
func (h house) stockEntered(ctx context.Context, in *reading, e price.Entry, title string, notes ...string) (Reply, error) {
	read := []string{}
	if e.Millionths > 0 {
		read = append(read, in.feetText(big.NewRat(e.Millionths, 1_000_000))+" by volume")
	}
	if in.has("price") {
		read = append(read, in.woodPrice("price").text(in))
	}
	if e.Amount > 0 {
		if c, err := price.ParseCurrency(e.Currency); err == nil {
			read = append(read, moneyText(price.NewMoney(e.Amount, c), in.req.Locale)+" in all")
		}
	} else {
		read = append(read, "nothing paid")
	}
	if e.Seconds > 0 {
		read = append(read, secondsText(e.Seconds)+" of cleaning")
	}
	read = append(read, "on "+dateText(e.Day))
	reply, err := h.entered(ctx, in, e, title, append([]string{sentence("Read as: ", read...)}, notes...)...)
	reply.Cautions = cautionsFor(stockCautions, e.Facts[price.FactWhat])
	return reply, err
}
