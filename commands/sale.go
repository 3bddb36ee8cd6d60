package commands

import (
	"context"
	"math/big"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"tallystick/calc/lumber"
	"tallystick/calc/measure"
	"tallystick/calc/pool"
	"tallystick/calc/price"
	"tallystick/store"
)

// speciesGroups are as closely as the shared log knows a wood.
var speciesGroups = []Choice{
	{"hardwood", "hardwood"}, {"softwood", "softwood"}, {"mixed", "mixed"},
	{"sheet", "sheet goods"}, {"unknown", "unknown"},
}

// saleOptions are what a sale may be told by. Only the price and the category
// are needed; each of the others adds a figure.
func (h house) saleOptions() []Option {
	return []Option{
		{Name: "price", Summary: "the price the piece sold for", Kind: Money, Example: "430"},
		{Name: "category", Summary: "what kind of piece it is", Kind: Word, Example: "bench", Complete: h.completeWords(categoriesOf)},
		{Name: "board-feet", Summary: "the board feet of wood in it", Kind: Quantity, Example: "14.5"},
		{Name: "boards", Summary: "or the boards in it, to have them counted", Kind: Boards, MaxLength: maxLotText, Example: "6 @ 5/8 x 3-1/2 x 40 in"},
		{Name: "top", Summary: "the size of the top, where it has one", Kind: Size, Example: "48 x 14 in"},
		hoursOption,
		materialsOption,
		feeOption,
		fixedFeeOption,
		{Name: "asked", Summary: "the price you first asked", Kind: Money, Example: "480"},
		{Name: "days", Summary: "how many days from asking to selling", Kind: Days, Example: "12"},
		{Name: "sold", Summary: "the month of the sale; this month unless you say", Kind: Month, Example: "2026-10"},
		{Name: "species", Summary: "the group of wood", Kind: Word, Example: "hardwood", Choices: speciesGroups},
		{Name: "region", Summary: "the part of the country, of the host's list", Kind: Word, Example: "harbour", Complete: h.completeWords(regionsOf)},
	}
}

func categoriesOf(c store.Community) []string { return c.Categories }
func regionsOf(c store.Community) []string    { return c.Regions }

// completeWords offers the community's own words.
func (h house) completeWords(of func(store.Community) []string) func(context.Context, Request, string) ([]Choice, error) {
	return func(ctx context.Context, req Request, typed string) ([]Choice, error) {
		community, err := h.Store.Community(ctx, req.Community)
		if err != nil {
			return nil, err
		}
		var all []Choice
		for _, w := range of(community) {
			all = append(all, Choice{Value: w, Label: w})
		}
		return matching(all, typed), nil
	}
}

// listed reads a word of one of the community's lists, in either case.
func (in *reading) listed(name string, list []string) string {
	return value(in, name, func(text string) (string, error) {
		word := strings.ToLower(strings.Join(strings.Fields(text), "-"))
		for _, w := range list {
			if w == word {
				return w, nil
			}
		}
		problem := &measure.InputError{Value: text, Problem: "is not a " + name + " that is kept here", Hint: strings.Join(list[:min(len(list), 6)], " or ")}
		if near, ok := closest(word, list); ok {
			problem.Hint = near
		}
		if len(list) == 0 {
			problem.Problem, problem.Hint = "names a "+name+", and the host keeps no list of them", "leaving it out"
		}
		return "", problem
	})
}

// sale reads the record that would leave.
func (in *reading) sale() store.Sale {
	job, sold := in.job(), in.money("price")
	sale := store.Sale{
		Category:     in.listed("category", in.community.Categories),
		Region:       in.listed("region", in.community.Regions),
		SpeciesGroup: in.req.Options["species"],
		Sold:         in.month("sold"),
	}
	in.ownCurrency()
	values := pool.Values{}.With(pool.Price, micros(rat(sold)))
	if feet := in.boardFeet(); feet != nil {
		values = values.With(pool.PricePerBoardFoot, micros(new(big.Rat).Quo(rat(sold), feet)))
	}
	if top := in.top(); top != nil {
		values = values.With(pool.PricePerSquareFoot, micros(new(big.Rat).Quo(rat(sold), top)))
	}
	if asked := in.money("asked"); in.has("asked") && in.above("asked", rat(asked)) {
		values = values.With(pool.SoldToAsked, micros(new(big.Rat).Quo(rat(sold), rat(asked))))
	}
	if in.has("days") {
		values = values.With(pool.DaysToSell, pool.Whole(in.days("days")))
	}
	if in.err == nil && job.Hours > 0 {
		hourly, err := job.Hourly(sold)
		if err != nil {
			in.fail(err)
			return sale
		}
		values = values.With(pool.RealisedHourly, micros(rat(hourly)))
	}
	in.above("price", rat(sold))
	sale.Values = values
	return sale
}

// ownCurrency holds a sale to the community's currency: a log in two of them
// would have no median.
func (in *reading) ownCurrency() {
	if in.err == nil && in.currency.Code() != in.community.Currency {
		in.fail(&Mistake{Option: "price", Given: measure.Quote(in.req.Options["price"]),
			Problem: "is in " + in.currency.Code() + ", and this log is kept in " + in.community.Currency,
			Try:     "the amount in " + in.community.Currency})
	}
}

