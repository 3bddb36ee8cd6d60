package commands

import (
	"time"

	"tallystick/calc/price"
)

// moves says what would move the target, in at most three sentences: an hour less,
// what was paid out at half the price, and selling where nothing is taken.
func (c *charged) moves() ([]string, error) {
	d := c.deal
	target, ok := find(c.prices, "target_price")
	if !ok {
		return nil, nil
	}
	at := func(j price.Job) (price.Money, error) { return j.Stepped(d.wanted, price.Fraction{}, d.step) }
	var said []string
	say := func(when string, j price.Job) error {
		moved, err := at(j)
		if err != nil || moved.Cmp(target.high) == 0 {
			return err
		}
		said = append(said, when+", the target would be "+moneyText(moved, c.req.Locale)+".")
		return nil
	}
	if d.span.High > time.Hour {
		if err := say("With an hour less of work", d.at(d.span.High-time.Hour)); err != nil {
			return nil, err
		}
	}
	if half, ok := halfOf(c.fields.cost); ok {
		j := d.job
		cost, err := j.Cost.Less(half)
		if err != nil {
			return nil, err
		}
		j.Cost = cost
		if err := say("With the materials at half their price", j); err != nil {
			return nil, err
		}
	}
	if !d.job.Fee.IsZero() || !d.job.Share.IsZero() || d.job.Fixed.IsPositive() {
		j := d.job
		j.Fee, j.Share, j.Fixed = price.Fraction{}, price.Fraction{}, price.NewMoney(0, d.in.currency)
		if err := say("Sold where nothing is taken", j); err != nil {
			return nil, err
		}
	}
	return said, nil
}

// halfOf is half an amount to the smallest coin, the lesser half of an odd one.
func halfOf(m *price.Money) (price.Money, bool) {
	if m == nil {
		return price.Money{}, false
	}
	minor, err := m.Minor()
	if err != nil || minor < 2 {
		return price.Money{}, false
	}
	return price.NewMoney(minor/2, m.Currency()), true
}
