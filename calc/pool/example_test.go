package pool_test

import (
	"fmt"
	"time"

	"tallystick/calc/pool"
)

// Twenty makers share a bench each, at 10 to 29 dollars a board foot, and what it
// paid them an hour.
func ExampleRelease() {
	day := pool.DayOf(2026, time.March, 1)
	var records []pool.Record
	since := map[string]pool.Day{}
	for i := range 20 {
		maker := fmt.Sprint("maker ", i)
		since[maker] = day - 200
		records = append(records, pool.Record{
			ID: int64(i + 1), Maker: maker, Sold: pool.MonthOf(2025, time.September), Category: "bench",
			Values: pool.Values{}.With(pool.PricePerBoardFoot, pool.Whole(10+i)).With(pool.RealisedHourly, pool.Whole(10+i)),
		})
	}
	everybody := func(cut, maker string) uint32 { return 0 }
	for _, state := range pool.Release(day, records, since, nil, pool.StandardRules(), everybody) {
		fmt.Println(state.Cut, state.Makers, "makers")
		for _, p := range state.Figures {
			if p.Shown {
				fmt.Println(" ", p.Figure, p.Value/pool.One, "as of", p.AsOf)
			}
			if p.Middle != nil {
				fmt.Println("    middle half", p.Middle.Low/pool.One, "to", p.Middle.High/pool.One)
			}
		}
	}
	// Output:
	// all 15–24 makers
	//   price_per_board_foot 20 as of 2026-03-01
	//   realised_hourly 20 as of 2026-03-01
	//     middle half 14 to 25
	// category:bench 15–24 makers
	//   price_per_board_foot 20 as of 2026-03-01
}

func ExamplePreferredR10() {
	value := pool.Whole(130)
	fmt.Println(pool.PreferredR10(value, pool.Down)/pool.One, pool.PreferredR10(value, pool.Nearest)/pool.One, pool.PreferredR10(value, pool.Up)/pool.One)
	// Output: 125 125 160
}

func ExampleShrunk() {
	fmt.Println(pool.Shrunk(pool.Whole(50), pool.Whole(25), 8)/pool.One, "between the 50 of eight makers and the 25 of all")
	// Output: 39 between the 50 of eight makers and the 25 of all
}

func ExamplePreferred() {
	value := pool.Whole(130)
	fmt.Println(pool.Preferred(value, pool.Down)/pool.One, pool.Preferred(value, pool.Nearest)/pool.One, pool.Preferred(value, pool.Up)/pool.One)
	// Output: 125 125 140
}

func ExampleTwentieths() {
	fmt.Println(pool.Twentieths(930_000, pool.Nearest))
	// Output: 950000
}

func ExampleThreeFigures() {
	fmt.Println(pool.ThreeFigures(14_268_000))
	// Output: 14300000
}

func ExampleQuantile7() {
	quartile, _ := pool.Quantile7([]pool.Micros{180, 220, 240, 265, 310, 340, 395, 520}, 1, 4)
	fmt.Println(quartile)
	// Output: 235
}

func ExampleMedian() {
	median, _ := pool.Median([]pool.Micros{4, 1, 3, 2})
	fmt.Println(median, "is 2.5, half to even")
	// Output: 2 is 2.5, half to even
}

func ExampleRules_Stricter() {
	rules := pool.StandardRules()
	rules.Makers = 5
	fmt.Println(rules.Stricter(pool.StandardRules()))
	// Output: release rule makers is 5 and has to be at least 8
}
