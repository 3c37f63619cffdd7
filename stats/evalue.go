package stats

import (
	"fmt"
	"math"
)

// An EValueScale says what an estimate is, and so how it becomes a risk ratio.
type EValueScale int

const (
	// RiskRatioScale is a risk ratio or a rate ratio, taken as it is.
	RiskRatioScale EValueScale = iota
	// RareOddsRatio is an odds ratio of an outcome below about 15%, taken for a
	// risk ratio.
	RareOddsRatio
	// CommonOddsRatio becomes the risk ratio √OR.
	CommonOddsRatio
	// RareHazardRatio is a hazard ratio of an outcome below about 15% at the end
	// of follow-up, taken for a risk ratio.
	RareHazardRatio
	// CommonHazardRatio becomes (1 − 0.5^√HR)/(1 − 0.5^√(1/HR)).
	CommonHazardRatio
	// StandardisedDifference is a difference of means over the standard
	// deviation of the outcome; it becomes exp(0.91 d).
	StandardisedDifference
)

// An EValueResult says how strong an unmeasured confounder must be.
type EValueResult struct {
	Scale               EValueScale
	Ratio, Lower, Upper float64 // the estimate and its limits as risk ratios
	// Value is the E-value of the estimate, Limit that of the confidence limit
	// nearer 1: 1 where the limits include 1, NaN without limits.
	Value, Limit float64
}

// EValue is the smallest association, as a risk ratio, that an unmeasured
// confounder must have with both the exposure and the outcome, beyond the
// covariates adjusted for, to explain away an estimate:
//
//	E = RR + √(RR(RR−1)),  with 1/RR in place of RR below 1.
//
// Other scales become risk ratios first, as EValueScale says; for odds and
// hazard ratios of common outcomes and for standardised differences that is an
// approximation. The limit nearer 1 is treated likewise; for a standardised
// difference with standard error s the limits d ± 1.96 s so become
// exp(0.91 d ± 1.78 s). NaN limits leave Limit NaN; an unbounded limit is
// allowed.
//
// It is a statement about one confounder of the worst kind, not evidence that
// there is or is none. It returns ErrNotFinite for an estimate that is no number
// or infinite and ErrZeroCell for a ratio of 0. Negative ratios and limits that
// do not hold the estimate between them are the caller's mistake.
//
// Reference: VanderWeele TJ, Ding P. Sensitivity analysis in observational
// research: introducing the E-value. Ann Intern Med 2017;167:268-274.
// VanderWeele TJ. On a causal interpretation of odds ratios (square root
// transformation): Epidemiology 2017;28:e58-e60 (from memory).
func EValue(scale EValueScale, value, lower, upper float64) (EValueResult, error) {
	r := EValueResult{Scale: scale}
	switch {
	case !finite(value):
		return r, fmt.Errorf("confounding that explains away %v: %w", value, ErrNotFinite)
	case lower > value || upper < value:
		panic(fmt.Sprintf("stats: limits %v to %v do not hold the estimate %v", lower, upper, value))
	}
	if scale != StandardisedDifference {
		if value < 0 || lower < 0 {
			panic(fmt.Sprintf("stats: ratio %v (%v to %v), expected 0 or more", value, lower, upper))
		}
		if value == 0 {
			return r, fmt.Errorf("confounding that explains away a ratio of 0: %w", ErrZeroCell)
		}
	}
	r.Ratio, r.Lower, r.Upper = asRiskRatio(scale, value), asRiskRatio(scale, lower), asRiskRatio(scale, upper)
	r.Value = evalue(r.Ratio)
	switch {
	case math.IsNaN(lower) || math.IsNaN(upper):
		r.Limit = math.NaN()
	case r.Lower <= 1 && r.Upper >= 1:
		r.Limit = 1
	case r.Lower > 1:
		r.Limit = evalue(r.Lower)
	default:
		r.Limit = evalue(r.Upper)
	}
	return r, nil
}

func evalue(ratio float64) float64 {
	if ratio < 1 {
		ratio = 1 / ratio
	}
	return ratio + math.Sqrt(ratio*(ratio-1))
}

func asRiskRatio(scale EValueScale, x float64) float64 {
	switch scale {
	case RiskRatioScale, RareOddsRatio, RareHazardRatio:
		return x
	case CommonOddsRatio:
		return math.Sqrt(x)
	case CommonHazardRatio:
		// 1 − 0.5^y = −expm1(−y ln 2), without cancellation near 0.
		root := math.Sqrt(x)
		switch {
		case root == 0:
			return 0
		case math.IsInf(root, 1):
			return root
		}
		return math.Expm1(-root*math.Ln2) / math.Expm1(-math.Ln2/root)
	case StandardisedDifference:
		return math.Exp(0.91 * x)
	}
	panic(fmt.Sprintf("stats: unknown EValueScale %d", scale))
}

// BoundingFactor is the most by which a confounder can have moved a risk ratio:
// with outcome the largest risk ratio of the outcome between its levels, within
// the exposed or the unexposed, and exposure the largest by which the exposed
// have one of its levels more often,
//
//	B = outcome · exposure / (outcome + exposure − 1).
//
// The true ratio is at least RR/B for a ratio above 1, and at most RR·B for one
// below. Both must be 1 or more; an association below is entered as its inverse.
//
// Reference: Ding P, VanderWeele TJ. Sensitivity analysis without assumptions.
// Epidemiology 2016;27:368-377.
func BoundingFactor(outcome, exposure float64) float64 {
	if !(outcome >= 1 && exposure >= 1) || math.IsInf(outcome, 1) || math.IsInf(exposure, 1) {
		panic(fmt.Sprintf("stats: associations %v and %v of a confounder, expected finite ratios of 1 or more", outcome, exposure))
	}
	// Without overflow: B = 1/(1/a + 1/b − 1/(ab)).
	a, b := 1/outcome, 1/exposure
	return 1 / (a + b - a*b)
}
