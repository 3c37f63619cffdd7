package value

import (
	"math"
	"strconv"
)

// A Sum adds numbers as they are added on paper: with the rounding errors of
// binary fractions carried along (Neumaier 1974) and the result at 15
// significant digits of what went into it, signs left out, so that 0.1 + 0.2 is
// 0.3 and 0.5 + 4.4 − 5 is −0.1. The zero Sum is 0.
type Sum struct{ sum, carry, size float64 }

// Add adds x.
func (s *Sum) Add(x float64) {
	s.size += math.Abs(x)
	t := s.sum + x
	if math.Abs(s.sum) >= math.Abs(x) {
		s.carry += (s.sum - t) + x
	} else {
		s.carry += (x - t) + s.sum
	}
	s.sum = t
}

// Value is the sum so far.
func (s *Sum) Value() float64 {
	x := s.sum + s.carry
	if math.IsNaN(x) || math.IsInf(x, 0) || x == math.Trunc(x) {
		return x
	}
	digits, form := 15, byte('g')
	// Each number is off by up to 2⁻⁵³ of itself, which the digits that
	// cancelled leave in plain sight: keep the places of 15 digits of the size.
	if places := 14 - int(math.Floor(math.Log10(s.size))); places >= 0 {
		digits, form = places, 'f'
	}
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(x, form, digits, 64), 64)
	if err != nil {
		return x
	}
	return rounded
}
