package price

import (
	"slices"
	"strings"
	"unicode/utf8"
)

// Entry is one line of a maker's ledger. Entries are only ever added: what was
// wrong is put right by a further entry, so that the trail stays. A job sheet is
// what the entries of a piece add up to, see FoldSheet.
type Entry struct {
	// Number counts the maker's entries from 1. Every entry is about one before it
	// or about none, so that the order of numbers is the order of events.
	Number int
	// Piece and Lot are the maker's own running numbers; 0 is none.
	Piece, Lot int
	Kind       EntryKind
	// At is when it was written, in Unix seconds. Day is the day it is about,
	// counted from 1970-01-01.
	At  int64
	Day int
	// Target is the entry that an out, a correct, a strike or an undo is about.
	Target int
	// Amount is money in minor units of Currency, an ISO 4217 code; never below
	// zero.
	Amount   int64
	Currency string
	// Seconds is time worked.
	Seconds int64
	// Millionths is a quantity in millionths of a board foot, or of whatever else
	// a lot is counted in.
	Millionths int64
	Facts      Facts
}

// EntryKind says what an entry does.
type EntryKind string

// The kinds of entry. Those about a piece:
const (
	EntryOpen    EntryKind = "open"    // begins a piece
	EntryTake    EntryKind = "take"    // makes it the piece that is worked on
	EntryRename  EntryKind = "rename"  // gives it another name
	EntryPlan    EntryKind = "plan"    // changes what is planned
	EntryClose   EntryKind = "close"   // ends it without a sale
	EntryReopen  EntryKind = "reopen"  // takes the end or the sale back
	EntryIn      EntryKind = "in"      // starts a clock
	EntryOut     EntryKind = "out"     // stops the clock that Target started
	EntryTime    EntryKind = "time"    // time worked without a clock
	EntryStock   EntryKind = "stock"   // wood found or bought for it
	EntryShare   EntryKind = "share"   // a part of a lot
	EntryCost    EntryKind = "cost"    // anything else paid or used up
	EntryListing EntryKind = "listing" // what the sale text says
	EntryPost    EntryKind = "post"    // offered for sale somewhere, at a price
	EntryDown    EntryKind = "down"    // no longer offered there
	EntryOffer   EntryKind = "offer"   // somebody would pay so much
	EntryGone    EntryKind = "gone"    // and now would not
	EntrySold    EntryKind = "sold"    // sold
	// Those about a lot, or about the maker:
	EntryLot   EntryKind = "lot"   // stock bought for several pieces
	EntryLimit EntryKind = "limit" // from which length a clock counts as forgotten
	// Those about the entry that Target names:
	EntryCorrect EntryKind = "correct" // puts these values in place of its own
	EntryStrike  EntryKind = "strike"  // counts it for nothing
	EntryUndo    EntryKind = "undo"    // as if it had never been
)

// entryKinds lists them all.
var entryKinds = []EntryKind{
	EntryOpen, EntryTake, EntryRename, EntryPlan, EntryClose, EntryReopen, EntryIn, EntryOut, EntryTime, EntryStock,
	EntryShare, EntryCost, EntryListing, EntryPost, EntryDown, EntryOffer, EntryGone, EntrySold, EntryLot, EntryLimit,
	EntryCorrect, EntryStrike, EntryUndo,
}

// Correctable tells whether an entry of the kind may be corrected or struck.
func (k EntryKind) Correctable() bool {
	switch k {
	case EntryOut, EntryTime, EntryStock, EntryShare, EntryCost, EntryLot, EntryPost, EntryOffer, EntrySold:
		return true
	}
	return false
}

// Facts are the words and the lesser numbers of an entry. Words are as typed.
// Money is whole minor units of the entry's currency, time seconds, a fraction a
// plain decimal, a size nanometres joined by commas.
type Facts map[Fact]string

// Fact names one of them.
type Fact string

