package pool_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tallystick/calc/pool"
)

// live lets a drawn community live for a drawn number of months and calls see
// with each release, before the world's own account takes it in.
func live(t *rapid.T, see func(*world, []pool.State)) {
	rules := pool.StandardRules()
	// Sooner than the standard ones, so that there is more to be seen.
	rules.Every = rapid.SampledFrom([]int{1, 1, 3, 12}).Draw(t, "months between two states")
	if rapid.Bool().Draw(t, "stricter host") {
		rules.Makers, rules.Changed, rules.Remainder = 10, 7, 6
	}
	w := newWorld(rapid.Uint64().Draw(t, "seed"), rules)
	w.join(rapid.IntRange(0, 60).Draw(t, "makers"), w.day-400)
	w.sell(rapid.IntRange(0, 300).Draw(t, "sales before"), 26)
	perMonth := rapid.IntRange(0, 60).Draw(t, "sales a month")
	back := rapid.SampledFrom([]int{0, 5, 12}).Draw(t, "months a sale waits")
	for range rapid.IntRange(1, 8).Draw(t, "months") {
		w.next()
		w.join(w.rng.IntN(3), w.day-pool.Day(w.rng.IntN(60)))
		w.sell(w.rng.IntN(perMonth+1), back)
		w.withdraw(w.rng.IntN(4))
		states := w.release()
		see(w, states)
		w.take(states)
	}
}

// take notes what was renewed and of whom.
func (w *world) take(states []pool.State) {
	for _, s := range states {
		for _, p := range s.Figures {
			if p.AsOf == w.day {
				w.shown[key(s.Cut, p.Figure, "median")] = shown{w.day, w.counted(s.Cut, p.Figure)}
			}
			if p.Middle != nil && p.Middle.AsOf == w.day {
				w.shown[key(s.Cut, p.Figure, "middle")] = shown{w.day, w.counted(s.Cut, p.Figure)}
			}
		}
	}
	w.states = states
}

func key(cut pool.Cut, f pool.Figure, what string) string { return fmt.Sprint(cut, "|", f, "|", what) }

// renewals calls see with each number that a release shows for the first time.
func renewals(w *world, states []pool.State, see func(cut pool.Cut, f pool.Figure, what string, ids map[string][]int64)) {
	for _, s := range states {
		for _, p := range s.Figures {
			if p.Shown && p.AsOf == w.day {
				see(s.Cut, p.Figure, "median", w.counted(s.Cut, p.Figure))
			}
			if p.Middle != nil && p.Middle.AsOf == w.day {
				see(s.Cut, p.Figure, "middle", w.counted(s.Cut, p.Figure))
			}
		}
	}
}

func TestWhateverIsShownStandsOnAtLeastEightMakers(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		live(t, func(w *world, states []pool.State) {
			for _, s := range states {
				if s.Shown {
					require.GreaterOrEqual(t, int(s.Makers), 8, "%s", s.Cut)
				}
				for _, p := range s.Figures {
					// A kept figure needs its makers today as well.
					require.True(t, !p.Shown || len(w.counted(s.Cut, p.Figure)) >= w.fewest(s.Cut, p.Figure), "%s %s", s.Cut, p.Figure)
					require.True(t, p.Middle == nil || len(w.counted(s.Cut, p.Figure)) >= 20, "middle of %s %s", s.Cut, p.Figure)
				}
			}
			renewals(w, states, func(cut pool.Cut, f pool.Figure, what string, ids map[string][]int64) {
				least := map[string]int{"median": w.fewest(cut, f), "middle": 20}[what]
				require.GreaterOrEqual(t, len(ids), least, "%s of %s %s", what, cut, f)
			})
		})
	})
}

// fewest is how many makers a median needs.
func (w *world) fewest(cut pool.Cut, f pool.Figure) int {
	switch {
	case f == pool.SoldToAsked:
		return max(20, w.rules.Makers)
	case cut == pool.Everything:
		return max(8, w.rules.Makers)
	}
	return max(12, w.rules.Makers)
}

func TestTwoStatesOfAFigureAreAsFarApartAsTheRulesSay(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		live(t, func(w *world, states []pool.State) {
			renewals(w, states, func(cut pool.Cut, f pool.Figure, what string, _ map[string][]int64) {
				if last, ok := w.shown[key(cut, f, what)]; ok {
					require.GreaterOrEqual(t, int(w.day.Month()-last.asOf.Month()), w.rules.Every, "%s of %s %s", what, cut, f)
				}
			})
		})
	})
}

