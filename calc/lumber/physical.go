package lumber

import (
	"errors"
	"strconv"
	"strings"

	"tallystick/calc/measure"
)

// physical is one kind of quantity that is read as an estimate.
type physical struct {
	what string // "a weight"
	// si is the unit estimates of the kind are counted in; inch and metric are what a
	// bare number takes in either system.
	si, inch, metric string
	hint             string
	perSI            float64 // how many SI units are in one si
	signed           bool
}

var (
	massKind     = physical{what: "a weight", si: "kg", inch: "lb", metric: "kg", hint: "80 lb or 36 kg", perSI: 1}
	densityKind  = physical{what: "a density", si: "kg/m3", inch: "g/cm3", metric: "g/cm3", hint: "1.12 or 9.3 lb/US gal", perSI: 1}
	areaKind     = physical{what: "an area", si: "m2", inch: "ft2", metric: "m2", hint: "24 ft2 or 48 x 24 in", perSI: 1}
	coverageKind = physical{what: "a coverage", si: "m2/L", inch: "ft2/US gal", metric: "m2/L", hint: "400 ft2/US gal or 10 m2/L", perSI: 1e3}
	warmthKind   = physical{what: "a temperature", si: "°C", inch: "°F", metric: "°C", hint: "70F or 21C", perSI: 1, signed: true}
)

// ParseMass reads a weight, in kilograms. A bare number is pounds where bare is an
// inch, else kilograms.
//
//	mass = number [ unit ] .          (* unit: as measure.ParseQuantity lists them *)
func ParseMass(text string, bare measure.Length) (Estimate, error) {
	x, err := massKind.read(text, bare)
	return Estimate(x), err
}

// ParseDensity reads a density, in kilograms per cubic metre. A bare number is grams
// per cubic centimetre, as data sheets print it.
func ParseDensity(text string, bare measure.Length) (Estimate, error) {
	x, err := densityKind.read(text, bare)
	return Estimate(x), err
}

// ParseCoverage reads how far a finish goes, in square metres per cubic metre. A bare
// number is square feet per US gallon where bare is an inch, else square metres per
// litre.
func ParseCoverage(text string, bare measure.Length) (Estimate, error) {
	x, err := coverageKind.read(text, bare)
	return Estimate(x), err
}

// ParseTemperature reads a temperature. A bare number is in degrees Fahrenheit where
// bare is an inch, else in degrees Celsius.
func ParseTemperature(text string, bare measure.Length) (Celsius, error) {
	x, err := warmthKind.read(text, bare)
	return Celsius(x), err
}

// ParseArea reads an area in square metres: an area with its unit, or a size. The size
// of a face is its two sides multiplied; of three sides all six faces are counted, and
// faces says how many.
//
//	area = number [ areaunit ] | size .
func ParseArea(text string, bare measure.Length) (area Estimate, faces int, err error) {
	if size, err := measure.ParseSize(text, bare); err == nil {
		if len(size) == 2 {
			return squareMetres(measure.AreaOf(size[0], size[1])), 1, nil
		}
		var sum measure.Area
		for k := range size {
			face := measure.AreaOf(size[k], size[(k+1)%len(size)])
			sum = sum.Plus(face).Plus(face)
		}
		return squareMetres(sum), 6, nil
	}
	x, err := areaKind.read(text, bare)
	return Estimate(x), 0, err
}

// read gives the quantity in SI units. Apart from temperatures it is above zero.
func (p physical) read(text string, bare measure.Length) (float64, error) {
	full := strings.TrimSpace(text)
	if _, err := measure.ParseNumber(strings.TrimPrefix(full, "-")); err == nil {
		unit := p.metric
		if bare%measure.Inch == 0 {
			unit = p.inch
		}
		full += " " + unit
	}
	q, err := measure.ParseQuantity(full, bare)
	if err != nil {
		return 0, p.mistake(text, err)
	}
	c, err := q.To(p.si, bare)
	if err != nil || q.Price {
		return 0, &measure.InputError{Value: text, Problem: "is not " + p.what, Hint: p.hint}
	}
	x, err := strconv.ParseFloat(c.Value, 64)
	if err != nil {
		return 0, p.mistake(text, err)
	}
	if x == 0 && !p.signed {
		return 0, &measure.InputError{Value: text, Problem: "is nothing at all", Hint: p.hint}
	}
	return x * p.perSI, nil
}

// mistake keeps what the grammar found, about the text as it was typed.
func (p physical) mistake(text string, err error) error {
	e := &measure.InputError{Value: text, Problem: "is not " + p.what, Hint: p.hint}
	if found, ok := errors.AsType[*measure.InputError](err); ok && found.Problem != "is not a quantity" {
		e.Problem = found.Problem
		// Units that could be meant are worth more than an example.
		if strings.HasPrefix(found.Problem, "may be") {
			e.Hint = found.Hint
		}
	}
	return e
}
