package measure_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tallystick/calc/measure"
)

func TestShopTimeIsReadAsPeopleWriteIt(t *testing.T) {
	t.Parallel()
	const h, m, s = time.Hour, time.Minute, time.Second
	for text, want := range map[string]time.Duration{
		"14.25": 14*h + 15*m, "14,25": 14*h + 15*m, "8": 8 * h, "0": 0, "1½": 90 * m, "1/2": 30 * m, "1-3/4": 105 * m, " 8 ": 8 * h,
		"7h40": 7*h + 40*m, "7:40": 7*h + 40*m, "7 h 40 min": 7*h + 40*m, "7h 40m": 7*h + 40*m, "7hrs40mins": 7*h + 40*m, "7 hours 40 minutes": 7*h + 40*m,
		"7:05:30": 7*h + 5*m + 30*s, "7h5m30": 7*h + 5*m + 30*s, "0:45": 45 * m, "100:00": 100 * h, "7:40 ": 7*h + 40*m,
		"45m": 45 * m, "45 min": 45 * m, "90 minutes": 90 * m, "90 min.": 90 * m, "1h": h, "1 Hour": h, "1.5 hr": 90 * m, "½ hour": 30 * m, "30 s": 30 * s, "20 SECS": 20 * s,
		"1 h 2.5 min": h + 150*s, "5 min 30": 5*m + 30*s, "1h 30 s": h + 30*s, "100000": 100_000 * h, "100,000.0": 100_000 * h,
		"0.000000001 s": 1, "1/3 h": 20 * m, "1/7 h": 514_285_714_286, "0.0000000005 s": 0,
	} {
		got, err := measure.ParseDuration(text)
		if text == "0.0000000005 s" {
			assert.Equal(t, "has more than 9 decimals", inputError(t, err).Problem)
			continue
		}
		if assert.NoError(t, err, "ParseDuration(%q)", text) {
			assert.Equal(t, want, got, "ParseDuration(%q)", text)
		}
	}
}

func TestWhatIsNoTimeIsRefused(t *testing.T) {
	t.Parallel()
	for text, problem := range map[string]string{
		"": "is empty", "-1": "is below zero", "-7:40": "is below zero", "8 hrz": "is not a length of time", "h": "is not a length of time", "x": "is not a length of time",
		"7:4": "is not a length of time", "7:": "is not a length of time", ":40": "is not a length of time", "7:400": "is not a length of time", "7:40:5": "is not a length of time",
		"7:40 h": "is not a length of time", "7:40:30:10": "is not a length of time", "1.5:30": "is not a length of time", "7h:40": "is not a length of time",
		"40 min 7 h": "is not a length of time", "1h 2h": "is not a length of time", "1.5h 30": "is not a length of time", "1h30m20s10": "is not a length of time", "30 s 5": "is not a length of time",
		"7 40": "is not a length of time", "2 days": "is not a length of time",
		"7:60": "has 60 minutes or more behind a larger unit", "7:00:60": "has 60 seconds or more behind a larger unit", "7h75": "has 60 minutes or more behind a larger unit", "5 min 60 s": "has 60 seconds or more behind a larger unit",
		"100000.1": "is more than 100,000 hours", "999999999": "is more than 100,000 hours", "100000h1": "is more than 100,000 hours", "100000:00:01": "is more than 100,000 hours", "999999999:00": "is more than 100,000 hours",
		"1,234": "may be 1.234 or 1234", "1/0": "divides by zero", "1e3": "is not a length of time", "1234567890": "has more than 9 digits before the decimal point",
		strings.Repeat("1", 65): "is too long for a length of time",
	} {
		_, err := measure.ParseDuration(text)
		mistake := inputError(t, err)
		assert.Equal(t, problem, mistake.Problem, "ParseDuration(%q)", text)
		assert.Equal(t, text, mistake.Value)
		hintsWork(t, err, ignoring(measure.ParseDuration))
	}
	_, err := measure.ParseDuration("8 hrz")
	assert.EqualError(t, err, `"8 hrz" is not a length of time; try 7.5 or 7h30`)
}

func TestShopTimeIsWrittenInItsOwnUnits(t *testing.T) {
	t.Parallel()
	for want, d := range map[string]time.Duration{
		"14 h 15 min": 14*time.Hour + 15*time.Minute, "45 min": 45 * time.Minute, "8 h": 8 * time.Hour, "0 min": 0, "1 h 30 s": time.Hour + 30*time.Second,
		"1 min 5 s": 65 * time.Second, "-1 h 5 min": -65 * time.Minute, "2 s": 1500 * time.Millisecond, "100000 h": 100_000 * time.Hour, "1 min": 59*time.Second + 999*time.Millisecond,
	} {
		assert.Equal(t, want, measure.FormatDuration(d))
	}
	assert.Equal(t, "0 min", measure.FormatDuration(500*time.Millisecond), "half to even")
}

func TestWrittenShopTimeIsReadBack(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		d := time.Duration(rapid.Int64Range(0, 360_000_000).Draw(t, "seconds")) * time.Second
		got, err := measure.ParseDuration(measure.FormatDuration(d))
		require.NoError(t, err)
		assert.Equal(t, d, got)
	})
}
