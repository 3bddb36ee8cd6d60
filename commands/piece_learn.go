package commands

import (
	"context"
	"maps"
	"math/big"
	"slices"
	"strconv"
	"time"

	"tallystick/calc/measure"
	"tallystick/calc/price"
	"tallystick/store"
)

// learnFrom is how many sold pieces of a kind it takes to say anything of the kind.
const learnFrom = 3

// learnShown is how many of them are listed.
const learnShown = 10

func (h house) pieceLearn() Command {
	return Command{
		Path:    "piece learn",
		Summary: "what your own sold pieces of a kind paid, and where the hours went",
		Private: true,
		Options: []Option{{Name: "category", Summary: "the kind of piece; else the list of your kinds", Kind: Word, Example: "bench",
			MaxLength: price.FactLimit(price.FactCategory), Complete: h.completeOwnCategories}},
		Examples: []string{"/piece learn", "/piece learn category:bench"},
		Run:      h.answerPieceLearn,
	}
}

func (h house) completeOwnCategories(ctx context.Context, req Request, typed string) ([]Choice, error) {
	var all []Choice
	err := h.Store.ReadBook(ctx, whoAsks(req), func(b *store.Book) error {
		kinds, err := b.Categories(ctx)
		for _, k := range slices.Sorted(maps.Keys(kinds)) {
			if k != "" {
				all = append(all, Choice{Value: k, Label: oneLine(k)})
			}
		}
		return err
	})
	return matching(all, typed), err
}

func (h house) answerPieceLearn(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	var reply Reply
	err = h.Store.ReadBook(ctx, whoAsks(req), func(b *store.Book) error {
		if !in.has("category") {
			reply, err = kindsReply(ctx, in, b)
			return err
		}
		category := in.ownCategory()
		pieces, err := b.OfCategory(ctx, category)
		if err != nil {
			return err
		}
		if len(pieces) == 0 {
			return in.noSuchKind(ctx, b)
		}
		l := learning{in: in, category: category}
		for _, p := range pieces {
			if err := l.add(ctx, b, p); err != nil {
				return err
			}
		}
		reply, err = l.reply()
		return err
	})
	return reply, err
}

func (in *reading) noSuchKind(ctx context.Context, b *store.Book) error {
	kinds, err := b.Categories(ctx)
	if err != nil {
		return err
	}
	m := &Mistake{Option: "category", Given: measure.Quote(in.text("category")), Problem: "is the kind of none of your pieces", Try: "/piece learn"}
	if near, ok := closest(in.ownCategory(), slices.Sorted(maps.Keys(kinds))); ok && near != "" {
		m.Try = near
	}
	return m
}

// kindsReply counts the pieces of each kind, sold and not.
func kindsReply(ctx context.Context, in *reading, b *store.Book) (Reply, error) {
	kinds, err := b.Categories(ctx)
	if err != nil {
		return Reply{}, err
	}
	reply := Reply{Title: "Your kinds of piece", Private: true,
		Notes: []string{"From three sold pieces of a kind on: /piece learn category:" + in.exampleKind(kinds) + "."}}
	if len(kinds) == 0 {
		reply.Title, reply.Notes = "Nothing to learn from yet", []string{"To begin a piece: /piece open name:Harbour bench category:bench"}
		return reply, nil
	}
	t := Table{Columns: []string{"kind", "sold", "not sold"}}
	for _, k := range slices.Sorted(maps.Keys(kinds)) {
		pieces, err := b.OfCategory(ctx, k)
		if err != nil {
			return Reply{}, err
		}
		sold := 0
		for _, p := range pieces {
			if p.Status == price.StatusSold {
				sold++
			}
		}
		name := oneLine(k)
		if name == "" {
			name = "no kind"
		}
		t.Rows = append(t.Rows, []string{name, strconv.Itoa(sold), strconv.Itoa(len(pieces) - sold)})
	}
	reply.Tables = []Table{t}
	return reply, nil
}

func (in *reading) exampleKind(kinds map[string]int) string {
	for _, k := range slices.Sorted(maps.Keys(kinds)) {
		if k != "" {
			return oneLine(k)
		}
	}
	return "bench"
}

// learning adds the pieces of one kind up.
type learning struct {
	in             *reading
	category       string
	sold, unsold   int
	elsewhere      int // sold in another currency
	currency       price.Currency
	rows           [][]string
	ratios, hourly []*big.Rat
	left           *big.Rat
	seconds        int64
	stages         []price.Work
}

