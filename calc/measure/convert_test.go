package measure_test

import (
	"math/big"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tallystick/calc/measure"
)

// nistNames is how the rows of units-nist.csv are asked for; an empty unit is one
// that Convert does not offer, for the reason beside it.
var nistNames = map[string]struct{ unit, absent string }{
	"inch": {"in", ""}, "foot": {"ft", ""}, "yard": {"yd", ""}, "mil (thou)": {"mil", ""},
	"foot, US survey": {"", "withdrawn; refused by name"},
	"square inch":     {"sq in", ""}, "square foot": {"sq ft", ""}, "square yard": {"sq yd", ""}, "acre (international)": {"acre", ""},
	"acre (US survey)": {"", "withdrawn; refused by name"},
	"cubic inch":       {"cu in", ""}, "cubic foot": {"cu ft", ""}, "cubic yard": {"cu yd", ""}, "board foot": {"board foot", ""}, "cord": {"cord", ""},
	"gallon (US liquid)": {"US gallon", ""}, "quart (US liquid)": {"US quart", ""}, "pint (US liquid)": {"US pint", ""}, "cup (US)": {"US cup", ""},
	"fluid ounce (US)": {"US fluid ounce", ""},
	"tablespoon (US)":  {"", "kitchens only"}, "teaspoon (US)": {"", "kitchens only"},
	"gallon (imperial)": {"imperial gallon", ""}, "pint (imperial)": {"imperial pint", ""}, "fluid ounce (imperial)": {"imperial fluid ounce", ""},
	"ounce (avoirdupois)": {"oz", ""}, "pound (avoirdupois)": {"lb", ""}, "ton, short (2000 lb)": {"short ton", ""}, "ton, long (2240 lb)": {"long ton", ""},
	"tonne": {"tonne", ""}, "pound-force": {"lbf", ""}, "pound-force inch (torque)": {"lbf in", ""}, "pound-force foot (torque/energy)": {"lbf ft", ""},
	"psi": {"psi", ""}, "pound per cubic foot": {"lb/ft3", ""},
	"pound per square foot":     {"", "a glue spread; no dimension of its own here"},
	"horsepower (550 ft lbf/s)": {"", "no power is converted"}, "horsepower (metric)": {"", "no power is converted"}, "horsepower (electric)": {"", "no power is converted"},
	"degree Fahrenheit":          {"", "a formula, not a factor; see the temperatures below"},
	"temperature difference 1 F": {"", "differences are not converted"},
}

// agrees asserts that got is the published value: all of it where that is shorter,
// else its first significant digits.
func agrees(t *testing.T, published, got string, digits int, message string) {
	t.Helper()
	want, ok := new(big.Rat).SetString(published)
	require.True(t, ok, published)
	have, ok := new(big.Rat).SetString(got)
	require.True(t, ok, got)
	off := have.Sub(have, want)
	bound := new(big.Rat).Quo(want, new(big.Rat).SetInt(new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(digits-1)), nil)))
	bound.Mul(bound, big.NewRat(1, 2))
	assert.LessOrEqual(t, off.Abs(off).Cmp(bound.Abs(bound)), 0, "%s: published %s, got %s", message, published, got)
}

// Source: units-nist.csv, NIST Special Publication 811 (2008), appendix B.8.
func TestEveryFactorAgreesWithNIST(t *testing.T) {
	t.Parallel()
	offered := 0
	for _, row := range published(t, "units-nist.csv") {
		name, listed := nistNames[row["unit"]]
		require.True(t, listed, "%q is neither asked for nor said to be absent", row["unit"])
		if name.unit == "" {
			require.NotEmpty(t, name.absent)
			continue
		}
		offered++
		to := map[string]string{"N m": "N·m", "Pa": "Pa"}[row["si"]]
		if to == "" {
			to = row["si"]
		}
		got, err := measure.Convert("1 "+name.unit, to, measure.Inch)
		require.NoError(t, err, row["unit"])
		agrees(t, row["exact_value"], got.Value, 12, row["unit"])
		if got.Exact {
			assert.Equal(t, row["exact_value"], got.Value, row["unit"])
		}
		if row["nist_sp811_b8"] != "" {
			agrees(t, row["nist_sp811_b8"], got.Value, 7, row["unit"]+" in SP 811")
		}
	}
	assert.Equal(t, 31, offered)
}

