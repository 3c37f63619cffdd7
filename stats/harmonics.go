package stats

import (
	"fmt"
	"math"
)

// Harmonics are the seasonal terms of a number t, such as a day of the year or
// a week of the season: for each pair k = 1, …, Pairs the columns sin(2πkt/P)
// and cos(2πkt/P) of the period P. One pair is one smooth peak and trough a
// period; the model is the same wherever t starts.
//
// Reference: Stolwijk AM, Straatman H, Zielhuis GA. Studying seasonality by
// using sine and cosine functions in regression analysis. J Epidemiol Community
// Health 1999;53:235-238.
type Harmonics struct {
	Period float64 // in t's unit; 0 means DaysPerYear
	Pairs  int     // 0 means 1
}

func (h Harmonics) resolved() (period float64, pairs int) {
	period, pairs = h.Period, h.Pairs
	if period == 0 {
		period = DaysPerYear
	}
	if pairs == 0 {
		pairs = 1
	}
	if !(period > 0) || !finite(period) || pairs < 0 {
		panic(fmt.Sprintf("stats: harmonics of period %v in %d pairs, expected a positive period and at least one pair", h.Period, h.Pairs))
	}
	return period, pairs
}

// Names are the names of the columns: "sin 1", "cos 1", "sin 2", …
func (h Harmonics) Names() []string {
	_, pairs := h.resolved()
	var names []string
	for k := 1; k <= pairs; k++ {
		names = append(names, fmt.Sprintf("sin %d", k), fmt.Sprintf("cos %d", k))
	}
	return names
}

// At is the row of the terms at t. The cycle is reduced first, so that a t far
// from 0 loses no digits but its own.
func (h Harmonics) At(t float64) []float64 {
	period, pairs := h.resolved()
	part := math.Mod(t, period) / period
	row := make([]float64, 0, 2*pairs)
	for k := 1; k <= pairs; k++ {
		sin, cos := math.Sincos(2 * math.Pi * float64(k) * part)
		row = append(row, sin, cos)
	}
	return row
}

// SeasonPeak tells what one pair of coefficients of a model of log rates says:
// the time of the peak, from 0 up to the period, and the ratio of the rate at
// the peak to that at the trough, exp(2 sqrt(s² + c²)). With more than one pair
// it is of that pair alone. Coefficients of 0 have no peak: NaN.
func (h Harmonics) SeasonPeak(sin, cos float64) (peak, ratio float64) {
	period, _ := h.resolved()
	if sin == 0 && cos == 0 {
		return math.NaN(), 1
	}
	peak = math.Atan2(sin, cos) / (2 * math.Pi) * period
	if peak < 0 {
		peak += period
	}
	return peak, math.Exp(2 * math.Hypot(sin, cos))
}
