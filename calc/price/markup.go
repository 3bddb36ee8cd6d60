package price

import "github.com/shopspring/decimal"

// Markup is what a price adds to a cost, as shares of one rounded half to even to
// four decimals: k of the cost and m of the price. m = k/(1+k), an identity.
type Markup struct{ OnCost, OnPrice decimal.Decimal }

// markupPlaces are the decimals a Markup is given with: hundredths of a percent.
const markupPlaces = 4

// MarkupOf compares a price with the cost in it. It needs both above zero.
func MarkupOf(cost, at Money) (Markup, bool) {
	if !cost.amount.IsPositive() || !at.amount.IsPositive() || cost.currency != at.currency {
		return Markup{}, false
	}
	added := at.amount.Sub(cost.amount)
	return Markup{
		OnCost:  exact{num: added, den: cost.amount}.halfEven(markupPlaces).Decimal(),
		OnPrice: exact{num: added, den: at.amount}.halfEven(markupPlaces).Decimal(),
	}, true
}

// PercentOf writes a share of one as a percentage, without the sign, rounded half to
// even to at most so many decimals.
func PercentOf(share decimal.Decimal, places int32) string {
	return exact{num: numberOf(share).Shift(2), den: one}.halfEven(places).String()
}

// ShareOf is a part of a price as a share of one, rounded as a Markup is.
func ShareOf(part, at Money) (decimal.Decimal, bool) {
	if !at.amount.IsPositive() || part.currency != at.currency {
		return decimal.Zero, false
	}
	return exact{num: part.amount, den: at.amount}.halfEven(markupPlaces).Decimal(), true
}

// AtMarkup is the price that adds the share k of the cost to it: cost·(1+k),
// rounded up to the minor unit.
func AtMarkup(cost Money, k decimal.Decimal) (Money, error) {
	e := exact{num: cost.amount.Mul(one.Add(numberOf(k))), den: one}
	return bounded(Money{amount: e.up(stepOr(Money{}, cost.currency)), currency: cost.currency})
}

// AtMargin is the price of which the share m is left above the cost: cost/(1−m),
// rounded up to the minor unit.
func AtMargin(cost Money, m Fraction) (Money, error) {
	e := exact{num: cost.amount, den: m.left()}
	return bounded(Money{amount: e.up(stepOr(Money{}, cost.currency)), currency: cost.currency})
}
