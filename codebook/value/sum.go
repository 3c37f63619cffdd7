package value

import (
	"math"
	"strconv"
)

// A Sum adds numbers as they are added on paper: with the rounding errors of
// binary fractions carried along (Neumaier 1974) and the result at 15
// significant digits, so that 0.1 + 0.2 is 0.3. The zero Sum is 0.
type Sum struct{ sum, carry float64 }

// Add adds x.
func (s *Sum) Add(x float64) {
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
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(x, 'g', 15, 64), 64)
	if err != nil {
		return x
	}
	return rounded
}
