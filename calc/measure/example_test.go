package measure_test

import (
	"fmt"
	"math/big"
	"time"

	"tallystick/calc/measure"
)

func ExampleParseLength() {
	for _, text := range []string{`3' 3-1/4"`, "1¾", "2,5 cm", `3'14"`} {
		length, err := measure.ParseLength(text, measure.Inch)
		if err != nil {
			fmt.Println(err)
			continue
		}
		fmt.Println(length.Metric())
	}
	// Output:
	// 996.95 mm
	// 44.45 mm
	// 25 mm
	// "3'14"" has 12 inches or more behind the feet, and may be 4'2" or a slip; try 4'2"
}

func ExampleLength_Tape() {
	length, _ := measure.ParseLength("990 mm", measure.Inch)
	text, off := length.Tape(16)
	fmt.Println(text, "off by", off.Metric())
	// Output: 39 in off by 0.6 mm
}

func ExampleLength_TapeFeet() {
	length, _ := measure.ParseLength("2349.5 mm", measure.Inch)
	text, off := length.TapeFeet(16)
	fmt.Println(text, off == 0)
	// Output: 7' 8-1/2" true
}

func ExampleLength_Metric() {
	fmt.Println((measure.Inch / 64).Metric())
	// Output: 0.396875 mm
}

func ExampleLength_MetricTo() {
	text, off := (measure.Inch / 64).MetricTo(1)
	fmt.Println(text, "off by", off.Metric())
	// Output: 0.4 mm off by 0.003125 mm
}

func ExampleLength_In() {
	fmt.Println((39 * measure.Inch).In(measure.Foot, 2))
	// Output: 3.25
}

func ExampleLength_Times() {
	total, err := measure.Foot.Times(12)
	fmt.Println(total.In(measure.Yard, 0), err)
	_, err = measure.Metre.Times(1 << 62)
	fmt.Println(err)
	// Output:
	// 4 <nil>
	// "1000 mm repeated" is longer than I can hold; try 3/4 or 19mm
}

func ExampleLength_Plus() {
	sum, _ := measure.Foot.Plus(3 * measure.Inch)
	fmt.Println(sum.In(measure.Inch, 0))
	// Output: 15
}

func ExampleLength_Abs() {
	fmt.Println((-measure.Inch).Abs())
	// Output: 25.4 mm
}

func ExampleLength_Rat() {
	fmt.Println((4 * measure.Inch).Rat(measure.Foot))
	// Output: 1/3
}

func ExampleParseNumber() {
	number, _ := measure.ParseNumber("1-3/4")
	fmt.Println(number, number.Rat())
	_, err := measure.ParseNumber("1,234")
	fmt.Println(err)
	// Output:
	// 1.75 7/4
	// "1,234" may be 1.234 or 1234; try 1.234
}

func ExampleNumber_Whole() {
	number, _ := measure.ParseNumber("12.0")
	fmt.Println(number.Whole())
	// Output: 12 true
}

func ExampleParseSize() {
	size, _ := measure.ParseSize("39 x 23 x 1-3/4 in", measure.Inch)
	text, exact := size.Tape(16)
	fmt.Println(text, exact)
	fmt.Println(size.Metric())
	// Output:
	// 39 × 23 × 1-3/4 in true
	// 990.6 × 584.2 × 44.45 mm
}

func ExampleParseLot() {
	lot, _ := measure.ParseLot("6 @ 5/8 x 3-1/2 x 40 in; 2 @ 1x4x8'", measure.Inch)
	fmt.Println(lot.Boards(), "boards,", measure.Decimal(lot.Volume().Rat(measure.Inch), 0), "cubic inches")
	_, err := measure.ParseLot("6 @ x", measure.Inch)
	fmt.Println(err)
	// Output:
	// 8 boards, 1293 cubic inches
	// "6 @ x" names no thickness, width and length; try 6 @ 1x4x8'
}

func ExampleParseNamedLot() {
	lot, _ := measure.ParseNamedLot("12 @ 2 x 4 x 2.4 m")
	fmt.Println(lot[0].Board.Width, "by", lot[0].Board.Length)
	// Output: 101.6 mm by 2400 mm
}