// The facts.
const (
	FactName     Fact = "name"
	FactCategory Fact = "category"
	FactSize     Fact = "size"
	FactEstimate Fact = "estimate"
	FactRate     Fact = "rate"
	FactFee      Fact = "fee"
	FactFixed    Fact = "fixed_fee"
	FactHaggle   Fact = "haggle"
	FactNote     Fact = "note"
	FactReason   Fact = "reason"
	FactPerson   Fact = "person" // a helper; none is the maker
	FactStage    Fact = "stage"
	FactPay      Fact = "pay"     // what a helper gets for an hour
	FactBegan    Fact = "began"   // when the clock began to count, in Unix seconds
	FactElapsed  Fact = "elapsed" // what the clock showed, in seconds
	FactDoubtful Fact = "doubtful"
	FactWhat     Fact = "what"
	FactGroup    Fact = "group" // of a cost, see CostGroups
	FactTrip     Fact = "trip"  // the part of the amount that the trip cost
	FactTax      Fact = "tax"   // the sales tax in a cost, or on top of a sale
	FactTyped    Fact = "typed" // how an amount was reckoned
	FactUnit     Fact = "unit"  // what a lot is counted in
	FactVenue    Fact = "venue"
	FactWho      Fact = "who"
	FactHold     Fact = "hold" // until when, in Unix seconds
	FactOutcome  Fact = "outcome"
	FactWood     Fact = "wood"
	FactKnown    Fact = "known"
	FactFinish   Fact = "finish"
	FactFlaws    Fact = "flaws"
	FactWeight   Fact = "weight"
	FactDelivery Fact = "delivery"
	FactPictures Fact = "pictures"
)

// factLimits are the longest texts, in characters.
var factLimits = map[Fact]int{
	FactName: 60, FactCategory: 40, FactSize: 80, FactEstimate: 20, FactRate: 20, FactFee: 20, FactFixed: 20, FactHaggle: 20,
	FactNote: 300, FactReason: 200, FactPerson: 40, FactStage: 40, FactPay: 20, FactBegan: 20, FactElapsed: 20, FactDoubtful: 1,
	FactWhat: 80, FactGroup: 20, FactTrip: 20, FactTax: 20, FactTyped: 200, FactUnit: 20, FactVenue: 60, FactWho: 40,
	FactHold: 20, FactOutcome: 20, FactWood: 60, FactKnown: 20, FactFinish: 80, FactFlaws: 200, FactWeight: 30,
	FactDelivery: 120, FactPictures: 120,
}

// FactLimit is the longest text that a fact may have, in characters.
func FactLimit(f Fact) int { return factLimits[f] }

// FactNames lists every fact in alphabetical order.
func FactNames() []Fact {
	names := make([]Fact, 0, len(factLimits))
	for f := range factLimits {
		names = append(names, f)
	}
	slices.Sort(names)
	return names
}

// The bounds of a ledger.
const (
	// MaxEntries is how many entries one piece may have.
	MaxEntries = 1000
	// MaxSeconds is the longest time of one entry: 100,000 hours.
	MaxSeconds = 360_000_000
	// MaxMillionths is the largest quantity: a million board feet.
	MaxMillionths = 1_000_000_000_000
	// MaxNumber is the highest number of an entry, a piece or a lot.
	MaxNumber = 1_000_000_000
	// The days and times that are taken: from 1970 to the end of 2199.
	maxDay    = 84_005
	maxSecond = 7_258_118_399
)

// Unsound says what is wrong with an entry by itself, as the end of a sentence, or
// "". Whether it fits the others is for FoldSheet, FoldLot and the store.
func (e Entry) Unsound() string {
	if problem := e.unsoundNumbers(); problem != "" {
		return problem
	}
	switch {
	case !slices.Contains(entryKinds, e.Kind):
		return "is of a kind that I do not keep"
	case (e.Kind == EntryOut || e.aboutEntry()) != (e.Target > 0):
		return "names no entry that it is about, or should not name one"
	case e.Kind == EntryLimit && (e.Piece > 0 || e.Lot > 0), e.Kind == EntryLot && (e.Piece > 0 || e.Lot == 0):
		return "belongs to something that it cannot belong to"
	case e.Kind == EntryShare && (e.Piece == 0 || e.Lot == 0):
		return "names no piece or no lot"
	case e.ofPiece() && e.Piece == 0:
		return "names no piece"
	case e.ofPiece() && e.Kind != EntryShare && e.Lot > 0:
		return "names a lot that it has nothing to do with"
	}
	for f, text := range e.Facts {
		if problem := unsoundFact(f, text); problem != "" {
			return problem
		}
	}
	return e.unsoundMeaning()
}

