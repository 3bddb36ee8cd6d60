package price_test

import (
	"fmt"
	"math/big"
	"time"

	"tallystick/calc/measure"
	"tallystick/calc/price"
)

// must is for examples alone, where every text is right.
func must[T any](value T, err error) T {
	if err != nil {
		panic(err)
	}
	return value
}

func dollars(text string) price.Money {
	m, _, err := price.ParseSum(text, must(price.ParseCurrency("USD")))
	return must(m, err)
}

func ExampleJob_Target() {
	job := price.Job{Cost: dollars("84 + 11.50 + 6.20 + 23.20"), Fixed: dollars("0.30"), Fee: must(price.ParseFraction("2.9%")),
		Hours: 14*time.Hour + 15*time.Minute}
	fmt.Println(must(job.BreakEven()))
	fmt.Println(must(job.Target(dollars("25"))))
	fmt.Println(must(job.Stepped(dollars("25"), must(price.ParseFraction("12%")), dollars("5"))))
	fmt.Println(must(job.Hourly(dollars("400"))))
	// Output:
	// 128.94 USD
	// 495.83 USD
	// 565.00 USD
	// 18.47 USD
}

func ExampleJob_Statement() {
	job := price.Job{Cost: dollars("124.90"), Fee: must(price.ParseFraction("2.9%")), Tax: must(price.ParseTax("13%")),
		TaxIncluded: true, FeeOnTax: true, Hours: 14 * time.Hour}
	s := must(job.Statement(dollars("565")))
	fmt.Println(s.Paid, s.Tax, s.Fee, s.Left)
	// Output: 565.00 USD 65.00 USD 16.38 USD 358.72 USD
}

func ExampleCounter() {
	counter, ok, err := price.Counter(dollars("400"), dollars("480"), dollars("393.10"), dollars("5"))
	fmt.Println(must(counter, err), ok)
	// Output: 440.00 USD true
}

func ExampleJob_BudgetFor() {
	job := price.Job{Cost: dollars("40.90"), Fee: must(price.ParseFraction("2.9%")), Hours: 9 * time.Hour}
	b := must(job.BudgetFor(dollars("430"), dollars("25"), big.NewRat(29, 2), must(price.ParseFraction("30%"))))
	fmt.Println(b.Total, b.PerFoot)
	// Output: 151.63 USD 7.32 USD
}

func ExampleBatch_Each() {
	b := price.Batch{Piece: price.Job{Cost: dollars("38.50"), Hours: 6 * time.Hour}, Count: 8, Learning: must(price.ParseLearning("85%"))}
	fmt.Println(must(b.Hours()), must(b.Each(dollars("25"), price.Fraction{}, price.Money{})))
	// Output: 35h37m0s 149.81 USD
}

func ExampleMileage_Cost() {
	m, _ := price.MileageFor(price.UnitedStates, 2026, time.March)
	fmt.Println(must(m.Cost(32*price.Mile, 0)))
	// Output: 23.20 USD
}

func ExampleParseSpan() {
	s := must(price.ParseSpan("30-45 min"))
	fmt.Println(s.Low, s.High)
	// Output: 30m0s 45m0s
}

func ExampleContent_Part() {
	tin := must(price.ParseContent("500 ml", measure.Inch))
	fmt.Println(must(price.CostOf(must(tin.Part("125 ml")), dollars("18.90"))))
	// Output: 4.72 USD
}

func ExampleAsset_Used() {
	planer := price.Asset{Cost: dollars("620"), Resale: dollars("120")}
	fmt.Println(must(planer.Used(big.NewRat(7, 2), big.NewRat(1000, 1))))
	// Output: 1.75 USD
}

func ExampleLadder() {
	fmt.Println(price.Ladder(dollars("128.94"), dollars("563.45"), 4))
	// Output: [200.00 USD 300.00 USD 400.00 USD 500.00 USD]
}