func ExampleBoard_Volume() {
	b := measure.Board{Thickness: measure.Inch, Width: 12 * measure.Inch, Length: measure.Foot}
	fmt.Println(b.Volume().Rat(measure.Inch).RatString())
	// Output: 144
}

func ExampleVolumeOf() {
	volume := measure.VolumeOf(4, measure.Centimetre, measure.Centimetre, measure.Metre)
	fmt.Println(measure.Decimal(volume.Rat(measure.Metre), 4))
	// Output: 0.0004
}

func ExampleAreaOf() {
	top := measure.AreaOf(39*measure.Inch, 23*measure.Inch)
	fmt.Println(measure.Decimal(top.Rat(measure.Foot), 2))
	// Output: 6.23
}

func ExampleDecimal() {
	fmt.Println(measure.Decimal(big.NewRat(1, 8), 2), measure.Decimal(big.NewRat(3, 8), 2))
	// Output: 0.12 0.38
}

func ExampleConvert() {
	for _, ask := range [][2]string{{`7' 8-1/2"`, "mm"}, {"1 bf", "m3"}, {"0 °C", "F"}, {"7.50/bf", "/m3"}, {"1 gal", "L"}, {"12 lb", "mm"}} {
		got, err := measure.Convert(ask[0], ask[1], measure.Inch)
		if err != nil {
			fmt.Println(err)
			continue
		}
		fmt.Println(got.Value, got.Unit, got.Notes)
	}
	// Output:
	// 2349.5 mm []
	// 0.002359737216 m³ []
	// 32 °F []
	// 3178.32000493 m³ []
	// 3.785411784 L [I read gal as the US gallon.]
	// "mm" is a unit of length and lb one of mass; try kg or lb
}

func ExampleParseQuantity() {
	quantity, _ := measure.ParseQuantity("2.10 USD per ft", measure.Inch)
	fmt.Println(quantity.Value.FloatString(2), quantity.Unit, quantity.Price, quantity.Currency)
	// Output: 2.10 ft true USD
}

func ExampleQuantity_To() {
	quantity, _ := measure.ParseQuantity("1 cord", measure.Inch)
	got, _ := quantity.To("cubic feet", measure.Inch)
	fmt.Println(got.Value, got.Unit, got.Exact)
	// Output: 128 ft³ true
}

func ExampleConversion_Length() {
	got, _ := measure.Convert("2349.5 mm", "in", measure.Millimetre)
	length, _ := got.Length()
	text, _ := length.TapeFeet(16)
	fmt.Println(got.Value, text)
	// Output: 92.5 7' 8-1/2"
}

func ExampleUnitNames() {
	fmt.Println(measure.UnitNames()[:5])
	// Output: [µm mm cm m km]
}

func ExampleParseDuration() {
	for _, text := range []string{"14.25", "7h40", "7:40", "45 min", "8 hrz"} {
		d, err := measure.ParseDuration(text)
		fmt.Println(d, err)
	}
	// Output:
	// 14h15m0s <nil>
	// 7h40m0s <nil>
	// 7h40m0s <nil>
	// 45m0s <nil>
	// 0s "8 hrz" is not a length of time; try 7.5 or 7h30
}

func ExampleFormatDuration() {
	fmt.Println(measure.FormatDuration(14*time.Hour + 15*time.Minute))
	// Output: 14 h 15 min
}

func ExampleParsePercent() {
	fee, _ := measure.ParsePercent("2,9 %")
	fmt.Println(fee, fee.Rat())
	fmt.Println(fee.Fraction())
	_, err := measure.ParsePercent("0.029")
	fmt.Println(err)
	// Output:
	// 2.9% 29/1000
	// 29 -3
	// "0.029" may be 0.029% or 2.9%; try 2.9%
}

func ExampleQuote() {
	fmt.Println(measure.Quote("a board as long as the shed it was found in"))
	// Output: a board as long as the shed it w…
}