func TestTwoSuccessiveFiguresDifferInAtLeastFiveMakers(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		live(t, func(w *world, states []pool.State) {
			renewals(w, states, func(cut pool.Cut, f pool.Figure, what string, ids map[string][]int64) {
				if last, ok := w.shown[key(cut, f, what)]; ok {
					require.GreaterOrEqual(t, changedMakers(last.ids, ids), max(5, w.rules.Changed), "%s of %s %s", what, cut, f)
				}
			})
			// The price is in every record, so its own renewals are the cut's.
			for _, s := range states {
				last, before := w.shown[key(s.Cut, pool.PricePerBoardFoot, "median")]
				if s.Shown && s.AsOf == w.day && before {
					require.GreaterOrEqual(t, changedMakers(last.ids, w.counted(s.Cut, pool.PricePerBoardFoot)), max(5, w.rules.Changed))
				}
			}
		})
	})
}

func TestWhatAParentShowsBeyondItsChildrenComesFromNobodyOrFromFive(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		live(t, func(w *world, states []pool.State) {
			cuts := byCut(states)
			renewals(w, states, func(cut pool.Cut, f pool.Figure, what string, ids map[string][]int64) {
				if cut != pool.Everything {
					return
				}
				for _, prefix := range []string{"category:", "region:"} {
					inside := map[int64]bool{}
					for child, s := range cuts {
						p, ok := s.Figure(f)
						if !strings.HasPrefix(string(child), prefix) || !ok || what == "middle" && p.Middle == nil {
							continue
						}
						asOf := p.AsOf
						if what == "middle" {
							asOf = p.Middle.AsOf
						}
						in := w.shown[key(child, f, what)].ids
						if asOf == w.day {
							in = w.counted(child, f)
						}
						for _, own := range in {
							for _, id := range own {
								inside[id] = true
							}
						}
					}
					rest := 0
					for _, own := range ids {
						if slices.ContainsFunc(own, func(id int64) bool { return !inside[id] }) {
							rest++
						}
					}
					require.True(t, rest == 0 || rest >= max(5, w.rules.Remainder), "%s of %s: %d makers beyond %s", what, f, rest, prefix)
				}
			})
		})
	})
}

func TestWhichFiguresAreShownDoesNotDependOnTheirValues(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		live(t, func(w *world, states []pool.State) {
			other := *w
			other.records = slices.Clone(w.records)
			for i, r := range other.records {
				for _, f := range pool.Figures(pool.Everything) {
					if _, has := r.Values.Of(f); has {
						r.Values = r.Values.With(f, pool.Micros(w.rng.Int64()))
					}
				}
				other.records[i] = r
			}
			other.states = slices.Clone(w.states)
			for i, s := range other.states {
				s.Shows = slices.Clone(s.Shows)
				for j := range s.Shows {
					s.Shows[j].Low, s.Shows[j].High = pool.Micros(w.rng.Int64()), pool.Micros(w.rng.Int64())
				}
				other.states[i] = s
			}
			require.Equal(t, bones(states), bones(other.release()))
		})
	})
}

func TestTheSameRecordsInAnyOrderGiveTheSameRelease(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		live(t, func(w *world, states []pool.State) {
			require.True(t, sortedByCut(states))
			turned := slices.Clone(w.states)
			slices.Reverse(turned)
			again := pool.Release(w.day, w.shuffled(), w.since, turned, w.rules, w.subsample)
			require.Equal(t, states, again)
		})
	})
}

func TestAReleaseOnTopOfItselfKeepsEverything(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		live(t, func(w *world, states []pool.State) {
			for _, again := range pool.Release(w.day, w.records, w.since, states, w.rules, w.subsample) {
				was := byCut(states)[again.Cut]
				for _, p := range was.Figures {
					if p.Shown {
						now, ok := again.Figure(p.Figure)
						require.True(t, ok, "%s %s", again.Cut, p.Figure)
						require.Equal(t, p.Value, now.Value)
						require.Equal(t, p.AsOf, now.AsOf)
					}
				}
			}
		})
	})
}

func TestWhoeverIsOutOfACutStaysOutOfIt(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		live(t, func(w *world, states []pool.State) {
			for _, s := range states {
				for _, show := range s.Shows {
					for _, e := range show.Ledger {
						require.Less(t, w.subsample(string(s.Cut), e.Maker), w.rules.Share, "%s in %s", e.Maker, s.Cut)
					}
				}
			}
		})
	})
}

func TestASmallCommunityIsToldOfEverythingOnceAQuarter(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		live(t, func(w *world, states []pool.State) {
			if w.active() >= w.rules.MinActive {
				return
			}
			for _, s := range states {
				if s.Cut != pool.Everything {
					require.False(t, s.Shown, "%s", s.Cut)
					require.Equal(t, pool.TooFewActive, s.Reason)
				} else if s.AsOf == w.day {
					last := byCut(w.states)[pool.Everything]
					for _, show := range last.Shows {
						if show.Series == "whole" {
							require.GreaterOrEqual(t, int(w.day.Month()-show.AsOf.Month()), 3)
						}
					}
				}
			}
		})
	})
}

