package lumber

import (
	"testing"
	"time"

	"tallystick/calc/measure"
)

// BenchmarkTally tallies 10,000 boards exactly, and reports how many times the time
// of a plain loop in floating point over the same boards that takes, both measured
// in this run.
func BenchmarkTally(b *testing.B) {
	lot := make(measure.Lot, measure.MaxLotLines)
	for k := range lot {
		lot[k] = measure.LotLine{Count: 1 + k%7, Board: measure.Board{
			Thickness: measure.Inch * measure.Length(1+k%8) / 8,
			Width:     measure.Inch * measure.Length(20+k%90) / 8,
			Length:    measure.Inch * measure.Length(24+k%120),
		}}
	}
	for _, way := range []struct {
		name  string
		tally func(measure.Lot) BoardFeet
	}{{"by volume", VolumeOf}, {"counted", CountedOf}} {
		b.Run(way.name, func(b *testing.B) {
			var exact BoardFeet
			for b.Loop() {
				exact = way.tally(lot)
			}
			perTally := float64(b.Elapsed()) / float64(b.N)
			b.StopTimer()

			var rough float64
			start := time.Now()
			for range b.N {
				rough = roughTally(lot)
			}
			perRough := float64(time.Since(start)) / float64(b.N)
			b.ReportMetric(perTally/perRough, "×float")

			if by, _ := exact.Rat().Float64(); way.name == "by volume" && (rough/by > 1+1e-9 || rough/by < 1-1e-9) {
				b.Fatalf("VolumeOf = %v, the rough tally = %v", by, rough)
			}
		})
	}
}

// roughTally is the loop the exact tally is measured against.
func roughTally(lot measure.Lot) float64 {
	const inch = float64(measure.Inch)
	sum := 0.0
	for _, line := range lot {
		board := line.Board
		sum += float64(line.Count) * float64(board.Thickness) * float64(board.Width) * float64(board.Length)
	}
	return sum / (inch * inch * inch * 144)
}
