package price

import (
	"math/big"

	"github.com/shopspring/decimal"
)

// CostOf is what a quantity costs at a price for one of it, rounded half to even
// to the minor unit.
func CostOf(quantity *big.Rat, each Money) (Money, error) {
	e := exact{
		num: each.amount.Mul(decimal.NewFromBigInt(quantity.Num(), 0)),
		den: decimal.NewFromBigInt(quantity.Denom(), 0),
	}
	return bounded(Money{amount: e.halfEven(each.currency.digits), currency: each.currency})
}

// PerUsable is what one usable unit of stock costs when the fraction waste of it
// ends as offcuts: each/(1−waste), rounded half to even to the minor unit.
func PerUsable(each Money, waste Fraction) (Money, error) {
	e := exact{num: each.amount, den: waste.left()}
	return bounded(Money{amount: e.halfEven(each.currency.digits), currency: each.currency})
}
