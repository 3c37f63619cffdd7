package stats

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"
)

// A StandardMethod is a way to make the limits of a directly standardised
// rate.
type StandardMethod int

const (
	// FayFeuer makes gamma limits with the largest weight in the upper one;
	// they hold their level, and are the default.
	FayFeuer StandardMethod = iota
	// ModifiedGamma takes the mean weight in place of the largest (Tiwari,
	// Clegg and Zou): shorter, with coverage near the level.
	ModifiedGamma
)

// String says how the limits were made.
func (m StandardMethod) String() string {
	switch m {
	case FayFeuer:
		return "gamma limits (Fay-Feuer)"
	case ModifiedGamma:
		return "modified gamma limits (Tiwari-Clegg-Zou)"
	}
	panic(fmt.Sprintf("stats: unknown StandardMethod %d", int(m)))
}

// StandardOptions are the choices of DirectStandardisation; the zero value is
// a level of 0.95, a rate per one unit of person-time and gamma limits.
type StandardOptions struct {
	Level  float64 // confidence level; 0 means 0.95
	Per    float64 // person-time the rate is expressed per; 0 means 1
	Method StandardMethod
}

// DirectStandardisation is the rate a group would have if its strata had the
// standard's weights:
//
//	y = Σ w[i] events[i],  w[i] = weights[i] / (personTime[i] Σ weights)
//
// Weights are person-times or numbers of the standard; their scale does not
// matter. With v = Σ w[i]² events[i] the lower limit is the gamma quantile
// with mean y and variance v, that is v/2y times the chi-squared quantile with
// 2y²/v degrees of freedom; the upper one replaces y by y+m and v by v+m²,
// where m is the largest w[i] (FayFeuer), or by y and v plus the means of w and
// w² over the strata (ModifiedGamma). With one stratum, or equal w, the former
// are Garwood's limits. Without events the lower limit is 0 and the upper one
// finite. SE is sqrt(v). A stratum without weight does not count, whatever it
// holds.
//
// It returns ErrNoPersonTime for a stratum that has weight and no person-time,
// for its rate is not known, and ErrNoData when no stratum has weight.
// Negative counts, person-times and weights are the caller's mistake.
//
// References: Fay MP, Feuer EJ. Confidence intervals for directly standardized
// rates: a method based on the gamma distribution. Stat Med 1997;16:791-801.
// Tiwari RC, Clegg LX, Zou Z. Efficient interval estimation for age-adjusted
// cancer rates. Stat Methods Med Res 2006;15:547-569.
func DirectStandardisation(events []int, personTime, weights []float64, opts StandardOptions) (Estimate, error) {
	const measure = "standardised rate"
	level, per := confidenceLevel(opts.Level), ratePer(opts.Per)
	w, counts, err := standardWeights(measure, events, personTime, weights)
	if err != nil {
		return Estimate{}, err
	}
	var rate, variance, first, second Sum
	largest := 0.0
	for i, x := range w {
		rate.Add(x * counts[i])
		variance.Add(x * x * counts[i])
		first.Add(x)
		second.Add(x * x)
		largest = math.Max(largest, x)
	}
	y, v := rate.Total(), variance.Total()
	m, m2 := largest, largest*largest
	if opts.Method == ModifiedGamma {
		n := float64(len(w))
		m, m2 = first.Total()/n, second.Total()/n
	}
	tail := (1 - level) / 2
	lower := 0.0
	if y > 0 {
		lower = v / y * mathext.GammaIncRegInv(y*y/v, tail)
	}
	upper := (v + m2) / (y + m) * mathext.GammaIncRegCompInv((y+m)*(y+m)/(v+m2), tail)
	return Estimate{
		Measure: measure,
		Value:   y * per,
		Lower:   lower * per,
		Upper:   upper * per,
		SE:      math.Sqrt(v) * per,
		Level:   level,
		P:       math.NaN(),
		Method:  opts.Method.String(),
	}, nil
}

// standardWeights gives the weight of one event in each stratum that has
// weight in the standard, and the events there.
func standardWeights(measure string, events []int, personTime, weights []float64) (w, counts []float64, err error) {
	if len(events) != len(personTime) || len(events) != len(weights) {
		panic(fmt.Sprintf("stats: %d counts, %d person-times and %d weights", len(events), len(personTime), len(weights)))
	}
	var sum Sum
	for i, k := range events {
		if k < 0 || !(personTime[i] >= 0) || !(weights[i] >= 0) || math.IsInf(personTime[i], 1) || math.IsInf(weights[i], 1) {
			panic(fmt.Sprintf("stats: stratum %d has %d events, person-time %v and weight %v, expected finite numbers of 0 or more", i, k, personTime[i], weights[i]))
		}
		sum.Add(weights[i])
	}
	total := sum.Total()
	if total == 0 {
		return nil, nil, fmt.Errorf("%s: no stratum has weight: %w", measure, ErrNoData)
	}
	for i, k := range events {
		if weights[i] == 0 {
			continue
		}
		if personTime[i] == 0 {
			return nil, nil, fmt.Errorf("%s: stratum %d of %d has weight in the standard: %w", measure, i+1, len(events), ErrNoPersonTime)
		}
		w = append(w, weights[i]/total/personTime[i])
		counts = append(counts, float64(k))
	}
	return w, counts, nil
}