// gnuNames is how GNU units spells what Convert spells otherwise.
var gnuNames = strings.NewReplacer(
	"boardfoot", "bf", "liter", "L", "milliliter", "mL", "micron", "µm",
	"usgallon", "US gal", "usquart", "US qt", "uspint", "US pt", "usfloz", "US fl oz", "uscup", "US cup",
	"brgallon", "imp gal", "brpint", "imp pt", "brfloz", "imp fl oz", "shortton", "short ton", "longton", "long ton",
	"tempF(68)", "68 °F", "tempF(-40)", "-40 °F", "tempC", "°C", "|", "/",
)

// gnuAbsent are the rows of units-check.csv that Convert does not offer.
var gnuAbsent = map[string]string{
	"1 facecord":             "depends on the length of the sticks; refused by name",
	"1 rick":                 "depends on the length of the sticks; refused by name",
	"1 horsepower":           "no power is converted",
	"1 USacre":               "withdrawn; refused by name",
	"1 hoppusfoot":           "a log rule, not a unit of volume",
	"1 usgallon/(1600 ft^2)": "the thickness of a film; a formula of its own",
}

// Source: units-check.csv, answers of GNU Units 2.22.
func TestEveryAnswerAgreesWithGNUUnits(t *testing.T) {
	t.Parallel()
	checked := 0
	for _, row := range published(t, "units-check.csv") {
		if gnuAbsent[row["have"]] != "" {
			continue
		}
		checked++
		have, want := gnuNames.Replace(row["have"]), gnuNames.Replace(row["want"])
		got, err := measure.Convert(have, want, measure.Inch)
		require.NoError(t, err, row["have"])
		agrees(t, row["gnu_units_answer"], got.Value, 12, row["have"])
		if row["exact_expected"] != "" {
			agrees(t, row["exact_expected"], got.Value, 12, row["have"])
		}
		if got.Exact {
			assert.Equal(t, row["exact_expected"], got.Value, row["have"])
		}
	}
	assert.Equal(t, 40, checked)
}

func TestConversionsAreReadAsPeopleWriteThem(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		value, to string
		want      string
		unit      string
		exact     bool
	}{
		{`7' 8-1/2"`, "mm", "2349.5", "mm", true},
		{"1 bf", "m3", "0.002359737216", "m³", true},
		{"1 ft", "in", "12", "in", true}, {"39", "mm", "990.6", "mm", true}, {"1 ft 3", "mm", "381", "mm", true}, {"1 ft3", "L", "28.316846592", "L", true},
		{"1/3 ft", "in", "4", "in", true}, {"1/7 in", "mm", "3.62857142857", "mm", false}, {"3/4", "in", "0.75", "in", true},
		{"2,5 cm", "mm", "25", "mm", true}, {"12 lf", "m", "3.6576", "m", true},
		{"0 °C", "°F", "32", "°F", false}, {"-40 C", "F", "-40", "°F", false}, {"32F", "C", "0", "°C", false}, {"68 degrees fahrenheit", "celsius", "20", "°C", false},
		{"−459.67 °F", "K", "0", "K", false}, {"100 °C", "K", "373.15", "K", false}, {"-3 °C", "°C", "-3", "°C", true},
		{"1 lb", "oz", "16", "oz", false}, {"16 oz", "lbs", "1", "lb", false}, {"2.5 kg", "g", "2500", "g", false},
		{"1 cu. yd.", "cubic feet", "27", "ft³", true}, {"10 square feet", "m^2", "0.9290304", "m²", true}, {"1 m²", "sqft", "10.7639104167", "ft²", false},
		{"1000 board feet", "MBF", "1", "MBF", true}, {"1 cord", "ft³", "128", "ft³", true}, {"1 m3", "bf", "423.776000658", "bf", false},
		{"1 US gal", "in3", "231", "in³", false}, {"1 imperial gallon", "litres", "4.54609", "L", false},
		{"100 psi", "kPa", "689.475729317", "kPa", false}, {"1 bar", "kPa", "100", "kPa", false}, {"1 N/mm²", "MPa", "1", "MPa", true},
		{"50 ft-lbs", "Nm", "67.79089741657002", "N·m", true}, {"1 lbf·ft", "in-lb", "12", "lbf·in", true}, {"1 lbf", "N", "4.4482216152605", "N", true},
		{"40 lb/ft3", "kg/m3", "640.738534958", "kg/m³", false}, {"0.65 g/cm³", "kg/m³", "650", "kg/m³", true}, {"40 pounds per cubic foot", "kg per cubic metre", "640.738534958", "kg/m³", false},
		{"7.50/bf", "/m3", "3178.32000493", "m³", false}, {"$7.50/bf", "per m3", "3178.32000493", "m³", false}, {"7,50 € per bf", "€/bf", "7.5", "bf", true},
		{"2.10 USD/ft", "usd/m", "6.88976377953", "m", false}, {"3/ft", "in", "0.25", "in", true}, {"16/lb", "/oz", "1", "oz", false},
	} {
		got, err := measure.Convert(tt.value, tt.to, measure.Inch)
		if assert.NoError(t, err, "Convert(%q, %q)", tt.value, tt.to) {
			assert.Equal(t, tt.want, got.Value, "Convert(%q, %q)", tt.value, tt.to)
			assert.Equal(t, tt.unit, got.Unit, "Convert(%q, %q)", tt.value, tt.to)
			assert.Equal(t, tt.exact, got.Exact, "Convert(%q, %q) is exact", tt.value, tt.to)
			assert.False(t, got.Exact && got.Float)
			assert.Equal(t, tt.value, got.Quantity.Text)
		}
	}
}