// above refuses a nought that would have to be divided by.
func (in *reading) above(name string, v *big.Rat) bool {
	if in.err == nil && v.Sign() <= 0 {
		o, _ := in.req.command.Option(name)
		in.fail(&Mistake{Option: name, Given: measure.Quote(in.req.Options[name]), Problem: "is nothing", Try: o.Example})
	}
	return in.err == nil
}

// boardFeet is what is known of the wood in the piece, nil where nothing is.
func (in *reading) boardFeet() *big.Rat {
	if in.has("boards") && in.has("board-feet") {
		in.fail(&Mistake{Option: "boards", Problem: "and board-feet say the same thing twice", Try: "one of the two"})
	}
	var feet *big.Rat
	switch {
	case in.has("board-feet"):
		feet = value(in, "board-feet", func(text string) (*big.Rat, error) {
			n, err := measure.ParseNumber(text)
			return n.Rat(), err
		})
	case in.has("boards"):
		feet = lumber.VolumeOf(in.lot("boards")).Rat()
	default:
		return nil
	}
	if in.err != nil || !in.above("board-feet", feet) {
		return nil
	}
	return feet
}

// top is the area of the top in square feet, nil where none is known.
func (in *reading) top() *big.Rat {
	size := in.size("top")
	if in.err != nil || size == nil {
		return nil
	}
	if len(size) != 2 {
		in.fail(&Mistake{Option: "top", Given: measure.Quote(in.req.Options["top"]), Problem: "has three sides and a top has two", Try: "48 x 14 in"})
		return nil
	}
	area := measure.AreaOf(size[0], size[1]).Rat(measure.Foot)
	if !in.above("top", area) {
		return nil
	}
	return area
}

func (in *reading) days(name string) int {
	return value(in, name, func(text string) (int, error) {
		n, err := measure.ParseNumber(text)
		days, whole := n.Whole()
		if err != nil || !whole || days > 3650 {
			return 0, &measure.InputError{Value: text, Problem: "is not a whole number of days, at most 3650", Hint: "12"}
		}
		return int(days), nil
	})
}

// month reads the month of a sale; without one it is the month of asking. It may
// be neither to come nor older than the log keeps.
func (in *reading) month(name string) pool.Month {
	now := pool.MonthOf(in.req.Time.UTC().Year(), in.req.Time.UTC().Month())
	if !in.has(name) {
		return now
	}
	return value(in, name, func(text string) (pool.Month, error) {
		for _, layout := range []string{"2006-01", "Jan 2006", "January 2006", "01/2006", "1/2006"} {
			t, err := time.Parse(layout, strings.TrimSpace(text))
			if err != nil {
				continue
			}
			m := pool.MonthOf(t.Year(), t.Month())
			switch {
			case m > now:
				return 0, &measure.InputError{Value: text, Problem: "is still to come", Hint: now.String()}
			case m < now-logMonths:
				return 0, &measure.InputError{Value: text, Problem: "is longer ago than the log keeps", Hint: (now - 1).String()}
			}
			return m, nil
		}
		return 0, &measure.InputError{Value: text, Problem: "is not a month", Hint: now.String()}
	})
}

// logMonths is how long a shared sale is kept, see pool.StandardRules.
var logMonths = pool.Month(pool.StandardRules().Window)

func rat(m price.Money) *big.Rat { return m.Decimal().Rat() }

// micros rounds an exact value to the millionth, half to even.
func micros(v *big.Rat) pool.Micros {
	d := decimal.NewFromBigRat(v, 12).Shift(6).RoundBank(0)
	return pool.Micros(d.IntPart())
}

// saleRows shows a record as it leaves, a row a fact.
func saleRows(sale store.Sale, currency price.Currency, locale string) [][]string {
	rows := [][]string{{"category", sale.Category}, {"month of sale", sale.Sold.String()}}
	add := func(name, text string) {
		if text != "" {
			rows = append(rows, []string{name, text})
		}
	}
	add("region", sale.Region)
	add("wood", sale.SpeciesGroup)
	for _, f := range pool.AllFigures() {
		if v, ok := sale.Values.Of(f); ok {
			add(figureLabel(f), figureText(f, v, currency, locale))
		}
	}
	return rows
}

// figureLabel names a figure of the log.
func figureLabel(f pool.Figure) string {
	switch f {
	case pool.PricePerBoardFoot:
		return "price a board foot"
	case pool.PricePerSquareFoot:
		return "price a square foot of top"
	case pool.Price:
		return "price"
	case pool.RealisedHourly:
		return "realised rate an hour"
	case pool.SoldToAsked:
		return "sold for, of what was asked"
	case pool.DaysToSell:
		return "days to sell"
	}
	return f.String()
}

// figureText writes a figure of the log in its own unit.
func figureText(f pool.Figure, v pool.Micros, currency price.Currency, locale string) string {
	switch f {
	case pool.SoldToAsked:
		return plainMicros(v*100) + " %"
	case pool.DaysToSell:
		return plainMicros(v)
	}
	return moneyText(moneyOf(v, currency), locale)
}

// moneyOf is a value of the log as money, rounded half to even to the smallest coin.
func moneyOf(v pool.Micros, currency price.Currency) price.Money {
	return price.FromMicros(int64(v), currency)
}

func plainMicros(v pool.Micros) string { return decimal.New(int64(v), -6).String() }
