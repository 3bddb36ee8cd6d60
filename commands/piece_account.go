package commands

import (
	"math/big"
	"time"

	"tallystick/calc/price"
)

// account is the final accounting of a piece that is sold.
func (d *drawing) account() error {
	s, job := d.sheet, d.sheet.Job()
	sold := s.Money(s.Sale.Amount)
	d.reply.Title += ": final accounting"
	d.figure(moneyFigure("sold_price", "Sold for", sold, d.in.req))
	left, err := job.Left(sold)
	if err != nil {
		return err
	}
	d.figure(moneyFigure("left", "Left after fee and costs", left, d.in.req))
	if job.Hours > 0 {
		hourly, err := job.Hourly(sold)
		if err != nil {
			return err
		}
		d.figure(hourlyFigure("realised_hourly", "Realised rate", hourly, d.in.req))
	}
	if s.Facts.Has(price.FactRate) {
		d.figure(hourlyFigure("wanted_rate", "Wanted", s.Wanted(), d.in.req))
	}
	d.times()
	breakEven, err := job.BreakEven()
	if err != nil {
		return err
	}
	d.figure(moneyFigure("break_even", "Break-even, your own time unpaid", breakEven, d.in.req))
	d.selling()
	d.tables()
	if err := d.offers(); err != nil {
		return err
	}
	if err := d.nextTime(); err != nil {
		return err
	}
	d.reply.Notes = append(d.reply.Notes, d.saleLine(), d.planLine())
	d.clocks()
	if job.Hours <= 0 {
		d.reply.Notes = append(d.reply.Notes, "No hours on this sheet: I cannot say what an hour was paid. Add them with /piece time worked:1h30.")
	}
	if left.IsNegative() {
		d.reply.Notes = append(d.reply.Notes, "The sale did not cover what you paid out.")
	}
	return nil
}

// selling sets the sale against the asking, and the hours against the estimate.
func (d *drawing) selling() {
	s := d.sheet
	if s.FirstAsk > 0 {
		d.figure(moneyFigure("first_asked", "First asked", s.Money(s.FirstAsk), d.in.req))
		d.figure(ratioFigure("sold_to_asked", "Sold for, of what was first asked", big.NewRat(s.Sale.Amount, s.FirstAsk)))
	}
	if days, known := s.DaysToSell(); known {
		d.figure(countFigure("days_to_sell", "Days from first posting to sale", days, "days"))
		d.figure(countFigure("days_listed", "Days listed", s.DaysListed(today(d.in.req)), "days"))
	}
	if ratio, ok := estimateRatio(s); ok {
		d.figure(ratioFigure("estimate_ratio", "Time taken, of the estimate", ratio))
	}
}

// estimateRatio is the maker's own time over the estimate, where there are both.
func estimateRatio(s price.Sheet) (*big.Rat, bool) {
	estimated := int64(s.Facts.Time(price.FactEstimate) / time.Second)
	if estimated == 0 || s.OwnSeconds() == 0 {
		return nil, false
	}
	return big.NewRat(s.OwnSeconds(), estimated), true
}

// saleLine says how the sale was read.
func (d *drawing) saleLine() string {
	sale := d.sheet.Sale
	parts := []string{"sold on " + dateText(sale.Day)}
	if sale.To != "" {
		parts = append(parts, "to "+oneLine(sale.To))
	}
	if sale.Venue != "" {
		parts = append(parts, "at "+oneLine(sale.Venue))
	}
	if sale.Fee.IsZero() && sale.Fixed == 0 {
		parts = append(parts, "no fee")
	} else {
		parts = append(parts, "a fee of "+sale.Fee.Percent()+" % and "+d.money(sale.Fixed))
	}
	if sale.Tax > 0 {
		parts = append(parts, d.money(sale.Tax)+" of sales tax on top, which is passed on and counts as nothing here")
	}
	return sentence("Read as: ", parts...)
}

// nextTime says in numbers what would have paid the wanted rate.
func (d *drawing) nextTime() error {
	s, job := d.sheet, d.sheet.Job()
	if !s.Facts.Has(price.FactRate) || job.Hours <= 0 {
		return nil
	}
	wanted, sold := s.Wanted(), s.Money(s.Sale.Amount)
	target, err := job.Target(wanted)
	if err != nil {
		return err
	}
	t := Table{Title: "Next time, for " + moneyText(wanted, d.in.req.Locale) + " an hour", Columns: []string{"with", "it takes"}}
	t.Rows = append(t.Rows, []string{"these hours and costs", "a price of " + moneyText(target, d.in.req.Locale)})
	d.figure(moneyFigure("target_price", "Would have paid your rate", target, d.in.req))
	if s.FirstAsk > s.Sale.Amount && s.FirstAsk > 0 {
		asking, err := price.AskFor(job, wanted, s.Sale.Amount, s.FirstAsk)
		if err != nil {
			return err
		}
		t.Rows = append(t.Rows, []string{"and as much haggling", "asking " + moneyText(asking, d.in.req.Locale)})
		d.figure(moneyFigure("asking_price", "Asking, if brought down as far again", asking, d.in.req))
	}
	if hours, ok := job.HoursThatPay(sold, wanted); ok {
		t.Rows = append(t.Rows, []string{"this price and costs", secondsText(price.Seconds(hours)) + " of work"})
		d.figure(hoursFigure("hours_that_pay", "Hours that this price pays", price.Seconds(hours)))
	}
	d.reply.Tables = append(d.reply.Tables, t)
	return nil
}
