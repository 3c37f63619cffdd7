package stats

import (
	"fmt"
	"math"
)

// A BiasDistribution is a distribution of a probability, such as a sensitivity,
// as a declared belief. Make one with Known, UniformBelief, TriangularBelief,
// TrapezoidalBelief or BetaBelief.
type BiasDistribution struct {
	shape      string
	a, b, c, d float64
}

// Known is a probability without doubt.
func Known(p float64) BiasDistribution { return trapezoid("known", p, p, p, p) }

// UniformBelief is even between least and most.
func UniformBelief(least, most float64) BiasDistribution {
	return trapezoid("uniform", least, least, most, most)
}

// TriangularBelief rises from least to mode and falls to most.
func TriangularBelief(least, mode, most float64) BiasDistribution {
	return trapezoid("triangular", least, mode, mode, most)
}

// TrapezoidalBelief rises from least to low, is even to high and falls to most.
func TrapezoidalBelief(least, low, high, most float64) BiasDistribution {
	return trapezoid("trapezoidal", least, low, high, most)
}

// BetaBelief is the beta distribution, as of a validation study in which alpha−1
// of alpha+beta−2 persons were rated rightly.
func BetaBelief(alpha, beta float64) BiasDistribution {
	if !(alpha > 0 && beta > 0) || math.IsInf(alpha, 1) || math.IsInf(beta, 1) {
		panic(fmt.Sprintf("stats: beta distribution with parameters %v and %v, expected both above 0", alpha, beta))
	}
	return BiasDistribution{shape: "beta", a: alpha, b: beta}
}

func trapezoid(shape string, a, b, c, d float64) BiasDistribution {
	if !(0 <= a && a <= b && b <= c && c <= d && d <= 1) {
		panic(fmt.Sprintf("stats: %s distribution of %v, %v, %v, %v, expected an order within 0 to 1", shape, a, b, c, d))
	}
	return BiasDistribution{shape: shape, a: a, b: b, c: c, d: d}
}

// String names the distribution with its parameters.
func (b BiasDistribution) String() string {
	switch b.shape {
	case "known":
		return fmt.Sprintf("%g", b.a)
	case "uniform":
		return fmt.Sprintf("uniform(%g, %g)", b.a, b.d)
	case "triangular":
		return fmt.Sprintf("triangular(%g, %g, %g)", b.a, b.b, b.d)
	case "trapezoidal":
		return fmt.Sprintf("trapezoidal(%g, %g, %g, %g)", b.a, b.b, b.c, b.d)
	case "beta":
		return fmt.Sprintf("beta(%g, %g)", b.a, b.b)
	}
	return "no distribution"
}

// quantile inverts the distribution function at u in (0, 1).
func (b BiasDistribution) quantile(u float64) float64 {
	switch b.shape {
	case "beta":
		x, _ := betaQuantile(b.a, b.b, u)
		return x
	case "":
		panic("stats: a BiasDistribution that was not made, expected Known, UniformBelief and the like")
	}
	rise, flat, fall := (b.b-b.a)/2, b.c-b.b, (b.d-b.c)/2
	area := u * (rise + flat + fall) // the height is 1
	switch {
	case rise+flat+fall == 0:
		return b.a
	case area < rise:
		return b.a + math.Sqrt(2*area*(b.b-b.a))
	case area <= rise+flat:
		return b.b + (area - rise)
	}
	rest := (1 - u) * (rise + flat + fall)
	return b.d - math.Sqrt(2*rest*(b.d-b.c))
}
