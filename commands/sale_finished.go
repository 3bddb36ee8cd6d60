package commands

import (
	"context"
	"math/big"
	"slices"

	"tallystick/calc/measure"
	"tallystick/calc/pool"
	"tallystick/calc/price"
	"tallystick/store"
)

// besideAPiece are the options of a share that a job sheet does not bring itself.
var besideAPiece = []string{"piece", "category", "region", "species", "top"}

// finishedSale makes the record that would leave of a sold piece, out of its job
// sheet: the figures are the sheet's own.
func (h house) finishedSale(ctx context.Context, in *reading) (store.Sale, error) {
	for _, o := range in.req.command.Options {
		if in.has(o.Name) && !slices.Contains(besideAPiece, o.Name) {
			return store.Sale{}, &Mistake{Option: o.Name, Given: measure.Quote(in.req.Options[o.Name]),
				Problem: "stands beside piece, whose sheet brings it already", Try: "/sale share piece:" + measure.Quote(in.text("piece"))}
		}
	}
	var sheet price.Sheet
	err := h.Store.ReadBook(ctx, whoAsks(in.req), func(b *store.Book) error {
		p, err := in.piece(ctx, b)
		if err == nil {
			sheet, err = b.Sheet(ctx, p.Number)
		}
		return err
	})
	if err != nil {
		return store.Sale{}, err
	}
	f, sold := sheet.Finished()
	if !sold {
		return store.Sale{}, &Mistake{Option: "piece", Given: measure.Quote(in.text("piece")), Problem: "is not sold yet", Try: "/piece sold price:430 first"}
	}
	if in.currency = f.Sold.Currency(); in.currency.Code() != in.community.Currency {
		return store.Sale{}, &Mistake{Option: "piece", Given: measure.Quote(in.text("piece")),
			Problem: "was sold in " + in.currency.Code() + ", and this log is kept in " + in.community.Currency, Try: "a piece sold in " + in.community.Currency}
	}
	day := pool.Day(f.Day)
	sale := store.Sale{Category: in.listed("category", in.community.Categories), Region: in.listed("region", in.community.Regions),
		SpeciesGroup: in.req.Options["species"], Sold: day.Month(), Values: in.finishedValues(f)}
	if sale.Category == "" && slices.Contains(in.community.Categories, f.Category) {
		sale.Category = f.Category
	}
	if in.err == nil && sale.Category == "" {
		o, _ := in.req.command.Option("category")
		in.fail(&Mistake{Option: "category", Problem: "is needed beside this piece: " + o.Summary, Try: "category:" + in.community.Categories[0]})
	}
	return sale, in.err
}

// finishedValues are the figures of a sold piece, as far as its sheet has them.
func (in *reading) finishedValues(f price.Finished) pool.Values {
	sold := rat(f.Sold)
	values := pool.Values{}.With(pool.Price, micros(sold))
	add := func(figure pool.Figure, by *big.Rat) {
		if by != nil && by.Sign() > 0 {
			values = values.With(figure, micros(new(big.Rat).Quo(sold, by)))
		}
	}
	add(pool.PricePerBoardFoot, big.NewRat(f.Millionths, 1_000_000))
	add(pool.PricePerSquareFoot, in.top())
	add(pool.SoldToAsked, rat(f.Asked))
	if f.Days >= 0 {
		values = values.With(pool.DaysToSell, pool.Whole(f.Days))
	}
	if hourly, err := f.Job.Hourly(f.Sold); err == nil { // without hours there is none
		values = values.With(pool.RealisedHourly, micros(rat(hourly)))
	}
	return values
}
