package measure

import (
	"strconv"
	"testing"
	"time"
)

// BenchmarkParseLength reports, beside its own time, how many times the time of
// strconv.ParseFloat("39.25") one ParseLength takes, both measured in this run.
func BenchmarkParseLength(b *testing.B) {
	for _, text := range []string{"39.25", "39", "1-3/4", "3' 3-1/4\"", "990 mm", "3ft 3 1/4in", "2,5 cm"} {
		b.Run(text, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := ParseLength(text, Inch); err != nil {
					b.Fatal(err)
				}
			}
			perLength := float64(b.Elapsed()) / float64(b.N)
			b.StopTimer()
			b.ReportMetric(perLength/perFloat(b, b.N), "×ParseFloat")
		})
	}
}

// perFloat is the time in nanoseconds of one strconv.ParseFloat, over rounds of them.
func perFloat(b *testing.B, rounds int) float64 {
	b.Helper()
	start := time.Now()
	for range rounds {
		x, err := strconv.ParseFloat("39.25", 64)
		if err != nil || x != 39.25 {
			b.Fatal(x, err)
		}
	}
	return float64(time.Since(start)) / float64(rounds)
}