func TestWhatCannotBeConvertedIsSaid(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct{ value, to, of, problem string }{
		{"", "mm", "", "is empty"}, {"3", "", "", "is empty"}, {"x", "mm", "x", "is not a quantity"}, {"mm", "in", "mm", "is not a quantity"},
		{"-3 in", "mm", "-3 in", "is below zero"}, {"-3 kg", "lb", "-3 kg", "is below zero"}, {"-7.50/bf", "/m3", "-7.50/bf", "is below zero"},
		{"-300 °C", "°F", "-300 °C", "is below absolute zero"}, {"-459.68 F", "K", "-459.68 F", "is below absolute zero"}, {"-1 K", "°C", "-1 K", "is below absolute zero"},
		{"12 lb", "mm", "mm", "is a unit of length and lb one of mass"}, {"1 psi", "N·m", "N·m", "is a unit of torque and psi one of pressure"},
		{"8 oz", "mL", "mL", "is a unit of volume and oz one of mass; fluid ounces are US fl oz or imp fl oz"},
		{"7.50/bf", "/ft", "/ft", "is a unit of length and bf one of volume"}, {"7 bf", "/m3", "/m3", "is a price per unit, and 7 bf is none"},
		{"2.10 USD/ft", "EUR/m", "EUR/m", "is another currency, which I do not convert"}, {"$5", "/bf", "$5", "is money without a unit it is paid for"},
		{"5/K", "/°C", "5/K", "is not a price of a quantity"},
		{"1 survey foot", "m", "1 survey foot", "is a US survey unit, withdrawn after 2022; I convert the international foot"},
		{"1 m", "us survey feet", "us survey feet", "is a US survey unit, withdrawn after 2022; I convert the international foot"},
		{"3 survey acres", "m2", "3 survey acres", "is a US survey unit, withdrawn after 2022; I convert the international acre"},
		{"1 face cord", "m3", "1 face cord", "is one row of sticks, and its volume depends on how long they are"},
		{"1 cord", "ricks", "ricks", "is one row of sticks, and its volume depends on how long they are"},
		{"3 galons", "L", "3 galons", "is in no unit I know"}, {"3 in", "milimetre", "milimetre", "is not a unit I know"},
		{"1,234 mm", "in", "1,234 mm", "may be 1.234 or 1234"}, {`3'14"`, "mm", `3'14"`, `has 12 inches or more behind the feet, and may be 4'2" or a slip`},
		{"1/0 in", "mm", "1/0 in", "divides by zero"}, {"1e9 mm", "in", "1e9 mm", "is in no unit I know"},
		{strings.Repeat("1", 81), "mm", strings.Repeat("1", 81), "is too long for a quantity"},
		{"3 mm", strings.Repeat("m", 41), strings.Repeat("m", 41), "is too long for a unit"},
	} {
		_, err := measure.Convert(tt.value, tt.to, measure.Inch)
		mistake := inputError(t, err)
		assert.Equal(t, tt.problem, mistake.Problem, "Convert(%q, %q)", tt.value, tt.to)
		if tt.of != "" {
			assert.Equal(t, tt.of, mistake.Value, "Convert(%q, %q)", tt.value, tt.to)
		}
	}
}

