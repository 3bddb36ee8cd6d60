package price

// Counter is what to answer an offer with: the middle between it and the price
// that was asked, never below floor, rounded up to a whole number of steps and
// never above what was asked. There is none where the offer is what was asked or
// more, or where the price asked is itself below the floor.
//
// Meeting in the middle is common practice; it has no source.
func Counter(offer, asked, floor, step Money) (Money, bool, error) {
	c, err := common(offer, asked, floor, step)
	if err != nil {
		return Money{}, false, err
	}
	if offer.Cmp(asked) >= 0 || floor.Cmp(asked) > 0 {
		return Money{}, false, nil
	}
	middle := exact{num: offer.amount.Add(asked.amount), den: two}
	if low := (exact{num: floor.amount, den: one}); floor.amount.Mul(middle.den).Cmp(middle.num) > 0 {
		middle = low
	}
	stepped := middle.up(stepOr(step, c))
	return Money{amount: lesser(stepped, asked.amount), currency: c}, true, nil
}
