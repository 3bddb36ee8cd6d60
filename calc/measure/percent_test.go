package measure_test

import (
	"math/big"
	"strings"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tallystick/calc/measure"
)

func TestPercentagesAreReadAsPeopleWriteThem(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]string{
		"2.9%": "2.9%", "2,9 %": "2.9%", "12 percent": "12%", "12 per cent": "12%", "12 PCT": "12%", "12": "12%", "0": "0%", "0.00": "0%", "0%": "0%", "1": "1%", "2.90": "2.9%",
		"0.029%": "0.029%", ".5 %": "0.5%", "8-7/8%": "8.875%", "8 7/8": "8.875%", "½%": "0.5%", "100%": "100%", "250": "250%", "1/8 percent": "0.125%",
		"0.000000001%": "0.000000001%", "999999999.999999999%": "999999999.999999999%",
	} {
		got, err := measure.ParsePercent(text)
		if assert.NoError(t, err, "ParsePercent(%q)", text) {
			assert.Equal(t, want, got.String(), "ParsePercent(%q)", text)
		}
	}
	same, err := measure.ParsePercent("2.900 %")
	require.NoError(t, err)
	other, err := measure.ParsePercent("29/10")
	require.NoError(t, err)
	assert.Equal(t, same, other)
	assert.Equal(t, "0%", measure.Percent{}.String())
}

func TestWhatIsNoPercentageOrMayBeTwoIsRefused(t *testing.T) {
	t.Parallel()
	for text, problem := range map[string]string{
		"": "is empty", "%": "is not a percentage", "x%": "is not a percentage", "-3%": "is below zero", "3%%": "is not a percentage", "3 ‰": "is not a percentage", "3 percents": "is not a percentage", "12 hrz": "is not a percentage",
		"0.029": "may be 0.029% or 2.9%", ".5": "may be 0.5% or 50%", "1/2": "may be 0.5% or 50%", "0,15": "may be 0.15% or 15%", "0.999999999": "may be 0.999999999% or 99.9999999%",
		"1/3%": "does not end as a decimal", "1,234%": "may be 1.234 or 1234", "1/0": "divides by zero", "1e2%": "is not a percentage", strings.Repeat("1", 33): "is too long for a percentage",
	} {
		_, err := measure.ParsePercent(text)
		mistake := inputError(t, err)
		assert.Equal(t, problem, mistake.Problem, "ParsePercent(%q)", text)
		assert.Equal(t, text, mistake.Value)
		hintsWork(t, err, ignoring(measure.ParsePercent))
	}
}

func TestAPercentageBecomesADecimalFractionExactly(t *testing.T) {
	t.Parallel()
	p, err := measure.ParsePercent("2.9%")
	require.NoError(t, err)
	assert.Equal(t, "0.029", decimal.New(p.Fraction()).String())
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`[0-9]{1,9}\.[0-9]{1,9}`).Draw(t, "text")
		p, err := measure.ParsePercent(text + "%")
		require.NoError(t, err)
		want, _ := new(big.Rat).SetString(text)
		want.Quo(want, big.NewRat(100, 1))
		assert.Zero(t, want.Cmp(p.Rat()))
		assert.Zero(t, want.Cmp(decimal.New(p.Fraction()).Rat()))
		again, err := measure.ParsePercent(p.String())
		require.NoError(t, err)
		assert.Equal(t, p, again)
	})
}
