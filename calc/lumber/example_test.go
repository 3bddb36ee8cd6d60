package lumber_test

import (
	"fmt"
	"math/big"

	"tallystick/calc/lumber"
	"tallystick/calc/measure"
)

func ExampleVolumeOf() {
	lot, err := measure.ParseLot("6 @ 5/8 x 3-1/2 x 40 in", measure.Inch)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(lumber.VolumeOf(lot).Round(2), "by volume")
	fmt.Println(lumber.CountedOf(lot).Round(2), "counted")
	// Output:
	// 3.65 by volume
	// 5.83 counted
}

func ExampleCountedOf() {
	lot := measure.Lot{{Count: 1, Board: measure.Board{
		Thickness: measure.Inch / 2, Width: 12 * measure.Inch, Length: measure.Foot,
	}}}
	fmt.Println(lumber.CountedOf(lot))
	// Output: 1.00 bf
}

func ExampleFromVolume() {
	cubicMetre := measure.VolumeOf(1, measure.Metre, measure.Metre, measure.Metre)
	fmt.Println(lumber.FromVolume(cubicMetre).Round(3))
	// Output: 423.776
}

func ExampleFromFeet() {
	// By 1 in = 25.4 mm exactly (NIST SP 811, appendix B.8).
	fmt.Println(measure.Decimal(lumber.FromFeet(big.NewRat(1, 1)).CubicMetres(), 12), "m³")
	// Output: 0.002359737216 m³
}

func ExampleBoardFeet_ToBuy() {
	lot, _ := measure.ParseLot("6 @ 1 x 12 x 12", measure.Inch)
	waste, _ := measure.ParsePercent("25%")
	gross, _ := lumber.VolumeOf(lot).ToBuy(waste)
	fmt.Println(gross)
	all, _ := measure.ParsePercent("100%")
	_, err := gross.ToBuy(all)
	fmt.Println(err)
	// Output:
	// 8.00 bf
	// "100%" wastes all of the stock; try 25%
}

func ExampleBoardFeet_Usable() {
	lot, _ := measure.ParseLot("8 @ 1 x 12 x 12", measure.Inch)
	waste, _ := measure.ParsePercent("40%")
	net, _ := lumber.VolumeOf(lot).Usable(waste)
	fmt.Println(net)
	// Output: 4.80 bf
}

func ExampleBoardFeet_CubicMetres() {
	lot, _ := measure.ParseLot("1 @ 1 x 12 x 12", measure.Inch)
	fmt.Println(measure.Decimal(lumber.VolumeOf(lot).CubicMetres(), 12))
	// Output: 0.002359737216
}

func ExampleSurfaceMeasureOf() {
	lot, _ := measure.ParseLot("2 in x 6-1/4 in x 8 ft", measure.Inch)
	tally, _ := lumber.SurfaceMeasureOf(lot)
	fmt.Println(tally.SquareFeet, "SM,", tally.BoardFeet)
	// Output: 4 SM, 8.00 bf
}