func (e Entry) unsoundNumbers() string {
	switch {
	case e.Number < 1 || e.Number > MaxNumber || e.Piece < 0 || e.Piece > MaxNumber || e.Lot < 0 || e.Lot > MaxNumber:
		return "has a number out of bounds"
	case e.Target < 0 || e.Target >= e.Number:
		return "is about an entry that does not come before it"
	case e.At < 0 || e.At > maxSecond || e.Day < 0 || e.Day > maxDay:
		return "has a date out of bounds"
	case e.Amount < 0 || e.Amount > MaxMinor:
		return "has an amount out of bounds"
	case e.Seconds < 0 || e.Seconds > MaxSeconds:
		return "has a time out of bounds"
	case e.Millionths < 0 || e.Millionths > MaxMillionths:
		return "has a quantity out of bounds"
	}
	if c, err := ParseCurrency(e.Currency); e.Currency != "" && (err != nil || c.code != e.Currency) {
		return "has no currency of ISO 4217"
	} else if e.Currency == "" && e.Amount > 0 {
		return "has an amount without a currency"
	}
	return ""
}

// aboutEntry tells the kinds that change another entry.
func (e Entry) aboutEntry() bool {
	return e.Kind == EntryCorrect || e.Kind == EntryStrike || e.Kind == EntryUndo
}

// GoesOn tells whether the entry adds to what the others of its piece come to and
// leaves it as it is otherwise: one about another entry or about a lot may not.
func (e Entry) GoesOn() bool { return !e.aboutEntry() && e.Lot == 0 }

// ofPiece tells the kinds that belong to a piece.
func (e Entry) ofPiece() bool {
	return !e.aboutEntry() && e.Kind != EntryLot && e.Kind != EntryLimit
}

func unsoundFact(f Fact, text string) string {
	limit, known := factLimits[f]
	switch {
	case !known:
		return "says something that I do not keep"
	case text == "":
		return "has an empty " + string(f)
	case !utf8.ValidString(text) || strings.ContainsRune(text, 0):
		return "has a " + string(f) + " that is no text"
	case utf8.RuneCountInString(text) > limit:
		return "has a " + string(f) + " that is too long"
	}
	switch f {
	case FactEstimate, FactRate, FactFixed, FactPay, FactBegan, FactElapsed, FactTrip, FactTax, FactHold:
		if _, ok := wholeNumber(text); !ok {
			return "has a " + string(f) + " that is no whole number"
		}
	case FactFee, FactHaggle:
		if _, ok := fractionFact(text); !ok {
			return "has a " + string(f) + " that is no fraction below one"
		}
	case FactSize:
		if _, ok := sizeFact(text); !ok {
			return "has a size that is none"
		}
	}
	return ""
}

// kindNeeds are the facts that a kind cannot do without.
var kindNeeds = map[EntryKind]Fact{EntryOpen: FactName, EntryRename: FactName, EntryIn: FactBegan, EntryCost: FactGroup,
	EntryPost: FactVenue, EntryDown: FactVenue, EntryOffer: FactWho, EntryGone: FactWho, EntryLot: FactUnit,
	EntryClose: FactOutcome}

// unsoundMeaning holds what a kind cannot do without.
func (e Entry) unsoundMeaning() string {
	if f, ok := kindNeeds[e.Kind]; ok && e.Facts[f] == "" {
		return "has no " + string(f)
	}
	switch {
	case e.Kind == EntryOpen && e.Currency == "":
		return "has no currency"
	case e.Facts[FactGroup] != "" && !slices.Contains(CostGroups, e.Facts[FactGroup]):
		return "has a group of costs that I do not keep"
	case e.Facts[FactOutcome] != "" && !slices.Contains(Outcomes, e.Facts[FactOutcome]):
		return "has an outcome that I do not keep"
	case e.Kind == EntryLot && e.Millionths == 0:
		return "is a lot of nothing"
	}
	if trip, _ := wholeNumber(e.Facts[FactTrip]); trip > e.Amount && e.Kind != EntryCorrect {
		return "has a trip that cost more than all of it"
	}
	return ""
}
