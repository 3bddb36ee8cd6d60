package lumber

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"tallystick/calc/measure"
)

// fuzzReading holds a grammar to two promises: it answers any text, and what it refuses
// it refuses with a sentence about the text.
func fuzzReading(f *testing.F, read func(text string) error, seeds ...string) {
	for _, s := range seeds {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if err := read(text); err != nil {
			assert.NotEmpty(t, inputError(t, err).Problem)
		}
	})
}

func FuzzParseCondition(f *testing.F) {
	fuzzReading(f, func(text string) error {
		_, err := ParseCondition(text, measure.Inch)
		return err
	}, "8%", "45% 70F", "70 °F, 45 % RH", "-5C 80%", "45%", "RH", "12,5 % MC")
}

func FuzzParseStamp(f *testing.F) {
	fuzzReading(f, func(text string) error {
		_, err := ParseStamp(text)
		return err
	}, "XX-1234 HT", "IPPC XX 000 KD-HT DB", "HT-001 HT", "ß-1", "")
}

func FuzzParseRatio(f *testing.F) {
	fuzzReading(f, func(text string) error {
		r, err := ParseRatio(text)
		if err == nil && (r.Resin <= 0 || r.Hardener <= 0) {
			panic("a part is left out")
		}
		return err
	}, "2:1", "100:38", "3 to 1", "2,5/1", "1:0")
}

func FuzzFindSpecies(f *testing.F) {
	fuzzReading(f, func(text string) error {
		_, _, err := FindSpecies(text)
		return err
	}, "hard maple", "oak", "maple, sugar", "Douglas-fir", "ébène")
}

func FuzzParseArea(f *testing.F) {
	fuzzReading(f, func(text string) error {
		a, _, err := ParseArea(text, measure.Millimetre)
		if err == nil && a < 0 {
			panic("an area below nothing")
		}
		return err
	}, "24 ft2", "39 x 23 in", "3 x 2 x 1 ft", "-4 m2", "0")
}
