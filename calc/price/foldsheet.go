package price

import (
	"maps"
	"slices"
	"strings"
)

// FoldSheet adds the entries of one piece up. shares has what each share of a lot
// costs, by the number of its entry, as FoldLot reckons it. there is false when
// the piece was never opened, or the opening was undone. Entries that contradict
// each other are a *ContradictionError.
func FoldSheet(entries []Entry, shares map[int]int64) (s Sheet, there bool, err error) {
	f, err := BeginFold(entries, shares)
	if err != nil {
		return Sheet{}, false, err
	}
	s, there = f.Sheet()
	return s, there, nil
}

// A Fold is the entries of one piece added up so far, to go on from.
type Fold struct{ f folding }

// BeginFold adds entries up as FoldSheet does.
func BeginFold(entries []Entry, shares map[int]int64) (*Fold, error) {
	f := &Fold{folding{shares: shares}}
	for _, e := range Live(entries) {
		if err := f.f.add(e); err != nil {
			return nil, err
		}
	}
	return f, nil
}

// GoOn adds the next entry, one that GoesOn. After an error the fold is of no use.
func (f *Fold) GoOn(e Entry) error { return f.f.add(e) }

// Sheet is what FoldSheet would make of the entries. It is good until the fold goes on.
func (f *Fold) Sheet() (s Sheet, there bool) { return f.f.sheet, f.f.there }

type folding struct {
	sheet  Sheet
	there  bool
	shares map[int]int64
}

func (f *folding) add(e Entry) error {
	s := &f.sheet
	if e.Kind == EntryOpen {
		if f.there {
			return contradiction(e, "opens a piece that is open")
		}
		return f.open(e)
	}
	if !f.there {
		return contradiction(e, "belongs to a piece that was not opened")
	}
	if e.Currency != "" && e.Currency != s.Currency.code {
		return contradiction(e, "is in another currency than its piece")
	}
	switch e.Kind {
	case EntryRename, EntryPlan, EntryListing:
		maps.Copy(s.Facts, e.Facts)
	case EntryIn, EntryOut, EntryTime:
		return f.work(e)
	case EntryStock, EntryShare, EntryCost:
		return f.cost(e)
	case EntryPost, EntryDown, EntryOffer, EntryGone, EntrySold, EntryClose, EntryReopen:
		return f.market(e)
	}
	return nil
}

func (f *folding) open(e Entry) error {
	c, err := ParseCurrency(e.Currency)
	if err != nil {
		return contradiction(e, "has no currency")
	}
	f.there = true
	f.sheet = Sheet{Piece: e.Piece, Currency: c, Status: StatusOpen, Opened: e.Day, Facts: maps.Clone(e.Facts), Costs: map[string]int64{}}
	delete(f.sheet.Facts, FactNote)
	return nil
}

// work counts time. What a helper is paid is a cost beside it.
func (f *folding) work(e Entry) error {
	s := &f.sheet
	switch e.Kind {
	case EntryIn:
		if slices.ContainsFunc(s.Running, func(c Clock) bool { return samePerson(c.Person, e.Facts[FactPerson]) }) {
			return contradiction(e, "starts a second clock of one person")
		}
		s.Running = append(s.Running, Clock{Entry: e.Number, Person: e.Facts[FactPerson], Stage: e.Facts[FactStage],
			Began: e.Facts.Number(FactBegan), Pay: e.Facts.Number(FactPay)})
		return nil
	case EntryOut:
		i := slices.IndexFunc(s.Running, func(c Clock) bool { return c.Entry == e.Target })
		if i < 0 {
			return contradiction(e, "stops a clock that does not run")
		}
		c := s.Running[i]
		s.Running = slices.Delete(s.Running, i, i+1)
		if e.Facts.Has(FactDoubtful) {
			c.Entry, c.Elapsed = e.Number, e.Facts.Number(FactElapsed)
			s.Doubtful = append(s.Doubtful, c)
			return nil
		}
		stage := c.Stage
		if e.Facts.Has(FactStage) { // it may have been corrected
			stage = e.Facts[FactStage]
		}
		s.spend(c.Person, stage, e.Seconds)
	default:
		s.spend(e.Facts[FactPerson], e.Facts[FactStage], e.Seconds)
	}
	s.pay(CostHelper, e.Amount)
	return nil
}

func samePerson(a, b string) bool { return strings.EqualFold(a, b) }

func (s *Sheet) spend(person, stage string, seconds int64) {
	if seconds == 0 {
		return
	}
	i := slices.IndexFunc(s.Work, func(w Work) bool {
		return samePerson(w.Person, person) && StageKey(w.Stage) == StageKey(stage)
	})
	if i < 0 {
		s.Work = append(s.Work, Work{Person: person, Stage: stage})
		i = len(s.Work) - 1
	}
	s.Work[i].Seconds += seconds
}

