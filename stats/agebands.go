package stats

import "fmt"

// BelowBands is the Piece.Band of ages below the first lower bound.
const BelowBands = -1

// AgeDay is the study day on which a child becomes an age, given its age on day
// 0, both in years: (age − ageAtZero) × 365.25, not rounded.
func AgeDay(age, ageAtZero float64) float64 { return (age - ageAtZero) * DaysPerYear }

// SplitByAge cuts an interval at the days on which the child, aged ageAtZero
// years on day 0, reaches the lower bounds of age bands, in years and
// increasing. Band i holds ages from bounds[i] up to bounds[i+1]; the last
// band, len(bounds)−1, is open above, and ages below the first bound are in
// BelowBands. The child belongs to a band from the very day it reaches the
// bound. Amounts are shared out by days and add up to that of the interval.
func SplitByAge(iv Interval, ageAtZero float64, bounds []float64) []Piece {
	pieces := iv.SplitAt(ageDays(ageAtZero, bounds))
	for i := range pieces {
		pieces[i].Band += BelowBands
	}
	return pieces
}

func ageDays(ageAtZero float64, bounds []float64) []float64 {
	if !finite(ageAtZero) {
		panic(fmt.Sprintf("stats: age on day 0 is %v, expected a finite number of years", ageAtZero))
	}
	days := make([]float64, len(bounds))
	for i, age := range bounds {
		if !finite(age) || (i > 0 && !(age > bounds[i-1])) {
			panic(fmt.Sprintf("stats: age bounds %v, expected finite increasing years", bounds))
		}
		days[i] = AgeDay(age, ageAtZero)
	}
	return days
}

// SumByAge adds up the amounts of intervals by age band: below holds what falls
// below the first bound, bands[i] what falls in band i, as in SplitByAge. The
// intervals may overlap, as those of two sports do; a Union of them first gives
// calendar time.
func SumByAge(intervals []Interval, ageAtZero float64, bounds []float64) (below float64, bands []float64) {
	bands = make([]float64, len(bounds))
	for _, iv := range intervals {
		for _, piece := range SplitByAge(iv, ageAtZero, bounds) {
			if piece.Band == BelowBands {
				below += piece.Amount
			} else {
				bands[piece.Band] += piece.Amount
			}
		}
	}
	return below, bands
}
