package commands

import (
	"context"
	"math/big"
	"slices"
	"strconv"
	"strings"

	"tallystick/calc/lumber"
	"tallystick/calc/measure"
	"tallystick/calc/price"
)

// charged is an answer on its way.
type charged struct {
	req    Request
	fields fields
	// options are the same facts as /price reads them.
	options map[string]string
	deal    deal
	sizes   sizes
	prices  []priced
	ranked  *ranking
	drive   *price.Money
	doubts  []string
	notes   []string
}

// chargeAnswer answers from fields, wherever they were read: r is the line they
// came from, and empty where there was none. The sums are those of /price, /cost
// trip, /boardfeet, /weight and /market show, by their own functions.
func (h house) chargeAnswer(ctx context.Context, req Request, f fields, r lineReading) (Reply, error) {
	c, reply, err := h.charged(ctx, req, f, r)
	if err != nil {
		return Reply{}, err
	}
	shown, err := h.beside(ctx, c, &reply)
	if err != nil {
		return Reply{}, err
	}
	if c.ranked != nil {
		reply.Tables = append(reply.Tables, c.ranked.table)
		c.notes = append(c.notes, c.ranked.note)
	}
	moves, err := c.moves()
	if err != nil {
		return Reply{}, err
	}
	if len(c.prices) > 0 {
		if reply.Picture, err = c.chart(shown); err != nil {
			return Reply{}, err
		}
		reply.Actions = append(reply.Actions, Action{Label: "The whole sum", Path: "price", Options: c.options})
		c.notes = append(c.notes, said(c.deal.included(), c.deal.roundingNote(), c.deal.taxNote())...)
	}
	reply.Actions = append(reply.Actions, marketAction(f.category))
	if rows := c.readRows(r); len(rows) > 0 {
		reply.Tables = append(reply.Tables, Table{Title: "How I read it", Columns: []string{"told", "read as"}, Rows: rows})
	}
	reply.Notes = slices.Concat(said(notUnderstood(r), c.asks(), c.standingWords(shown, reply.Figures)), moves, c.notes)
	return reply, nil
}

// charged works out the prices and the wood of a piece, and begins the reply.
func (h house) charged(ctx context.Context, req Request, f fields, r lineReading) (*charged, Reply, error) {
	c := &charged{req: req, fields: f, doubts: slices.Clone(r.doubts)}
	drive, driveNotes, doubt, err := h.drive(ctx, req, f)
	if err != nil {
		return nil, Reply{}, err
	}
	c.drive, c.doubts = drive, append(c.doubts, said(doubt)...)
	if c.options, err = f.priceOptions(drive); err != nil {
		return nil, Reply{}, err
	}
	var left []string
	if c.deal, c.sizes, left, err = h.dealOf(ctx, req, c.options); err != nil {
		return nil, Reply{}, err
	}
	c.doubts = append(c.doubts, left...)
	if c.sizes.feet == nil && f.feet != nil {
		c.sizes.feet = f.feet.Rat()
	}
	reply := Reply{Title: c.title(), Private: true}
	if err := c.price(&reply); err != nil {
		return nil, Reply{}, err
	}
	if err := c.wood(&reply); err != nil {
		return nil, Reply{}, err
	}
	c.notes = append(c.notes, driveNotes...)
	return c, reply, nil
}

func (c *charged) title() string {
	what := c.fields.category
	if what == "" {
		what = c.fields.piece
	}
	switch {
	case what == "":
		return "What to charge"
	case c.fields.count > 1:
		return "What to charge for " + strconv.Itoa(c.fields.count) + " of: " + what
	}
	return "What to charge for the " + what
}