func TestAMiddleHalfIsRenewedOnceAQuarterAndHoldsItsMedian(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		live(t, func(w *world, states []pool.State) {
			renewals(w, states, func(cut pool.Cut, f pool.Figure, what string, _ map[string][]int64) {
				if what != "middle" {
					return
				}
				if last, ok := w.shown[key(cut, f, what)]; ok {
					require.GreaterOrEqual(t, int(w.day.Month()-last.asOf.Month()), 3)
				}
				p, _ := byCut(states)[cut].Figure(f)
				require.Equal(t, w.day, p.AsOf, "it comes with its median")
				require.LessOrEqual(t, p.Middle.Low, p.Value)
				require.GreaterOrEqual(t, p.Middle.High, p.Value)
			})
		})
	})
}

func TestAThousandSalesOfOneMakerMoveAFigureNoMoreThanOneVote(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		w := newWorld(rapid.Uint64().Draw(t, "seed"), pool.StandardRules())
		w.join(rapid.IntRange(20, 50).Draw(t, "makers"), w.day-400)
		w.sell(300, 12)
		w.since["flooder"] = w.day - 400
		flood := pool.Record{
			ID: 2_000_000, Maker: "flooder", Sold: w.day.Month() - 6, Category: "bench", Region: "coast",
			Values: pool.Values{}.With(pool.PricePerBoardFoot, pool.Whole(rapid.SampledFrom([]int{1, 400, 1_000_000}).Draw(t, "price"))),
		}
		w.records = append(w.records, flood)
		once := w.release()
		for i := range 999 {
			flood.ID = int64(2_000_001 + i)
			w.records = append(w.records, flood)
		}
		many := w.release()
		for i, s := range once {
			require.Equal(t, s.Line, many[i].Line, "%s", s.Cut)
		}
	})
}

// Accounts that share a shop are one maker in all that is counted: as many again,
// each in the shop of another, let nothing more be shown.
func TestASecondAccountOfAShopMakesNoMaker(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		w := newWorld(rapid.Uint64().Draw(t, "seed"), pool.StandardRules())
		w.join(rapid.IntRange(1, 7).Draw(t, "shops"), w.day-400)
		w.sell(200, 12)
		for i, r := range w.records {
			r.Shop = r.Maker
			w.records[i] = r
			for n := range 3 {
				again := r
				again.ID, again.Maker = r.ID+int64(2_000_000*(n+1)), fmt.Sprint(r.Maker, " again ", n)
				w.since[again.Maker] = w.day - 400
				w.records = append(w.records, again)
			}
		}
		for _, s := range w.release() {
			require.False(t, s.Shown, "%s: %d makers in all", s.Cut, w.makers)
		}
	})
}

// Joining a shop or leaving it is no change of records: it renews nothing.
func TestJoiningAShopRenewsNothing(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		rules := pool.StandardRules()
		rules.Every = 1
		w := newWorld(rapid.Uint64().Draw(t, "seed"), rules)
		w.join(60, w.day-400)
		w.sell(300, 12)
		w.states = w.release()
		for i, r := range w.records {
			if r.Maker < "maker 030" {
				w.records[i].Shop = r.Maker[:len(r.Maker)-1]
			}
		}
		for _, s := range w.release() {
			for _, p := range s.Figures {
				was, shown := byCut(w.states)[s.Cut].Figure(p.Figure)
				require.True(t, !p.Shown || shown && p.Value == was.Value, "%s %s", s.Cut, p.Figure)
			}
		}
	})
}

// The laws above say what is not shown; this is that something is.
func TestACommunityOfFortyMakersIsShownEachKindOfFigure(t *testing.T) {
	t.Parallel()
	rules := pool.StandardRules()
	rules.Every = 1
	w := newWorld(7, rules)
	w.join(40, w.day-400)
	w.sell(300, 20)
	counts := map[string]int{}
	for range 12 {
		w.next()
		w.sell(15, 4)
		states := w.release()
		renewals(w, states, func(_ pool.Cut, f pool.Figure, what string, _ map[string][]int64) {
			counts[f.String()+" "+what]++
		})
		w.take(states)
	}
	for _, f := range pool.Figures(pool.Everything) {
		assert.Positive(t, counts[f.String()+" median"], "%s", f)
	}
	assert.Positive(t, counts["realised_hourly middle"])
	assert.Zero(t, counts["days_to_sell middle"]+counts["price middle"]+counts["price_per_board_foot middle"])
	everything := byCut(w.states)[pool.Everything]
	assert.True(t, everything.Shown)
	assert.Equal(t, pool.Makers25, everything.Makers)
}
