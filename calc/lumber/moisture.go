package lumber

import (
	"errors"
	"math"
	"strconv"
	"strings"

	"tallystick/calc/measure"
)

// Moisture is a moisture content in percent of the ovendry weight.
type Moisture float64

// Plain is the moisture content to a tenth of a point: "9.2".
func (m Moisture) Plain() string { return tenths(float64(m)) }

// String is the moisture content with its sign: "9.2 %".
func (m Moisture) String() string { return m.Plain() + " %" }

// Celsius is a temperature in degrees Celsius.
type Celsius float64

// Fahrenheit is the same temperature in degrees Fahrenheit.
func (c Celsius) Fahrenheit() float64 { return float64(c)*1.8 + 32 }

// String is the temperature in degrees Celsius: "21.1 °C".
func (c Celsius) String() string { return tenths(float64(c)) + " °C" }

// InFahrenheit is the temperature in degrees Fahrenheit: "70 °F".
func (c Celsius) InFahrenheit() string { return tenths(c.Fahrenheit()) + " °F" }

// tenths is a number to one decimal, without a zero behind the point.
func tenths(x float64) string {
	return strconv.FormatFloat(math.Round(x*10)/10+0, 'f', -1, 64)
}

// ParseMoisture reads a moisture content from 0 to 300 %.
//
//	moisture = percent [ "MC" ] .      (* percent: as measure.ParsePercent reads it *)
func ParseMoisture(text string) (Moisture, error) {
	p, err := measure.ParsePercent(cutWord(text, "mc"))
	if err != nil {
		return 0, notAPercentage(text, err, "is not a moisture content", moistureHint)
	}
	m := Moisture(percentage(p))
	if m > maxMoisture {
		return 0, &measure.InputError{Value: text, Problem: "is wetter than wood gets", Hint: moistureHint}
	}
	return m, nil
}

const (
	moistureHint = "8% or 12%"
	// maxMoisture is above what the lightest wood can hold (Wood Handbook FPL-GTR-282,
	// p. 4-3: about 267 % at a basic specific gravity of 0.30).
	maxMoisture = 300
)

// notAPercentage keeps a question the grammar had, and otherwise says what was wanted.
func notAPercentage(text string, err error, problem, hint string) error {
	if asked, ok := errors.AsType[*measure.InputError](err); ok && strings.HasPrefix(asked.Problem, "may be") {
		return &measure.InputError{Value: text, Problem: asked.Problem, Hint: asked.Hint}
	}
	return &measure.InputError{Value: text, Problem: problem, Hint: hint}
}

func percentage(p measure.Percent) float64 {
	x, _ := p.Rat().Float64()
	return x * 100
}

// Humidity is the relative humidity of air in percent.
type Humidity float64

// String is the humidity with its sign: "45 %".
func (h Humidity) String() string { return tenths(float64(h)) + " %" }

// ParseHumidity reads a relative humidity above 0 and below 100 %.
//
//	humidity = percent [ "RH" ] .
func ParseHumidity(text string) (Humidity, error) {
	p, err := measure.ParsePercent(cutWord(text, "rh"))
	if err != nil {
		return 0, notAPercentage(text, err, "is not a relative humidity", humidityHint)
	}
	switch h := Humidity(percentage(p)); {
	case h >= 100:
		return 0, &measure.InputError{Value: text, Problem: "is air that can hold no more water, where the sum ends", Hint: humidityHint}
	case h <= 0:
		return 0, &measure.InputError{Value: text, Problem: "is air without water", Hint: humidityHint}
	default:
		return h, nil
	}
}

const humidityHint = "45% or 60%"

// Air is the climate that wood stands in.
type Air struct {
	Celsius
	Humidity
}

// The temperatures that are taken: 0 to 180 °F. The equation was held against the Dry
// Kiln Operator's Manual from 35 to 180 °F (North Carolina State University extension).
const (
	coldest = Celsius(-160.0 / 9)
	hottest = Celsius(740.0 / 9)
)

// InTable reports whether the handbook's table covers the air: 30 to 130 °F and 5 to
// 90 % (Wood Handbook FPL-GTR-190, Table 4-2).
func (a Air) InTable() bool {
	const slack = 1e-9
	f := a.Fahrenheit()
	return f >= 30-slack && f <= 130+slack && a.Humidity >= 5 && a.Humidity <= 90
}

// Check refuses a temperature that the equation was not held against.
func (c Celsius) Check(text string) error {
	const slack = 1e-9
	if c < coldest-slack || c > hottest+slack {
		return &measure.InputError{Value: text, Problem: "is outside 0 to 180 °F (-17.8 to 82.2 °C), where the equation holds", Hint: warmthKind.hint}
	}
	return nil
}

// Equilibrium is the moisture content that wood comes to in the air.
//
//	M = 1800/W · [ K·h/(1−K·h) + (K1·K·h + 2·K1·K2·K²·h²)/(1 + K1·K·h + K1·K2·K²·h²) ]
//
// h is the relative humidity as a share of one, and with T in °C
//
//	W  = 349 + 1.29·T + 0.0135·T²         K  = 0.805 + 0.000736·T − 0.00000273·T²
//	K1 = 6.27 − 0.00938·T − 0.000303·T²   K2 = 1.91 + 0.0407·T − 0.000293·T²
//
// (Wood Handbook FPL-GTR-282, 2021, eq. 4-5, p. 4-3: Simpson's fit of 1973.)
func (a Air) Equilibrium() Moisture {
	t, h := float64(a.Celsius), float64(a.Humidity)/100
	w := 349 + 1.29*t + 0.0135*t*t
	k := 0.805 + 0.000736*t - 0.00000273*t*t
	k1 := 6.27 - 0.00938*t - 0.000303*t*t
	k2 := 1.91 + 0.0407*t - 0.000293*t*t
	kh := k * h
	bound := (k1*kh + 2*k1*k2*kh*kh) / (1 + k1*kh + k1*k2*kh*kh)
	return Moisture(1800 / w * (kh/(1-kh) + bound))
}

// Target is the moisture content recommended for wood used indoors.
type Target struct {
	Region string
	// Average, Low and High are for the average of a batch and for any one piece.
	Average, Low, High Moisture
}

// Targets are for interior use in the United States (Wood Handbook FPL-GTR-190, 2010,
// Figure 13-1 and Table 13-2). The averages were looked up; the ranges are FROM MEMORY.
var Targets = []Target{
	{"most areas of the United States", 8, 6, 10},
	{"dry southwestern area", 6, 4, 9},
	{"damp, warm coastal area", 11, 8, 13},
}
