package price

import (
	"time"

	"tallystick/calc/measure"
)

// NormalTime is what timed runs of an operation come to at a normal pace: their
// mean times the rating, where 100 % is a normal pace and 120 % a brisk one that
// most days would not keep. It is rounded half to even to the nanosecond.
//
// Formula: Heizer & Render, Operations Management, chapter 10. FROM MEMORY.
func NormalTime(runs []time.Duration, rating measure.Percent) (time.Duration, error) {
	if len(runs) == 0 {
		return 0, &measure.InputError{Problem: "names no timed run", Hint: "8 min; 10 min; 9 min"}
	}
	sum := number{}
	for _, r := range runs {
		sum = sum.Add(inNanoseconds(r))
	}
	e := exact{num: sum.Mul(scaled(rating.Fraction())), den: whole(int64(len(runs)))}
	return time.Duration(e.halfEven(0).Decimal().IntPart()), nil
}

// StandardTime adds the allowance for fetching, cleaning and rest to a normal
// time. The allowance is a share of the whole time, so that it divides,
// normal/(1−A); as a share of the normal time it would multiply, which is the
// other convention. It is rounded half to even to the nanosecond.
//
// Formula: Heizer & Render, Operations Management, chapter 10. FROM MEMORY.
func StandardTime(normal time.Duration, allowance Fraction) (time.Duration, error) {
	e := exact{num: inNanoseconds(normal), den: allowance.left()}
	nanoseconds, is := e.halfEven(0).Int64()
	if !is || nanoseconds > int64(mostMinutes*time.Minute) {
		return 0, &measure.InputError{Value: allowance.Percent() + "%", Problem: "leaves so little working time that I cannot count the rest", Hint: "15%"}
	}
	return time.Duration(nanoseconds), nil
}