func TestASlipInAUnitIsAnsweredWithTheNearestOne(t *testing.T) {
	t.Parallel()
	for slip, want := range map[string]string{
		"galons": "US gal", "milimetre": "mm", "bord feet": "bf", "kilogam": "kg", "yrd": "yd", "celcius": "°C", "farenheit": "°F", "cord ft": "cord", "zebra": "mm or ft",
	} {
		_, err := measure.Convert("1 mm", slip, measure.Inch)
		if slip == "cord ft" {
			assert.Equal(t, "is not a unit I know", inputError(t, err).Problem)
			continue
		}
		assert.Equal(t, want, inputError(t, err).Hint, slip)
	}
}

func TestAGallonIsReadInTheMembersSystemOrAskedAbout(t *testing.T) {
	t.Parallel()
	got, err := measure.Convert("1 gal", "L", measure.Inch)
	require.NoError(t, err)
	assert.Equal(t, "3.785411784", got.Value)
	assert.Equal(t, []string{"I read gal as the US gallon."}, got.Notes)

	got, err = measure.Convert("1 L", "fl oz", measure.Inch)
	require.NoError(t, err)
	assert.Equal(t, []string{"I read fl oz as the US fluid ounce."}, got.Notes)

	for _, spelling := range []string{"U.S. gal", "u.s. gallons", "US gallon", "American gallon", "us-gal"} {
		got, err := measure.Convert("1 "+spelling, "UK gal", measure.Millimetre)
		require.NoError(t, err, spelling)
		assert.Equal(t, "0.832674184629", got.Value, "3.785411784/4.54609 = 0.83267418462899")
		assert.Empty(t, got.Notes, "nothing was guessed")
	}
	for name, hint := range map[string]string{
		"gal": "1 US gal or 1 imp gal", "Gallons": "1 US gal or 1 imp gal", "pt": "1 US pt or 1 imp pt", "quarts": "1 US qt or 1 imp qt", "fl. oz.": "1 US fl oz or 1 imp fl oz", "ton": "1 short ton or 1 t", "cups": "1 US cup",
	} {
		_, err := measure.Convert("1 "+name, "L", measure.Millimetre)
		assert.Equal(t, hint, inputError(t, err).Hint, name)
		hintsWork(t, err, inMillimetres(measure.ParseQuantity))
	}
}