// price adds the prices, each with what it pays an hour.
func (c *charged) price(reply *Reply) (err error) {
	d := &c.deal
	if !d.known("rate") && !d.known("lowest-rate") && !d.in.has("materials") && !d.in.has("fixed-fee") {
		return nil
	}
	if c.ranked, err = d.rankVenues(); err != nil {
		return err
	}
	if c.prices, err = d.prices(); err != nil {
		return err
	}
	for _, p := range c.prices {
		if p.key == "break_even" && len(c.prices) > 1 {
			continue // it is in the picture and in /price
		}
		figures := p.figures(*d)
		ends := []struct {
			span price.Span
			at   price.Money
		}{{price.Span{High: d.span.Low}, p.low}, {price.Span{High: d.span.High}, p.high}}
		for i := range figures {
			end := ends[len(ends)-len(figures)+i]
			if end.span.High == 0 || p.key == "break_even" {
				continue // there it is nothing
			}
			pays, err := d.at(end.span.High).Hourly(end.at)
			if err != nil {
				return err
			}
			figures[i].Text += ", " + moneyText(pays, c.req.Locale) + " an hour"
		}
		reply.Figures = append(reply.Figures, figures...)
	}
	if target, ok := c.target(); ok && c.fields.count > 1 {
		each, err := price.PerUp(target.high, big.NewRat(int64(c.fields.count), 1))
		if err != nil {
			return err
		}
		reply.Figures = append(reply.Figures, moneyFigure(target.key+"_each", "Each of "+strconv.Itoa(c.fields.count)+", at the "+target.short, each, c.req))
		c.notes = append(c.notes, "The hours and the amounts are those of all "+strconv.Itoa(c.fields.count)+" together; write 5h each for what one of them takes.")
	}
	return nil
}

// target is the price that the rest is measured by: the target, or the break-even.
func (c *charged) target() (priced, bool) {
	if p, ok := find(c.prices, "target_price"); ok {
		return p, true
	}
	return find(c.prices, "break_even")
}

// wood adds what is in the piece: its board feet and its weight, and the price by
// size.
func (c *charged) wood(reply *Reply) error {
	d, f, in := c.deal, c.fields, c.deal.in
	if target, ok := c.target(); ok {
		if err := c.sizes.figures(reply, target.high, target.short, d); err != nil {
			return err
		}
	}
	lot := f.woodLot()
	if lot != nil {
		reply.Figures = append(reply.Figures, feetFigure("board_feet", "Board feet, by volume", lumber.VolumeOf(lot)))
	}
	switch {
	case len(f.size) == 3 && !f.solid() && f.lot == nil:
		c.notes = append(c.notes, "I took "+sizeText(f.size, in)+" as the outside of a built piece with a top of "+sizeText(f.size[:2], in)+"; add its boards (6 @ 5/8 x 3-1/2 x 40 in) for board feet and weight.")
	case f.solid() && f.lot == nil:
		c.notes = append(c.notes, "I took "+sizeText(f.size, in)+" as solid wood; add its boards where it is not.")
	}
	c.notes = append(c.notes, said(in.smallNote(f.sizeText, f.size))...)
	if len(f.woods) > 1 && lot != nil {
		c.notes = append(c.notes, "You named "+strings.Join(f.woods, " and ")+", and I weigh one wood: /weight takes each by itself.")
	}
	if lot == nil || len(f.woods) != 1 {
		return nil
	}
	return c.weigh(reply, lot)
}

// weigh adds the weight as /weight gives it.
func (c *charged) weigh(reply *Reply, lot measure.Lot) error {
	wood, note, err := lumber.FindSpecies(c.fields.woods[0])
	if err != nil {
		return nil // a name for several woods; the reading says which to choose from
	}
	moisture := lumber.Moisture(12)
	if c.fields.moisture != nil {
		if moisture, err = lumber.ParseMoisture(c.fields.moisture.Percent() + "%"); err != nil {
			return nil // more than any wood holds
		}
	}
	total, heaviest, err := wood.Weight(lot, moisture)
	if err != nil || !wood.Density(moisture).IsKnown() {
		return nil // not in the tables; /weight says so
	}
	reply.Figures = append(reply.Figures, massFigure("weight", "Weight at "+moisture.String()+" moisture", total, c.deal.in))
	c.notes = append(c.notes, said(note, provenanceNote(wood, true, false, false))...)
	switch {
	case heaviest > lumber.LiftingLimit:
		reply.Cautions = append(reply.Cautions, oneLift)
	case total > lumber.LiftingLimit:
		reply.Cautions = append(reply.Cautions, manyLifts)
	}
	return nil
}

// woodLot is the wood in the piece, nil where it is not known.
func (f fields) woodLot() measure.Lot {
	switch {
	case f.lot != nil:
		return f.lot
	case f.solid():
		return measure.Lot{{Count: f.pieces(), Board: measure.Board{Thickness: f.size[2], Width: f.size[1], Length: f.size[0]}}}
	}
	return nil
}
