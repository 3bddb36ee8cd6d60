package price

// Statement says where the money of one sale goes. Every amount is rounded half
// to even to the minor unit by itself, so that the lines may differ from the sum
// by a minor unit or two; Left is rounded once, from the exact rest.
type Statement struct {
	// Paid is what the buyer pays, the sales tax included, and Tax the tax in it.
	Paid, Tax Money
	// Fee is the percentage fee, Share what a shop keeps on consignment and Fixed
	// the fixed fee.
	Fee, Share, Fixed Money
	// Cost is the direct cost and Overhead that of the hours.
	Cost, Overhead Money
	// Left is what is left for the maker's own time.
	Left Money
}

// Statement itemises a sale at a price.
func (j Job) Statement(at Money) (Statement, error) {
	left, c, err := j.left(at)
	if err != nil {
		return Statement{}, err
	}
	var failed error
	nearest := func(num, den number) Money {
		m, err := exact{num: num, den: den}.nearest(c)
		if err != nil {
			failed = err
		}
		return m
	}
	k := j.written()
	fee := j.Fee.of
	if j.FeeOnTax {
		fee = fee.Mul(j.Tax.with())
	}
	hours, anHour := inHours(j.Hours)
	s := Statement{
		Paid:     nearest(at.amount.Mul(j.Tax.with()), k),
		Tax:      nearest(at.amount.Mul(j.Tax.of), k),
		Fee:      nearest(at.amount.Mul(fee), k),
		Share:    nearest(at.amount.Mul(j.Share.of), k),
		Fixed:    Money{amount: j.Fixed.amount, currency: c},
		Cost:     Money{amount: j.Cost.amount, currency: c},
		Overhead: nearest(j.Overhead.amount.Mul(hours), anHour),
		Left:     nearest(left.num, left.den),
	}
	return s, failed
}

// WithTax is a price without tax with the tax t added, P·(1+t), rounded half to
// even.
func WithTax(p Money, t Fraction) (Money, error) {
	return exact{num: p.amount.Mul(t.with()), den: one}.nearest(p.currency)
}

// WithoutTax is a price written with the tax t in it, without it: P/(1+t),
// rounded half to even.
func WithoutTax(p Money, t Fraction) (Money, error) {
	return exact{num: p.amount, den: t.with()}.nearest(p.currency)
}

// TaxIn is the tax t inside a price that includes it, P·t/(1+t), rounded half to
// even. At 20 % the fraction t/(1+t) is 1/6.
func TaxIn(p Money, t Fraction) (Money, error) {
	return exact{num: p.amount.Mul(t.of), den: t.with()}.nearest(p.currency)
}
