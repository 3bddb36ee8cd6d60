package price

import (
	"maps"
	"math/big"
)

// UnitBoardFeet is the unit of a lot that is counted in board feet; a lot may be
// counted in anything else.
const UnitBoardFeet = "bf"

// Lot is stock bought for several pieces, with the shares that were taken of it.
type Lot struct {
	Number int
	// Entry is the number of the entry that made it.
	Entry    int
	Currency Currency
	Facts    Facts
	Day      int
	// Amount is what it cost, in minor units; Millionths is how much it is.
	Amount, Millionths int64
	Shares             []LotShare
}

// LotShare is what one piece took.
type LotShare struct {
	// Entry is the number of the entry by which it was taken.
	Entry, Piece int
	// Millionths is how much, Cost what that is of the lot's cost.
	Millionths, Cost int64
}

// FoldLot adds the entries of one lot up. The cost is shared out by quantity so
// that the shares and what is left always add up to the lot to the last minor
// unit: the shares up to and with the n-th cost together
//
//	round(A · (q₁ + … + qₙ) / Q), half to even
//
// with A the cost of the lot, Q its quantity and q the shares in the order in which
// they were taken. A corrected lot so corrects every share. there is false when the
// lot is not, or no longer. Shares beyond the lot are a *ContradictionError.
func FoldLot(entries []Entry) (l Lot, there bool, err error) {
	var taken, spent int64
	for _, e := range Live(entries) {
		switch e.Kind {
		case EntryLot:
			if there {
				return Lot{}, false, contradiction(e, "makes a lot that is there")
			}
			c, err := ParseCurrency(e.Currency)
			if err != nil {
				return Lot{}, false, contradiction(e, "has no currency")
			}
			there = true
			l = Lot{Number: e.Lot, Entry: e.Number, Currency: c, Facts: maps.Clone(e.Facts), Day: e.Day, Amount: e.Amount, Millionths: e.Millionths}
		case EntryShare:
			if !there {
				return Lot{}, false, contradiction(e, "takes a share of a lot that is not there")
			}
			taken += e.Millionths
			if taken > l.Millionths {
				return Lot{}, false, contradiction(e, "takes more than is left of its lot")
			}
			upTo := part(l.Amount, taken, l.Millionths)
			l.Shares = append(l.Shares, LotShare{Entry: e.Number, Piece: e.Piece, Millionths: e.Millionths, Cost: upTo - spent})
			spent = upTo
		}
	}
	return l, there, nil
}

// part is amount · share/whole, rounded half to even.
func part(amount, share, whole int64) int64 {
	top := new(big.Int).Mul(big.NewInt(amount), big.NewInt(share))
	q, r := top.QuoRem(top, big.NewInt(whole), new(big.Int))
	switch r.Lsh(r, 1).Cmp(big.NewInt(whole)) {
	case 1:
		return q.Int64() + 1
	case 0:
		return q.Int64() + q.Int64()%2
	}
	return q.Int64()
}

// Left is what nobody has taken yet: how much, and what it is worth.
func (l Lot) Left() (millionths, amount int64) {
	millionths, amount = l.Millionths, l.Amount
	for _, s := range l.Shares {
		millionths -= s.Millionths
		amount -= s.Cost
	}
	return millionths, amount
}