func (l *learning) add(ctx context.Context, b *store.Book, p store.Piece) error {
	if p.Status != price.StatusSold {
		l.unsold++
		return nil
	}
	s, err := b.Sheet(ctx, p.Number)
	if err != nil {
		return err
	}
	if l.sold == 0 {
		l.currency, l.left = s.Currency, new(big.Rat)
	}
	if s.Currency != l.currency {
		l.elsewhere++
		return nil
	}
	l.sold++
	row := []string{strconv.Itoa(p.Number), moneyText(s.Money(s.Sale.Amount), l.in.req.Locale), "", ""}
	if job := s.Job(); job.Hours > 0 {
		at := s.Money(s.Sale.Amount)
		hourly, err := job.Hourly(at)
		if err != nil {
			return err
		}
		left, err := job.Left(at)
		if err != nil {
			return err
		}
		row[2] = moneyText(hourly, l.in.req.Locale)
		l.hourly = append(l.hourly, rat(hourly))
		l.left.Add(l.left, rat(left))
		l.seconds += s.OwnSeconds()
	}
	if ratio, ok := estimateRatio(s); ok {
		l.ratios = append(l.ratios, ratio)
		row[3] = measure.Decimal(new(big.Rat).Mul(ratio, big.NewRat(100, 1)), 0) + " %"
	}
	l.rows = append(l.rows, row)
	for _, w := range s.StageSeconds() {
		i := slices.IndexFunc(l.stages, func(o price.Work) bool { return price.StageKey(o.Stage) == price.StageKey(w.Stage) })
		if i < 0 {
			l.stages = append(l.stages, price.Work{Stage: w.Stage})
			i = len(l.stages) - 1
		}
		l.stages[i].Seconds += w.Seconds
	}
	return nil
}

func (l *learning) reply() (Reply, error) {
	name := oneLine(l.category)
	counts := plural(l.sold, "sold piece") + " of the kind " + name + ", and " + strconv.Itoa(l.unsold) + " not sold"
	reply := Reply{Title: "What your pieces paid: " + name, Private: true}
	if l.sold < learnFrom {
		reply.Title = "Not enough yet: " + name
		reply.Notes = []string{counts + ". From three sold ones on I can say what they paid and where the hours went."}
		return reply, nil
	}
	reply.Figures = append(reply.Figures, countFigure("sold_pieces", "Sold", l.sold, "pieces"), countFigure("unsold_pieces", "Not sold", l.unsold, "pieces"))
	if l.seconds > 0 {
		all := price.Job{Hours: time.Duration(l.seconds) * time.Second}
		hourly, err := all.Hourly(moneyOfRat(l.left, l.currency))
		if err != nil {
			return Reply{}, err
		}
		reply.Figures = append(reply.Figures, hourlyFigure("realised_hourly", "Realised rate, all hours together", hourly, l.in.req),
			hourlyFigure("realised_hourly_median", "Realised rate, the middle piece", moneyOfRat(median(l.hourly), l.currency), l.in.req))
	}
	if ratio, ok := price.RunningMedian(l.ratios); ok {
		reply.Figures = append(reply.Figures, ratioFigure("estimate_ratio", "Time taken, of the estimate: median of the last "+strconv.Itoa(min(len(l.ratios), price.RecentRatios)), ratio))
	}
	reply.Tables = []Table{{Title: "Sold, the newest last", Columns: []string{"no.", "sold", "an hour", "of estimate"}, Rows: l.rows[max(0, len(l.rows)-learnShown):]}, l.stageTable()}
	reply.Notes = []string{counts + ".", "Only your own pieces count here, and nobody else sees them. Pieces that do not sell earn nothing, so the true rate of the kind is lower than that of the sold ones."}
	if l.elsewhere > 0 {
		reply.Notes = append(reply.Notes, plural(l.elsewhere, "sold piece")+" in another currency left out: I never convert money.")
	}
	if len(l.ratios) == 0 {
		reply.Notes = append(reply.Notes, "No estimates yet: give one with /piece open estimate:12h and I can set it against the hours.")
	}
	return reply, nil
}

// stageTable shows where the hours went, the longest stage first.
func (l *learning) stageTable() Table {
	slices.SortStableFunc(l.stages, func(a, b price.Work) int { return int(min(max(b.Seconds-a.Seconds, -1), 1)) })
	var sum int64
	for _, w := range l.stages {
		sum += w.Seconds
	}
	t := Table{Title: "Where the hours went, helpers included", Columns: []string{"stage", "time", "share"}}
	for _, w := range l.stages[:min(len(l.stages), learnShown)] {
		stage := oneLine(w.Stage)
		if stage == "" {
			stage = "no stage"
		}
		t.Rows = append(t.Rows, []string{stage, secondsText(w.Seconds), measure.Decimal(big.NewRat(100*w.Seconds, sum), 0) + " %"})
	}
	return t
}

// median is the middle of some values, of an even number the mean of the two.
func median(values []*big.Rat) *big.Rat {
	sorted := slices.SortedFunc(slices.Values(values), (*big.Rat).Cmp)
	n := len(sorted)
	if n%2 == 1 {
		return sorted[n/2]
	}
	mean := new(big.Rat).Add(sorted[n/2-1], sorted[n/2])
	return mean.Quo(mean, big.NewRat(2, 1))
}

// moneyOfRat is an exact amount rounded half to even to the smallest coin.
func moneyOfRat(r *big.Rat, c price.Currency) price.Money {
	m, err := price.CostOf(r, price.NewMoney(pow10(c.Digits()), c))
	if err != nil {
		return price.NewMoney(0, c)
	}
	return m
}

func pow10(n int32) int64 {
	p := int64(1)
	for range n {
		p *= 10
	}
	return p
}
