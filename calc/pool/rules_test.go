package pool_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/pool"
)

func TestAHostMayOnlyMakeTheRulesStricter(t *testing.T) {
	t.Parallel()
	standard := pool.StandardRules()
	require.NoError(t, standard.Stricter(standard))
	for rule, change := range map[string]struct{ loosen, tighten func(*pool.Rules) }{
		"makers":        {func(r *pool.Rules) { r.Makers-- }, func(r *pool.Rules) { r.Makers++ }},
		"changed":       {func(r *pool.Rules) { r.Changed-- }, func(r *pool.Rules) { r.Changed++ }},
		"remainder":     {func(r *pool.Rules) { r.Remainder-- }, func(r *pool.Rules) { r.Remainder++ }},
		"share":         {func(r *pool.Rules) { r.Share++ }, func(r *pool.Rules) { r.Share-- }},
		"age":           {func(r *pool.Rules) { r.Age-- }, func(r *pool.Rules) { r.Age++ }},
		"window":        {func(r *pool.Rules) { r.Window++ }, func(r *pool.Rules) { r.Window-- }},
		"new_account":   {func(r *pool.Rules) { r.NewAccount-- }, func(r *pool.Rules) { r.NewAccount++ }},
		"min_active":    {func(r *pool.Rules) { r.MinActive-- }, func(r *pool.Rules) { r.MinActive++ }},
		"part_makers":   {func(r *pool.Rules) { r.PartMakers-- }, func(r *pool.Rules) { r.PartMakers++ }},
		"every":         {func(r *pool.Rules) { r.Every-- }, func(r *pool.Rules) { r.Every++ }},
		"fine_makers":   {func(r *pool.Rules) { r.FineMakers-- }, func(r *pool.Rules) { r.FineMakers++ }},
		"middle_makers": {func(r *pool.Rules) { r.MiddleMakers-- }, func(r *pool.Rules) { r.MiddleMakers++ }},
	} {
		looser, tighter := standard, standard
		change.loosen(&looser)
		change.tighten(&tighter)
		assert.NoError(t, tighter.Stricter(standard), rule)
		assert.Equal(t, tighter, standard.Tightened(tighter), rule)
		assert.Equal(t, standard, standard.Tightened(looser), rule)
		var refused *pool.LooserError
		require.ErrorAs(t, looser.Stricter(standard), &refused, rule)
		assert.Equal(t, rule, refused.Rule)
		assert.Contains(t, refused.Error(), rule)
	}
}

func TestRulesAreReadAndSetByName(t *testing.T) {
	t.Parallel()
	standard := pool.StandardRules()
	for _, name := range pool.RuleNames() {
		value, known := standard.Of(name)
		require.True(t, known)
		changed, known := standard.With(name, value+1)
		require.True(t, known)
		got, _ := changed.Of(name)
		assert.Equal(t, value+1, got, name)
		back, _ := changed.With(name, value)
		assert.Equal(t, standard, back, name)
	}
	_, known := standard.Of("no_rule")
	assert.False(t, known)
	_, known = standard.With("no_rule", 1)
	assert.False(t, known)
}

// The shared log, in the design: 0.8 of the makers, sales sold before day−90 and after day−24 months.
func TestTheStandardRulesAreThoseOfTheDesign(t *testing.T) {
	t.Parallel()
	r := pool.StandardRules()
	assert.Equal(t, []int{8, 5, 5, 90, 24, 30, 15, 20},
		[]int{r.Makers, r.Changed, r.Remainder, r.Age, r.Window, r.NewAccount, r.MinActive, r.MiddleMakers})
	// Stricter than the design, for the attack test asks for it.
	assert.Equal(t, []int{12, 12, 15}, []int{r.PartMakers, r.Every, r.FineMakers})
	// The hashes below 0.8 · 2³² are those from 0 to Share−1.
	assert.Less(t, 5*(uint64(r.Share)-1), uint64(4)<<32)
	assert.GreaterOrEqual(t, 5*uint64(r.Share), uint64(4)<<32)
}

func TestASaleLeavesTheWindowWithTheFirstDayOfItsMonth(t *testing.T) {
	t.Parallel()
	r := pool.StandardRules()
	sold := pool.MonthOf(2024, time.March)
	assert.False(t, r.Expired(sold, pool.DayOf(2026, time.February, 28)))
	assert.True(t, r.Expired(sold, pool.DayOf(2026, time.March, 1)))
	assert.True(t, r.Expired(pool.MonthOf(2024, time.February), pool.DayOf(2026, time.February, 28)))
}
