package pool_test

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"tallystick/calc/pool"
)

// The market of the attack: what each invented maker sold, in which month, and
// what the releases said about it. Log price per board foot is the category's
// level, the maker's own and the piece's: sd 0.2 and 0.4, together 0.45.
const (
	makerSpread = 0.20
	pieceSpread = 0.40
	saleMonths  = 30
	// A missing ratio of sold to asked is 1 this often, else about normal.
	fullPrice               = 0.35
	askedLevel, askedSpread = 0.88, 0.06
	hourlyLevel             = 20.0
	hourlySpread            = 0.45
)

var (
	marketStart      = pool.MonthOf(2022, time.January)
	marketCategories = []string{"bench", "bookcase", "box", "planter", "shelf", "stool"}
	categoryShare    = []float64{0.25, 0.15, 0.2, 0.12, 0.13, 0.15}
	categoryLevel    = []float64{2.9, 3.2, 3.9, 2.6, 3.1, 3.5} // log price per board foot
	categoryFeet     = []float64{2.6, 3.3, 0.9, 2.2, 1.8, 1.2} // log board feet
	categoryTop      = []bool{true, false, false, false, true, true}
	marketRegions    = []string{"coast", "hills", "lakes", "valley"}
	regionShare      = []float64{0.35, 0.3, 0.2, 0.15}
)

// An offer is one sale with what no record says: its size, and the unrounded
// price per board foot.
type offer struct {
	record    pool.Record
	maker     int
	category  int
	month     int // from marketStart
	feet, top float64
	perFoot   float64
}

// A market is one invented community over its whole life.
type market struct {
	seed     uint64
	makers   int
	offers   []offer
	since    map[string]pool.Day
	days     []pool.Day
	releases [][]pool.State
	rules    pool.Rules
	by       listing
	// level is the log price per board foot of each category: no community's is at
	// the same distance from a preferred number.
	level []float64
	life  *world
}

// A listing is how a community's log is cut beside Everything.
type listing string

const (
	byCategory listing = "category"
	byRegion   listing = "region"
	byBoth     listing = "category and region"
)

// filed gives the record as the listing knows it.
func (l listing) filed(r pool.Record) pool.Record {
	switch l {
	case byCategory:
		r.Region = ""
	case byRegion:
		r.Category = ""
	}
	return r
}

// cuts gives the cuts that the record is in.
func (l listing) cuts(r pool.Record) []pool.Cut {
	r = l.filed(r)
	list := []pool.Cut{pool.Everything}
	if r.Category != "" {
		list = append(list, pool.CategoryCut(r.Category))
	}
	if r.Region != "" {
		list = append(list, pool.RegionCut(r.Region))
	}
	return list
}

func makerName(i int) string { return fmt.Sprintf("maker %03d", i) }

func draw(rng *rand.Rand, shares []float64) int {
	u := rng.Float64()
	for i, s := range shares {
		if u -= s; u < 0 {
			return i
		}
	}
	return len(shares) - 1
}

// newMarket lets so many makers share so many sales, and releases each month.
func newMarket(seed uint64, makers, sales int, by listing, rules pool.Rules) *market {
	rng := rand.New(rand.NewPCG(seed, 20))
	m := &market{seed: seed, makers: makers, since: map[string]pool.Day{}}
	type maker struct {
		level  float64
		region int
		weight float64
		likes  int
	}
	for _, level := range categoryLevel {
		m.level = append(m.level, level+0.3*(rng.Float64()-0.5))
	}
	people, total := make([]maker, makers), 0.0
	for i := range people {
		people[i] = maker{makerSpread * rng.NormFloat64(), draw(rng, regionShare), math.Exp(0.6 * rng.NormFloat64()), draw(rng, categoryShare)}
		total += people[i].weight
		m.since[makerName(i)] = (marketStart - 2).First()
	}
	weights := make([]float64, makers)
	for i, p := range people {
		weights[i] = p.weight / total
	}
	for n := range sales {
		i := n // everybody sells once before anybody sells twice
		if n >= makers {
			i = draw(rng, weights)
		}
		o := offer{maker: i, category: people[i].likes, month: rng.IntN(saleMonths)}
		if rng.Float64() < 0.5 {
			o.category = draw(rng, categoryShare)
		}
		o.feet = math.Exp(categoryFeet[o.category] + 0.4*rng.NormFloat64())
		o.perFoot = math.Exp(m.level[o.category] + people[i].level + pieceSpread*rng.NormFloat64())
		v := pool.Values{}.With(pool.PricePerBoardFoot, kept(o.perFoot)).With(pool.Price, kept(o.perFoot*o.feet))
		if categoryTop[o.category] && rng.Float64() < 0.9 {
			o.top = o.feet * math.Exp(-1.1+0.3*rng.NormFloat64())
			v = v.With(pool.PricePerSquareFoot, kept(o.perFoot*o.feet/o.top))
		}
		if rng.Float64() < 0.7 {
			v = v.With(pool.RealisedHourly, kept(hourlyLevel*math.Exp(hourlySpread*rng.NormFloat64())))
		}
		if rng.Float64() < 0.8 {
			v = v.With(pool.SoldToAsked, kept(soldToAsked(rng)))
		}
		if rng.Float64() < 0.8 {
			v = v.With(pool.DaysToSell, pool.Whole(int(math.Exp(2.5+rng.NormFloat64()))))
		}
		region := people[i].region
		if rng.Float64() < 0.1 {
			region = draw(rng, regionShare)
		}
		o.record = pool.Record{ID: int64(rng.Uint64() >> 1), Maker: makerName(i), Sold: marketStart + pool.Month(o.month),
			Category: marketCategories[o.category], Region: marketRegions[region], Values: v}
		m.offers = append(m.offers, o)
	}
	slices.SortFunc(m.offers, func(a, b offer) int {
		return cmp.Or(cmp.Compare(a.month, b.month), cmp.Compare(a.record.ID, b.record.ID))
	})
	m.release(by, rules)
	return m
}

func soldToAsked(rng *rand.Rand) float64 {
	if rng.Float64() < fullPrice {
		return 1
	}
	return min(max(askedLevel+askedSpread*rng.NormFloat64(), 0.6), 0.999)
}

func kept(v float64) pool.Micros { return pool.ThreeFigures(pool.Micros(math.Round(v * 1e6))) }

// release makes the release of each month until the last sale has counted a
// good while.
func (m *market) release(by listing, rules pool.Rules) {
	m.by, m.rules, m.life = by, rules, &world{secret: m.seed, draws: map[string]uint32{}}
	var states []pool.State
	for month := 3; month < saleMonths+8; month++ {
		day := (marketStart + pool.Month(month)).First()
		var records []pool.Record
		for _, o := range m.offers {
			if o.month < month {
				records = append(records, by.filed(o.record))
			}
		}
		states = pool.Release(day, records, m.since, states, rules, m.life.subsample)
		m.days = append(m.days, day)
		m.releases = append(m.releases, states)
	}
}

// counts says whether a sale counts on the day, by the dates alone.
func counts(o offer, day pool.Day) bool {
	rules := pool.StandardRules()
	return o.record.Sold.Last() < day-pool.Day(rules.Age) && !rules.Expired(o.record.Sold, day)
}

func inCut(r pool.Record, cut pool.Cut) bool {
	return cut == pool.Everything || cut == pool.CategoryCut(r.Category) || cut == pool.RegionCut(r.Region)
}
