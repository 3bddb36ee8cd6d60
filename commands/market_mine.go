package commands

import (
	"math/big"
	"strings"

	"github.com/shopspring/decimal"

	"tallystick/calc/lumber"
	"tallystick/calc/measure"
	"tallystick/calc/pool"
)

// mine reads the asker's own price a board foot, nil where there is none.
func (in *reading) mine() *pool.Micros {
	byFoot, byPiece, feetGiven := in.has("mine"), in.has("price"), in.has("board-feet")
	switch {
	case byFoot && (byPiece || feetGiven):
		in.fail(&Mistake{Option: "mine", Given: measure.Quote(in.req.Options["mine"]), Problem: "says what price and board-feet say, too", Try: "one of the two ways"})
	case byPiece && !feetGiven:
		in.fail(&Mistake{Option: "board-feet", Problem: "is needed with price, to have the price a board foot", Try: "board-feet:14.5"})
	case feetGiven && !byPiece:
		in.fail(&Mistake{Option: "price", Problem: "is needed with board-feet, to have the price a board foot", Try: "price:430"})
	}
	if in.err != nil || !byFoot && !byPiece {
		return nil
	}
	name := "mine"
	if byPiece {
		name = "price"
	}
	amount := new(big.Rat)
	if byPiece {
		amount = rat(in.money(name))
	} else if wood := in.woodPrice(name); in.err == nil {
		amount = wood.perBoardFoot()
	}
	if in.err == nil && in.currency.Code() != in.community.Currency {
		in.fail(&Mistake{Option: name, Given: measure.Quote(in.req.Options[name]),
			Problem: "is in " + in.currency.Code() + ", and this log is kept in " + in.community.Currency, Try: "the amount in " + in.community.Currency})
	}
	if !in.above(name, amount) {
		return nil
	}
	if byPiece {
		feet := in.boardFeet()
		if in.err != nil || feet == nil {
			return nil
		}
		amount = new(big.Rat).Quo(amount, feet)
	}
	own := micros(amount)
	return &own
}

// mineRead says what the asker's price was taken for, where that is not the board foot
// the log is kept in.
func (in *reading) mineRead() string {
	if !in.has("mine") || in.err != nil {
		return ""
	}
	wood := in.woodPrice("mine")
	switch {
	case wood.cubic():
		foot := moneyOf(micros(wood.perBoardFoot()), wood.Currency())
		return then("Read as: "+wood.text(in)+", which is "+moneyText(foot, in.req.Locale)+" a board foot, as this log is kept.", wood.taken())
	case in.bare == measure.Millimetre:
		return "Read as: " + wood.text(in) + "."
	}
	return ""
}

// standing says in a sentence where the asker's price stands.
func (m market) standing(reply *Reply) {
	if m.mine == nil {
		return
	}
	own := figureText(pool.PricePerBoardFoot, *m.mine, m.currency, m.locale)
	reply.Figures = append(reply.Figures, Figure{Key: "mine_per_board_foot", Label: "Yours, a board foot", Value: plainMicros(*m.mine), Unit: m.currency.Code() + "/bf", Text: own})
	p, shown := m.perFoot(m.cut)
	of := m.about
	if !shown {
		if p, shown = m.perFoot(pool.Everything); !shown {
			reply.Notes = append(reply.Notes, "Your "+own+" a board foot has nothing to stand beside yet.")
			return
		}
		of = "All pieces together"
	}
	reply.Notes = append(reply.Notes, "Your "+own+" a board foot is "+place(*m.mine, p.Value)+" ("+lowerFirst(of)+", median "+
		figureText(p.Figure, p.Value, m.currency, m.locale)+").")
}

// inCubicMetres says what the median a board foot comes to for who buys wood by the
// cubic metre, to the three figures it is good for at most.
func (m market) inCubicMetres(reply *Reply, in *reading) {
	p, shown := m.perFoot(m.cut)
	if !shown || in.bare != measure.Millimetre {
		return
	}
	each := new(big.Rat).SetInt64(int64(p.Value))
	each.Quo(each, lumber.FromFeet(big.NewRat(1, 1)).CubicMetres()).Quo(each, big.NewRat(1_000_000, 1))
	reply.Notes = append(reply.Notes, "A median of "+figureText(p.Figure, p.Value, m.currency, m.locale)+" a board foot is about "+
		figureText(p.Figure, pool.ThreeFigures(micros(each)), m.currency, m.locale)+" a cubic metre.")
}

// place says where a value stands to a published median. What was rounded to the
// same preferred number is the same for all that was published.
func place(own, median pool.Micros) string {
	if pool.Preferred(own, pool.Nearest) == median {
		return "near the middle"
	}
	percent := decimal.NewFromBigRat(new(big.Rat).Mul(big.NewRat(100, 1),
		new(big.Rat).SetFrac64(int64(own-median), int64(median))), 0)
	if own < median {
		return "about " + percent.Neg().String() + " % below the middle"
	}
	if own >= 2*median {
		return "about " + decimal.NewFromBigRat(new(big.Rat).SetFrac64(int64(own), int64(median)), 1).String() + " times the middle"
	}
	return "about " + percent.String() + " % above the middle"
}

// estimate adds a soberer figure where few makers stand behind a median: drawn on
// the scale of the logarithm towards that of all pieces, which has the weight of
// four makers. It is worked out from what is published, and from nothing else.
func (m market) estimate(reply *Reply) {
	if m.cut == pool.Everything {
		return
	}
	own, shown := m.perFoot(m.cut)
	all, overall := m.perFoot(pool.Everything)
	least, most := own.Makers.Bounds()
	if !overall || shown && (most == 0 || most >= soberBelow) {
		return
	}
	if !shown {
		reply.Notes = append(reply.Notes, "Until then, all pieces together: "+figureText(all.Figure, all.Value, m.currency, m.locale)+" a board foot.")
		return
	}
	sober := pool.ThreeFigures(pool.Shrunk(own.Value, all.Value, least))
	text := figureText(own.Figure, sober, m.currency, m.locale)
	reply.Figures = append(reply.Figures, Figure{Key: "sober_per_board_foot", Label: "Sober estimate, a board foot", Value: plainMicros(sober), Unit: m.currency.Code() + "/bf", Text: text})
	reply.Notes = append(reply.Notes, "With so few makers behind it, "+text+" a board foot is a soberer guess: the median here drawn a little towards that of all pieces ("+
		figureText(all.Figure, all.Value, m.currency, m.locale)+").")
}

// soberBelow is the number of makers from which a median stands on its own feet.
const soberBelow = 25

func lowerFirst(text string) string {
	if text == "" {
		return text
	}
	return strings.ToLower(text[:1]) + text[1:]
}
