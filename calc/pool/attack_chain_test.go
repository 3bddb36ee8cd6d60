package pool_test

import (
	"math"
	"math/rand/v2"
	"slices"
)

// How much an explanation loses by one figure, and by one event, that it does not
// explain. Not infinite, so that the chain gets from one explanation to another.
const (
	figureLoss = 4.0
	eventLoss  = 3.0
	mostMisses = 64
)

// A chain walks over who counts in a cut.
type chain struct {
	secret secret
	hints  []hint
	events []event
	at     crowd
	upTo   []float64 // the sum of the prior before each cell
	powers [mostMisses]float64
	misses misses // of the last state looked at
}

// misses is how many looks each cell misses: steps up and down along the grid.
type misses struct {
	first int
	edges []edge
}

type edge struct{ cell, by int }

// each calls see with each stretch of cells that miss alike.
func (m misses) each(cells int, see func(from, to, missed int)) {
	from, missed := 0, m.first
	for _, e := range m.edges {
		if e.cell > from {
			see(from, e.cell, missed)
			from = e.cell
		}
		missed += e.by
	}
	if from < cells {
		see(from, cells, missed)
	}
}

// weigh gives the log of how well a state explains all that was published, and
// leaves the misses by cell.
func (c *chain) weigh(state crowd) float64 {
	base, s := 0, &c.secret
	// A look that the missing record is in misses everywhere but in its cells.
	c.misses.first, c.misses.edges = 0, c.misses.edges[:0]
	for i := range c.hints {
		h := &c.hints[i]
		n := state.both(h.here)
		in := h.in && state.has(s.maker)
		if in {
			n--
		}
		if n == 0 && !in {
			continue
		}
		j, rest := n*h.k/4, float64(n*h.k%4)/4
		if !in {
			j, rest = (n-1)*h.k/4, float64((n-1)*h.k%4)/4
		}
		before, at, after := math.Inf(-1), math.Inf(1), math.Inf(1)
		for place, i := 0, 0; i < len(h.votes) && place <= j+1; i++ {
			v := h.votes[i]
			if !state.has(v.maker) || in && v.maker == s.maker {
				continue
			}
			switch place - j {
			case -1:
				before = v.value
			case 0:
				at = v.value
			case 1:
				after = v.value
			}
			place++
		}
		if !in {
			q := at
			if rest > 0 {
				q += rest * (after - at)
			}
			if q < h.low || q > h.high {
				base++
			}
			continue
		}
		from, to := span(before, at, after, rest, h.low, h.high)
		if len(h.others) > 0 {
			a, b, d, r := around(h.others, 2)
			// to is the least vote that is too much.
			from, to = span(a, b, d, r, from, math.Nextafter(to, math.Inf(-1)))
		}
		least, most := s.cells(from/h.factor, to/h.factor)
		c.misses.first++
		if least <= most {
			c.misses.edges = append(c.misses.edges, edge{least, -1}, edge{most + 1, 1})
		}
	}
	slices.SortFunc(c.misses.edges, func(a, b edge) int { return a.cell - b.cell })
	log := math.Log(c.sum(c.misses)) - figureLoss*float64(base)
	for _, e := range c.events {
		if !e.fits(state) {
			log -= eventLoss
		}
	}
	return log
}

// sum is the weight of the whole grid.
func (c *chain) sum(m misses) (sum float64) {
	m.each(len(c.secret.prior), func(from, to, missed int) {
		sum += (c.upTo[to] - c.upTo[from]) * c.powers[min(missed, mostMisses-1)]
	})
	return sum
}

// believe walks and gives how likely each number is after what was published of
// one cut.
func (m *market) believe(v view, s secret, steps int, rng *rand.Rand) []float64 {
	c := &chain{secret: s, hints: m.hints(v, s), events: v.events, upTo: make([]float64, len(s.prior)+1)}
	for g, p := range s.prior {
		c.upTo[g+1] = c.upTo[g] + p
	}
	for i := range c.powers {
		c.powers[i] = math.Exp(-figureLoss * float64(i))
	}
	odds := math.Log(0.8 / 0.2)
	for _, i := range v.makers {
		if rng.Float64() < 0.8 {
			c.at.flip(i)
		}
	}
	belief := make([]float64, len(s.prior))
	now := c.weigh(c.at)
	kept := misses{c.misses.first, slices.Clone(c.misses.edges)}
	for step := range steps {
		next := c.at
		change := 0.0
		flips := 1 + rng.IntN(2)
		if rng.IntN(4) == 0 && slices.Contains(v.makers, s.maker) {
			change = flip(&next, s.maker, odds)
		} else {
			for range flips {
				change += flip(&next, v.makers[rng.IntN(len(v.makers))], odds)
			}
		}
		if then := c.weigh(next); math.Log(rng.Float64()) < then-now+change {
			c.at, now = next, then
			kept.first, kept.edges = c.misses.first, append(kept.edges[:0], c.misses.edges...)
		}
		if step < steps/4 || step%4 != 0 {
			continue
		}
		sum := c.sum(kept)
		kept.each(len(belief), func(from, to, missed int) {
			weight := c.powers[min(missed, mostMisses-1)] / sum
			for g := from; g < to; g++ {
				belief[g] += weight * s.prior[g]
			}
		})
	}
	return belief
}

func flip(c *crowd, i int, odds float64) float64 {
	c.flip(i)
	if c.has(i) {
		return odds
	}
	return -odds
}

// best gives the number whose surroundings of the given share either way are
// likeliest, and how likely they are.
func (s secret) best(belief []float64, within float64) (number, sure float64) {
	reach := int(math.Log1p(within) / gridStep)
	total, run := 0.0, make([]float64, len(belief)+1)
	for g, p := range belief {
		total += p
		run[g+1] = total
	}
	top, place := -1.0, 0
	for g := range belief {
		mass := run[min(g+reach+1, len(belief))] - run[max(g-reach, 0)]
		if mass > top {
			top, place = mass, g
		}
	}
	return s.number(place), top / total
}
