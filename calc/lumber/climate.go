package lumber

import (
	"slices"
	"strings"
	"unicode"

	"tallystick/calc/measure"
)

// Condition is what wood is brought to: a moisture content, or the air it will stand in
// long enough.
type Condition struct {
	// Moisture is the content the wood has or comes to.
	Moisture Moisture
	// Air is set where the condition was given as a climate.
	Air *Air
}

const conditionHint = "8% or 45% 70F"

// ParseCondition reads a moisture content, or a climate as its humidity and its
// temperature in either order.
//
//	condition   = moisture | climate .
//	moisture    = percent [ "MC" ] .
//	climate     = humidity [ "," | "at" | "and" ] temperature
//	            | temperature [ "," | "at" | "and" ] humidity .
//	humidity    = percent [ "RH" ] .
//	temperature = number [ degree ] .
//	degree      = "F" | "°F" | "C" | "°C" | … .      (* as measure reads them *)
//
// In a climate the percent sign may be left out where the temperature has its degree,
// and the degree where the humidity has its sign; it is then °F where bare is an inch,
// else °C. One percentage above 30 without MC is asked about: it may be a humidity.
func ParseCondition(text string, bare measure.Length) (Condition, error) {
	if len(text) > maxSpeciesText {
		return Condition{}, &measure.InputError{Value: text, Problem: "is too long for a climate", Hint: conditionHint}
	}
	parts, humid := conditionParts(text)
	switch len(parts) {
	case 1:
		return moistureAlone(text, parts[0], humid)
	case 2:
		return climate(text, parts, bare)
	}
	return Condition{}, &measure.InputError{Value: text, Problem: "is neither a moisture content nor a humidity with a temperature", Hint: conditionHint}
}

func moistureAlone(text, part string, humid bool) (Condition, error) {
	m, err := ParseMoisture(part)
	switch {
	case err != nil && isTemperature(part):
		return Condition{}, &measure.InputError{Value: text, Problem: "is a temperature without a humidity", Hint: "45% " + part}
	case err != nil:
		return Condition{}, &measure.InputError{Value: text, Problem: "is neither a moisture content nor a humidity with a temperature", Hint: conditionHint}
	case humid:
		return Condition{}, &measure.InputError{Value: text, Problem: "is a humidity without a temperature", Hint: part + " 70F or " + part + " 21C"}
	case m > usualStart && !strings.Contains(strings.ToLower(text), "mc"):
		return Condition{}, &measure.InputError{Value: text, Problem: "may be wood that is still wet, or a humidity without its temperature", Hint: part + " MC or " + part + " 70F"}
	}
	return Condition{Moisture: m}, nil
}

func climate(text string, parts []string, bare measure.Length) (Condition, error) {
	humid := slices.IndexFunc(parts, func(p string) bool { return strings.Contains(p, "%") })
	if humid < 0 {
		humid = slices.IndexFunc(parts, func(p string) bool { return !hasDegree(p) })
		if humid < 0 || !hasDegree(parts[1-humid]) {
			return Condition{}, &measure.InputError{Value: text, Problem: "does not say which is the humidity", Hint: "45% 70F"}
		}
	}
	h, err := ParseHumidity(parts[humid])
	if err != nil {
		return Condition{}, err
	}
	c, err := ParseTemperature(parts[1-humid], bare)
	if err != nil {
		return Condition{}, &measure.InputError{Value: text, Problem: "is neither a moisture content nor a humidity with a temperature", Hint: conditionHint}
	}
	if err := c.Check(parts[1-humid]); err != nil {
		return Condition{}, err
	}
	air := Air{Celsius: c, Humidity: h}
	return Condition{Moisture: air.Equilibrium(), Air: &air}, nil
}

// conditionParts parts the values of a condition and tells whether one is called a
// humidity.
func conditionParts(text string) (parts []string, humid bool) {
	spaced := strings.NewReplacer("%", "% ", "°", " °", "º", " °", ";", " ", "@", " ").Replace(text)
	for word := range strings.FieldsSeq(spaced) {
		word = strings.Trim(word, ",")
		switch strings.ToLower(word) {
		case "", "at", "and", "mc", "emc", "moisture":
		case "rh", "humidity", "relative":
			humid = true
		default:
			begins := []rune(word)[0]
			if number := unicode.IsDigit(begins) || begins == '-' || begins == '.' || begins == '−'; number || len(parts) == 0 {
				parts = append(parts, word)
			} else {
				parts[len(parts)-1] += word
			}
		}
	}
	return parts, humid
}

func isTemperature(part string) bool {
	_, err := ParseTemperature(part, measure.Millimetre)
	return err == nil
}

// hasDegree reports whether a value says in which scale it is.
func hasDegree(part string) bool {
	return strings.IndexFunc(part, unicode.IsLetter) >= 0 || strings.Contains(part, "°")
}

// cutWord drops one word from the end of a text, in either case.
func cutWord(text, word string) string {
	text = strings.TrimSpace(text)
	if at := len(text) - len(word); at > 0 && strings.EqualFold(text[at:], word) {
		return strings.TrimSpace(text[:at])
	}
	return text
}