// What is tried for a value is a value, and one that is near or none: 1 hp is not a
// slip for one hectare.
func TestWhatIsTriedForAValueWorksAsOne(t *testing.T) {
	t.Parallel()
	const other = "7' 8-1/2\" or 40 kg"
	for text, want := range map[string]measure.InputError{
		"1 hp":              {Problem: "is in no unit I know", Hint: other},
		"12 km/h":           {Problem: "is in no unit I know", Hint: other},
		"3 parsecs":         {Problem: "is in no unit I know", Hint: other},
		"5 gal/ft2":         {Problem: "is in no unit I know", Hint: other},
		"3 galons":          {Problem: "is in no unit I know", Hint: "3 US gal"},
		"3\t galons":        {Problem: "is in no unit I know", Hint: "3 US gal"},
		"1\n2":              {Problem: "is in no unit I know", Hint: other},
		"12.5 milimetre":    {Problem: "is in no unit I know", Hint: "12.5 mm"},
		"4kgg":              {Problem: "is in no unit I know", Hint: "4 kg"},
		"1-1/2 celcius":     {Problem: "is in no unit I know", Hint: "1-1/2 °C"},
		"$7.50/board fot":   {Problem: "is in no unit I know", Hint: "$7.50/bf"},
		"3 Fm":              {Problem: "may be a festmetre, which is a cubic metre of solid wood, or a fathom, which is two yards", Hint: "3 m3"},
		"3 rm":              {Problem: "may be a raummetre, which is a cubic metre of stacked wood, or a running metre", Hint: "3 m3 or 3 m"},
		"3 st":              {Problem: "may be a stone, which is 14 lb, or a stere, which is a cubic metre of stacked wood", Hint: "3 stone or 3 m3"},
		"2x4":               {Problem: "is several measures, and I convert one at a time", Hint: other},
		"2 x 4 x 8'":        {Problem: "is several measures, and I convert one at a time", Hint: other},
		"6 @ 1x4x8'":        {Problem: "is several measures, and I convert one at a time", Hint: other},
		"1 m 120 cm":        {Problem: "has parts that do not add up to one length", Hint: "1.20 m or 120 cm"},
		"1.5 m 20 cm":       {Problem: "has parts that do not add up to one length", Hint: "1.20 m or 120 cm"},
		"1 m 20":            {Problem: "is in no unit I know", Hint: other},
		"7.50 per":          {Problem: "lacks a unit", Hint: other},
		"1 face cord":       {Problem: "is one row of sticks, and its volume depends on how long they are", Hint: "1 cord or 1 ft3"},
		"400 ft2/gal":       {Problem: "may be ft²/US gal or ft²/imp gal", Hint: "400 ft²/US gal or 400 ft²/imp gal"},
		"3 " + long(39):     {Problem: "is in no unit I know", Hint: other},
		"3 " + long(60):     {Problem: "is too long for a unit", Hint: other},
		"12 us survey feet": {Problem: "is a US survey unit, withdrawn after 2022; I convert the international foot", Hint: "12 ft"},
	} {
		_, err := measure.ParseQuantity(text, measure.Millimetre)
		want.Value = text
		assert.Equal(t, &want, inputError(t, err), "ParseQuantity(%q)", text)
		hintsWork(t, err, inMillimetres(measure.ParseQuantity))
	}
}

func long(n int) string { return strings.Repeat("z", n) }

// A cubic metre has names of its own in the timber trade; 14 lb are a stone, by 1 lb =
// 0.45359237 kg (NIST SP 811, appendix B.8).
func TestTheTimberTradesNamesAreKnown(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"cbm", "CBM", "m3", "Festmeter", "stere", "Raummeter"} {
		got, err := measure.Convert("12 "+name, "m3", measure.Millimetre)
		if assert.NoError(t, err, name) {
			assert.Equal(t, "12", got.Value, name)
		}
	}
	got, err := measure.Convert("3 stone", "kg", measure.Inch)
	require.NoError(t, err)
	agrees(t, "19.05087954", got.Value, 10, "3 · 14 · 0.45359237")
}

func TestMetresAndCentimetresAreReadAsOneLength(t *testing.T) {
	t.Parallel()
	const mm = measure.Millimetre
	for text, want := range map[string]measure.Length{
		"1 m 20 cm": 1200 * mm, "1m20cm": 1200 * mm, "2 m 5 mm": 2005 * mm, "3 cm 5 mm": 35 * mm, "1 m 2,5 cm": 1025 * mm, "1 metre 20 centimetres": 1200 * mm,
	} {
		got, err := measure.ParseLength(text, measure.Inch)
		if assert.NoError(t, err, text) {
			assert.Equal(t, want, got, text)
		}
		q, err := measure.Convert(text, "mm", measure.Inch)
		if assert.NoError(t, err, text) {
			l, _ := q.Length()
			assert.Equal(t, want, l, text)
		}
	}
	size, err := measure.ParseSize("1 m 20 cm x 35 cm x 45 cm", measure.Inch)
	require.NoError(t, err)
	assert.Equal(t, measure.Size{1200 * mm, 350 * mm, 450 * mm}, size)
}

func TestAPriceKeepsItsCurrency(t *testing.T) {
	t.Parallel()
	for text, currency := range map[string]string{
		"7.50/bf": "", "$7.50/bf": "$", "US$ 7.50/bf": "US$", "USD 7.50 / bf": "USD", "7.50 usd per board foot": "usd", "7,50 €/m³": "€", "£5/ft": "£",
	} {
		got, err := measure.ParseQuantity(text, measure.Inch)
		if assert.NoError(t, err, text) {
			assert.True(t, got.Price, text)
			assert.Equal(t, currency, got.Currency, text)
		}
	}
}

