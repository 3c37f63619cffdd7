package stats

import "math"

// A Sum adds up numbers and carries the digits that plain addition loses, so
// that tenths of hours add up to whole ones. The zero value is an empty sum.
//
// Neumaier A. Rundungsfehleranalyse einiger Verfahren zur Summation endlicher
// Summen. Z Angew Math Mech 1974;54:39-51.
type Sum struct{ sum, lost float64 }

// Add adds x.
func (s *Sum) Add(x float64) {
	t := s.sum + x
	if math.Abs(s.sum) >= math.Abs(x) {
		s.lost += (s.sum - t) + x
	} else {
		s.lost += (x - t) + s.sum
	}
	s.sum = t
}

// Total is the sum of what was added.
func (s *Sum) Total() float64 {
	if math.IsInf(s.sum, 0) {
		return s.sum
	}
	return s.sum + s.lost
}
