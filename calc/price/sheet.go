package price

import (
	"slices"
	"strings"
	"time"
)

// Status says how far a piece is.
type Status string

// How far a piece may be. The last three are outcomes without a sale.
const (
	StatusOpen     Status = "open"
	StatusListed   Status = "listed"
	StatusSold     Status = "sold"
	StatusKept     Status = "kept"
	StatusGiven    Status = "given"
	StatusScrapped Status = "scrapped"
)

// Outcomes are the ways in which a piece ends without being sold.
var Outcomes = []string{string(StatusKept), string(StatusGiven), string(StatusScrapped)}

// The groups of direct cost.
const (
	CostStock      = "stock"
	CostPart       = "part"
	CostConsumable = "consumable"
	CostTool       = "tool"
	CostTrip       = "trip"
	CostHelper     = "helper"
	CostDelivery   = "delivery"
	CostOther      = "other"
)

// CostGroups lists them in the order of a sheet.
var CostGroups = []string{CostStock, CostPart, CostConsumable, CostTool, CostTrip, CostHelper, CostDelivery, CostOther}

// Sheet is one piece's job sheet: what its entries add up to. Amounts are minor
// units of Currency.
type Sheet struct {
	Piece    int
	Currency Currency
	Status   Status
	// Opened and Ended are days; Ended is 0 while the piece is not at its end.
	Opened, Ended int
	// Facts are the standing ones, each as it was last said.
	Facts Facts
	// Work has a line for each person and stage, in the order they first occur.
	Work []Work
	// Costs by group; groups without a cost are absent.
	Costs map[string]int64
	// Millionths of a board foot that went in, as far as they were told.
	Millionths int64
	Running    []Clock
	Doubtful   []Clock
	Posts      []Posting
	// FirstAsk and Ask are the first and the latest asking price; 0 is none.
	FirstAsk, Ask int64
	// FirstPosted is the day it was first offered for sale; 0 is never.
	FirstPosted int
	Offers      []SheetOffer
	Sale        *SheetSale

	offered []span
}

// Work is time that one person spent on one stage.
type Work struct {
	// Person is a helper's name; empty is the maker.
	Person, Stage string
	Seconds       int64
}

// Clock is a clock that runs, or one that stopped so late that its time counts
// only once the maker has said what is right.
type Clock struct {
	// Entry is the number of the in while it runs, of the out once it stopped.
	Entry         int
	Person, Stage string
	// Began is in Unix seconds. Elapsed is what it showed when it stopped.
	Began, Elapsed int64
	// Pay is what a helper gets for an hour.
	Pay int64
}

// Posting is one place where the piece is or was offered.
type Posting struct {
	Venue       string
	First, Now  int64
	Since, Last int
	// Cuts counts the times the price went down.
	Cuts int
	Down bool
}

// SheetOffer is the latest offer of one person.
type SheetOffer struct {
	Entry  int
	Who    string
	Amount int64
	Day    int
	// Hold is until when the piece is held for them, in Unix seconds; 0 is not.
	Hold int64
	Gone bool
}

// SheetSale is the sale.
type SheetSale struct {
	Entry  int
	Amount int64
	Fee    Fraction
	// Fixed is the fixed part of the fee, Tax what was taken on top for the
	// authority.
	Fixed, Tax int64
	Day        int
	To, Venue  string
}

// span is days on offer; an open one has no end.
type span struct {
	from, to int
	closed   bool
}

// StageKey is a stage as stages are told apart: in either case, however spaced.
func StageKey(stage string) string { return strings.ToLower(strings.Join(strings.Fields(stage), " ")) }

// OwnSeconds is the maker's own time.
func (s Sheet) OwnSeconds() int64 {
	var sum int64
	for _, w := range s.Work {
		if w.Person == "" {
			sum += w.Seconds
		}
	}
	return sum
}

// HelperSeconds is everybody else's.
func (s Sheet) HelperSeconds() int64 {
	var sum int64
	for _, w := range s.Work {
		if w.Person != "" {
			sum += w.Seconds
		}
	}
	return sum
}

// StageSeconds is the time of a stage by everybody, in the order of Work.
func (s Sheet) StageSeconds() []Work {
	var stages []Work
	for _, w := range s.Work {
		i := slices.IndexFunc(stages, func(o Work) bool { return StageKey(o.Stage) == StageKey(w.Stage) })
		if i < 0 {
			stages = append(stages, Work{Stage: w.Stage})
			i = len(stages) - 1
		}
		stages[i].Seconds += w.Seconds
	}
	return stages
}

// Cost is the direct cost in minor units.
func (s Sheet) Cost() int64 {
	var sum int64
	for _, amount := range s.Costs {
		sum += amount
	}
	return sum
}

// Money is an amount of the sheet.
func (s Sheet) Money(minor int64) Money { return NewMoney(minor, s.Currency) }

// Job is the sheet as the formulas of pricing want it: with the fee of the sale
// where there is one, else the planned one.
func (s Sheet) Job() Job {
	job := Job{
		Cost:  s.Money(s.Cost()),
		Hours: time.Duration(s.OwnSeconds()) * time.Second,
		Fee:   s.Facts.Fraction(FactFee),
		Fixed: s.Money(s.Facts.Number(FactFixed)),
	}
	if s.Sale != nil {
		job.Fee, job.Fixed = s.Sale.Fee, s.Money(s.Sale.Fixed)
	}
	return job
}

// Wanted is the wanted rate an hour.
func (s Sheet) Wanted() Money { return s.Money(s.Facts.Number(FactRate)) }

// DaysListed is how many days it was offered for sale until today, without the
// days between when it was nowhere.
func (s Sheet) DaysListed(today int) int {
	days := 0
	for _, p := range s.offered {
		to := p.to
		if !p.closed {
			to = today
		}
		days += max(to-p.from, 0)
	}
	return days
}

// DaysToSell is how many days lie between the first offering and the sale, and
// whether both are known.
func (s Sheet) DaysToSell() (int, bool) {
	if s.Sale == nil || s.FirstPosted == 0 {
		return 0, false
	}
	return max(s.Sale.Day-s.FirstPosted, 0), true
}