func TestALengthIsAlsoGivenAsOne(t *testing.T) {
	t.Parallel()
	got, err := measure.Convert("2349.5 mm", "in", measure.Inch)
	require.NoError(t, err)
	length, ok := got.Length()
	assert.True(t, ok)
	text, _ := length.TapeFeet(16)
	assert.Equal(t, `7' 8-1/2"`, text)
	got, err = measure.Convert("3", "mm", 10*measure.Centimetre)
	require.NoError(t, err)
	assert.Equal(t, "300", got.Value, "a bare unit without a name of its own is counted in millimetres")
	for _, other := range [][2]string{{"1 lb", "kg"}, {"2/ft", "/m"}, {"1 bf", "m3"}, {"999999999 km", "mi"}} {
		got, err := measure.Convert(other[0], other[1], measure.Inch)
		require.NoError(t, err)
		_, ok := got.Length()
		assert.False(t, ok, "%s is no length, or none that fits", other[0])
	}
}

func TestEveryUnitIsReadBackFromItsName(t *testing.T) {
	t.Parallel()
	for _, name := range measure.UnitNames() {
		for _, spelling := range []string{name, strings.ToUpper(name), strings.ToLower(name)} {
			got, err := measure.ParseQuantity("2 "+spelling, measure.Millimetre)
			if assert.NoError(t, err, spelling) {
				assert.Equal(t, name, got.Unit, spelling)
			}
			same, err := got.To(name, measure.Millimetre)
			require.NoError(t, err)
			assert.Equal(t, "2", same.Value)
			assert.True(t, same.Exact)
		}
	}
}

func TestConvertingThereAndBackGivesTheSameNumber(t *testing.T) {
	t.Parallel()
	names := measure.UnitNames()
	rapid.Check(t, func(t *rapid.T) {
		from, to := rapid.SampledFrom(names).Draw(t, "from"), rapid.SampledFrom(names).Draw(t, "to")
		value := rapid.StringMatching(`[1-9][0-9]{0,4}(\.[0-9]{0,3}[1-9])?`).Draw(t, "value")
		q, err := measure.ParseQuantity(value+" "+from, measure.Inch)
		require.NoError(t, err)
		there, err := q.To(to, measure.Inch)
		if err != nil {
			assert.Contains(t, inputError(t, err).Problem, "is a unit of ")
			return
		}
		if whole, _, _ := strings.Cut(there.Value, "."); len(whole) > 9 || strings.HasPrefix(there.Value, "0.0000") || strings.HasPrefix(there.Value, "-") {
			return // more digits than ParseQuantity reads
		}
		if _, decimals, _ := strings.Cut(there.Value, "."); len(decimals) > 9 {
			return
		}
		back, err := measure.Convert(there.Value+" "+to, from, measure.Inch)
		require.NoError(t, err)
		want, _ := new(big.Rat).SetString(value)
		got, _ := new(big.Rat).SetString(back.Value)
		off := new(big.Rat).Sub(got, want)
		assert.LessOrEqual(t, off.Abs(off).Cmp(want.Mul(want, big.NewRat(1, 100_000))), 0, "%s %s is %s %s is %s", value, from, there.Value, to, back.Value)
	})
}

func TestTwiceTheQuantityIsTwiceTheAnswer(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		from := rapid.SampledFrom([]string{"in", "ft", "mm", "yd", "m"}).Draw(t, "from")
		n := rapid.IntRange(0, 1_000_000).Draw(t, "n")
		value := func(n int) *big.Rat {
			q, err := measure.ParseQuantity(big.NewInt(int64(n)).String()+" "+from, measure.Inch)
			require.NoError(t, err)
			got, err := q.To("µm", measure.Inch)
			require.NoError(t, err)
			require.True(t, got.Exact)
			r, _ := new(big.Rat).SetString(got.Value)
			return r
		}
		once := value(n)
		assert.Zero(t, value(2*n).Cmp(once.Add(once, once)))
	})
}
