package lumber

import (
	"math"

	"tallystick/calc/measure"
)

// usualMoisture is the moisture content at which the handbook gives weights, in percent.
const usualMoisture = 12

// water is the density of water that the handbook counts with, in kg/m³.
const water = 1000

// densityAt is the density of wood, water included.
//
//	ρ = 1000·G·(1 + M/100)
//
// in kg/m³, with G the ovendry mass by the volume at the same moisture content M in
// percent, over the density of water (Wood Handbook FPL-GTR-282, 2021, eq. 4-14, p. 4-12).
func densityAt(gravity float64, m Moisture) Estimate {
	return Estimate(water * gravity * (1 + float64(m)/100))
}

// shrunk is the share of its green volume that wood has lost at a moisture content.
//
//	S = S0·(1 − M/30), and none above 30 %       (eq. 4-9, p. 4-10)
func shrunk(total float64, m Moisture) float64 {
	return total / 100 * math.Max(0, 1-float64(m)/usualStart)
}

// gravityFromBasic is the specific gravity on the volume at a moisture content, from
// that on green volume.
//
//	G = Gb / (1 − S)                             (eq. 4-11, p. 4-12)
func gravityFromBasic(basic, total float64, m Moisture) float64 {
	return basic / (1 - shrunk(total, m))
}

// totalShrinkage is the wood's shrinkage of volume, green to ovendry, in percent. Where
// none is published it is estimated.
//
//	S0 = 26.5·Gb                                 (eq. 4-12, p. 4-12)
func (s Species) totalShrinkage() float64 {
	switch {
	case s.Volumetric > 0:
		return s.Volumetric
	case s.OnGreenVolume:
		return 26.5 * s.SpecificGravity
	}
	// Gb = G·(1 − 0.265·Gb·0.6), solved for Gb.
	part := 1 - float64(usualMoisture)/usualStart
	return 26.5 * s.SpecificGravity / (1 + 0.265*part*s.SpecificGravity)
}

// Basic is the ovendry mass by green volume, over the density of water.
func (s Species) Basic() float64 {
	if s.OnGreenVolume {
		return s.SpecificGravity
	}
	return s.SpecificGravity * (1 - shrunk(s.totalShrinkage(), usualMoisture))
}

// Density is the density of the wood at a moisture content, water included.
func (s Species) Density(m Moisture) Estimate {
	return densityAt(gravityFromBasic(s.Basic(), s.totalShrinkage(), m), m)
}

// Wettest is the most water that the wood can hold.
//
//	M = 100·(1.54 − Gb) / (1.54·Gb)              (eq. 4-3, p. 4-3)
func (s Species) Wettest() Moisture { return wettest(s.Basic()) }

func wettest(basic float64) Moisture {
	const cellWall = 1.54
	return Moisture(100 * (cellWall - basic) / (cellWall * basic))
}

// Weight is the mass of a lot whose boards were measured at the given moisture content.
// Heaviest is that of its heaviest board.
func (s Species) Weight(lot measure.Lot, m Moisture) (total, heaviest Estimate, err error) {
	if s.SpecificGravity == 0 {
		return 0, 0, &measure.InputError{Value: s.Name, Problem: "has no published weight in my tables", Hint: speciesHint}
	}
	if most := s.Wettest(); m > most {
		return 0, 0, &measure.InputError{Value: m.Plain() + "%", Problem: "is more water than this wood can hold, about " + wholePercent(most), Hint: moistureHint}
	}
	density := s.Density(m)
	for _, line := range lot {
		heaviest = max(heaviest, density*cubicMetres(line.Board.Volume()))
	}
	return density * cubicMetres(lot.Volume()), heaviest, nil
}

func wholePercent(m Moisture) string { return tenths(math.Round(float64(m))) + " %" }

// LiftingLimit is the load constant of the lifting equation for ideal conditions: 51 lb
// (NIOSH Publication 94-110). The metric form, 23 kg, is FROM MEMORY.
const LiftingLimit Estimate = 23
