package stats

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"
)

// A RateMethod is a way to make the limits of a Poisson count, and so of a
// rate or a standardised ratio.
type RateMethod int

const (
	// Garwood is exact: its coverage is never below the level. It is the
	// default.
	Garwood RateMethod = iota
	// PoissonMidP counts half the probability of the observed count in either
	// tail: shorter than Garwood's limits, with coverage near the level rather
	// than above it.
	PoissonMidP
	// Byar is Byar's closed approximation to Garwood's limits, as handbooks
	// print it.
	Byar
)

// String says how the limits were made.
func (m RateMethod) String() string {
	switch m {
	case Garwood:
		return "exact Poisson limits (Garwood)"
	case PoissonMidP:
		return "mid-P Poisson limits"
	case Byar:
		return "Byar's approximate Poisson limits"
	}
	panic(fmt.Sprintf("stats: unknown RateMethod %d", int(m)))
}

// limits returns the limits of a Poisson mean at which events were counted.
func (m RateMethod) limits(events int, level float64) (lower, upper float64) {
	switch m {
	case Garwood:
		return poissonLimits(events, level)
	case PoissonMidP:
		return poissonMidPLimits(events, level)
	case Byar:
		return byarLimits(events, level)
	}
	panic(fmt.Sprintf("stats: unknown RateMethod %d", int(m)))
}

// poissonMidPLimits solves
//
//	P(X > events | L) + P(X = events | L)/2 = (1-level)/2
//
// for the lower limit L and the same with < for the upper one. Both lie within
// Garwood's, whose tails count the whole of P(X = events). The lower limit of
// no events is 0 and the upper one −log(1−level).
//
// Reference: Rothman KJ, Greenland S. Modern Epidemiology, 2nd ed.
// Lippincott-Raven, 1998, ch. 14.
func poissonMidPLimits(events int, level float64) (lower, upper float64) {
	tail := (1 - level) / 2
	if events == 0 {
		return 0, -math.Log1p(-level)
	}
	k := float64(events)
	logFactorial, _ := math.Lgamma(k + 1)
	half := func(mean float64) float64 { return math.Exp(k*math.Log(mean)-mean-logFactorial) / 2 }
	above := func(mean float64) float64 { return mathext.GammaIncReg(k+1, mean) + half(mean) - tail }
	below := func(mean float64) float64 { return mathext.GammaIncRegComp(k, mean) + half(mean) - tail }
	exactLower, exactUpper := poissonLimits(events, level)
	return bisect(above, exactLower, k+1), bisect(below, math.Min(k, exactLower), exactUpper)
}

// byarLimits is the cube-root approximation
//
//	L = k (1 − 1/9k − z/3√k)³,  U = (k+1) (1 − 1/9(k+1) + z/3√(k+1))³
//
// with L = 0 for no events. Where L would fall below 0, for one event at a
// high level, it is 0.
//
// Reference: Breslow NE, Day NE. Statistical Methods in Cancer Research, vol.
// II. IARC, 1987, p. 69.
func byarLimits(events int, level float64) (lower, upper float64) {
	z, k := criticalZ(level), float64(events)
	if events > 0 {
		lower = math.Max(0, k*cube(1-1/(9*k)-z/(3*math.Sqrt(k))))
	}
	return lower, (k + 1) * cube(1-1/(9*(k+1))+z/(3*math.Sqrt(k+1)))
}

func cube(x float64) float64 { return x * x * x }
