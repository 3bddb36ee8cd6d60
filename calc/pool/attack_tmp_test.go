package pool_test

import (
	"testing"

	"tallystick/calc/pool"
)

func TestTmpMore(t *testing.T) {
	P, S, B := pool.Price, pool.PricePerSquareFoot, pool.PricePerBoardFoot
	for _, c := range []struct {
		name string
		more extra
	}{
		{"published", extra{}},
		{"+ppsf", extra{medians: []pool.Figure{S}}},
		{"+middles", extra{middles: []pool.Figure{B, P}}},
		{"+ppsf+middles", extra{medians: []pool.Figure{S}, middles: []pool.Figure{B, P, S}}},
	} {
		for _, size := range []int{1, 2} {
			got := attack(byBoth, pool.StandardRules(), c.more, size, 0, onTheLog)
			t.Logf("%-15s %3d %s", c.name, crowdsAttacked[size].makers, got)
		}
	}
	for _, c := range []struct {
		rule string
		to   int64
	}{{"every", 6}, {"every", 1}, {"part_makers", 8}, {"fine_makers", 1}} {
		rules, _ := pool.StandardRules().With(c.rule, c.to)
		for _, size := range []int{0, 1} {
			got := attack(byBoth, rules, extra{}, size, 0, onTheLog)
			from, seen := outside(rules, size)
			points, sd := from.overOutside()
			t.Logf("%s %d %3d %s; out %+.1f (%.1f) shown %.0f", c.rule, c.to, crowdsAttacked[size].makers, got, points, sd, seen)
		}
	}
}