func (s *Sheet) pay(group string, amount int64) {
	if amount != 0 {
		s.Costs[group] += amount
	}
}

// cost counts what was paid or used up. Stock may bring its trip and the time it
// took to clean.
func (f *folding) cost(e Entry) error {
	s := &f.sheet
	switch e.Kind {
	case EntryStock:
		trip := e.Facts.Number(FactTrip)
		s.pay(CostTrip, trip)
		s.pay(CostStock, e.Amount-trip)
		s.Millionths += e.Millionths
		s.spend("", e.Facts[FactStage], e.Seconds)
	case EntryShare:
		cost, known := f.shares[e.Number]
		if !known {
			return contradiction(e, "takes a share of a lot that is not there")
		}
		s.pay(CostStock, cost)
		if e.Facts[FactUnit] == UnitBoardFeet {
			s.Millionths += e.Millionths
		}
	case EntryCost:
		s.pay(e.Facts[FactGroup], e.Amount)
	}
	return nil
}

// market follows the piece from the first posting to its end.
func (f *folding) market(e Entry) error {
	s := &f.sheet
	ended := s.Ended != 0
	switch e.Kind {
	case EntryReopen:
		if !ended {
			return contradiction(e, "reopens a piece that has not ended")
		}
		s.Sale, s.Ended = nil, 0
		s.Status = StatusOpen
		if s.up() {
			s.Status = StatusListed
			s.offered = append(s.offered, span{from: e.Day})
		}
		return nil
	case EntryGone:
		if i := s.offerOf(e.Facts[FactWho]); i >= 0 {
			s.Offers[i].Gone = true
		}
		return nil
	}
	if ended {
		return contradiction(e, "goes on with a piece that has ended")
	}
	switch e.Kind {
	case EntryPost:
		s.post(e)
	case EntryDown:
		s.takeDown(e)
	case EntryOffer:
		o := SheetOffer{Entry: e.Number, Who: e.Facts[FactWho], Amount: e.Amount, Day: e.Day, Hold: e.Facts.Number(FactHold)}
		if i := s.offerOf(o.Who); i >= 0 {
			s.Offers[i] = o
		} else {
			s.Offers = append(s.Offers, o)
		}
	case EntrySold:
		s.Sale = &SheetSale{Entry: e.Number, Amount: e.Amount, Fee: e.Facts.Fraction(FactFee), Fixed: e.Facts.Number(FactFixed),
			Tax: e.Facts.Number(FactTax), Day: e.Day, To: e.Facts[FactWho], Venue: e.Facts[FactVenue]}
		s.end(StatusSold, e.Day)
	case EntryClose:
		s.end(Status(e.Facts[FactOutcome]), e.Day)
	}
	return nil
}

func (s *Sheet) offerOf(who string) int {
	return slices.IndexFunc(s.Offers, func(o SheetOffer) bool { return samePerson(o.Who, who) })
}

// up reports whether the piece is on offer anywhere.
func (s *Sheet) up() bool {
	return slices.ContainsFunc(s.Posts, func(p Posting) bool { return !p.Down })
}

func (s *Sheet) post(e Entry) {
	if s.FirstPosted == 0 || e.Day < s.FirstPosted {
		s.FirstPosted = e.Day
	}
	if s.FirstAsk == 0 {
		s.FirstAsk = e.Amount
	}
	s.Ask = e.Amount
	if !s.up() {
		s.offered = append(s.offered, span{from: e.Day})
	}
	s.Status = StatusListed
	i := slices.IndexFunc(s.Posts, func(p Posting) bool { return samePerson(p.Venue, e.Facts[FactVenue]) })
	if i < 0 {
		s.Posts = append(s.Posts, Posting{Venue: e.Facts[FactVenue], First: e.Amount, Now: e.Amount, Since: e.Day, Last: e.Day})
		return
	}
	p := &s.Posts[i]
	if e.Amount < p.Now {
		p.Cuts++
	}
	p.Now, p.Last, p.Down = e.Amount, e.Day, false
}

func (s *Sheet) takeDown(e Entry) {
	i := slices.IndexFunc(s.Posts, func(p Posting) bool { return samePerson(p.Venue, e.Facts[FactVenue]) && !p.Down })
	if i < 0 {
		return
	}
	s.Posts[i].Down, s.Posts[i].Last = true, e.Day
	if !s.up() {
		s.closeSpan(e.Day)
		s.Status = StatusOpen
	}
}

func (s *Sheet) end(status Status, day int) {
	s.Status, s.Ended = status, day
	s.closeSpan(day)
}

func (s *Sheet) closeSpan(day int) {
	if n := len(s.offered); n > 0 && !s.offered[n-1].closed {
		s.offered[n-1].to, s.offered[n-1].closed = day, true
	}
}
