package price

import "math/big"

// Asset is something that wears out: what it cost to have it ready for work, and
// what it will fetch at the end of its life.
type Asset struct{ Cost, Resale Money }

// Wear is what the asset loses over its life, Cost − Resale.
func (a Asset) Wear() Money {
	return Money{amount: a.Cost.amount.Sub(a.Resale.amount), currency: a.Cost.currency}
}

// The methods are those of OpenStax, Principles of Accounting, Volume 1, chapter 11.

// StraightLine is the wear of one year of a life of so many, Wear/years, rounded
// half to even to the minor unit.
func (a Asset) StraightLine(years int) (Money, error) {
	return Per(a.Wear(), big.NewRat(int64(years), 1))
}

// PerUse is the wear of one of so many uses or hours (units of production),
// Wear/life, rounded half to even to millionths.
func (a Asset) PerUse(life *big.Rat) (Money, error) { return PerFine(a.Wear(), life) }

// Used is the wear of so many uses out of a life, Wear·used/life, rounded half to
// even to the minor unit once.
func (a Asset) Used(used, life *big.Rat) (Money, error) {
	if _, err := per(a.Wear(), life); err != nil {
		return Money{}, err
	}
	return CostOf(new(big.Rat).Quo(used, life), a.Wear())
}

// BookValue is what the asset is worth on paper after so many years of a life of
// straight-line wear.
func (a Asset) BookValue(after, years int) (Money, error) {
	worn, err := a.Used(big.NewRat(int64(after), 1), big.NewRat(int64(years), 1))
	if err != nil {
		return Money{}, err
	}
	return Money{amount: a.Cost.amount.Sub(worn.amount), currency: a.Cost.currency}, nil
}

// DoubleDeclining is the wear of each year when every year takes 2/years of what
// the asset is still worth, and none takes it below its resale value. Each is
// rounded half to even to the minor unit.
func (a Asset) DoubleDeclining(years int) ([]Money, error) {
	if _, err := per(a.Wear(), big.NewRat(int64(years), 1)); err != nil {
		return nil, err
	}
	worth, c := a.Cost.amount, a.Cost.currency
	wear := make([]Money, years)
	for i := range wear {
		e := exact{num: worth.Mul(two), den: whole(int64(years))}
		loss := lesser(e.halfEven(c.digits), worth.Sub(a.Resale.amount))
		worth = worth.Sub(loss)
		wear[i] = Money{amount: loss, currency: c}
	}
	return wear, nil
}
