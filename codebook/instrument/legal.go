package instrument

import (
	"fmt"
	"math"
	"strconv"
)

// A Legal is the set of values that an input allows: from Min to Max, in steps
// of Step from Min, or every number between where Step is 0.
type Legal struct {
	Min, Max, Step float64
}

// The legal values of the instruments' inputs.
var (
	PostureItem  = Legal{-2, 2, 1}
	PostureTotal = Legal{-12, 12, 1}
	Area         = Legal{0, math.MaxFloat64, 0}
	Ratio        = Legal{0, 1, 0}
	VAS          = Legal{0, 100, 0}
	NRS          = Legal{0, 10, 1}
	FacesScore   = Legal{0, 10, 2}
	FaceNumber   = Legal{1, 6, 1}
	OxfordItem   = Legal{0, 4, 1}
	Angle        = Legal{-90, 90, 0}
	Height       = Legal{0, math.MaxFloat64, 0} // of the navicular above the floor
)

// Has reports whether x is legal. Infinity and NaN never are.
func (l Legal) Has(x float64) bool {
	if !(x >= l.Min && x <= l.Max) {
		return false
	}
	return l.Step == 0 || math.Mod(x-l.Min, l.Step) == 0
}

// String describes the values: "a whole number from -2 to 2".
func (l Legal) String() string {
	write := func(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
	noun := "a number"
	switch l.Step {
	case 0:
	case 1:
		noun = "a whole number"
	default:
		list := ""
		for x := l.Min; x <= l.Max; x += l.Step {
			if x > l.Min {
				list += ", "
			}
			list += write(x)
		}
		return "one of " + list
	}
	if l.Max == math.MaxFloat64 {
		return fmt.Sprintf("%s of at least %s", noun, write(l.Min))
	}
	return fmt.Sprintf("%s from %s to %s", noun, write(l.Min), write(l.Max))
}

// check refuses a value that is not legal.
func (l Legal) check(what string, x float64) error {
	if l.Has(x) {
		return nil
	}
	return fmt.Errorf("%w: %s is %v, expected %v", ErrIllegal, what, x, l)
}
