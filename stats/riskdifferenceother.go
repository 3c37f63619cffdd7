package stats

import (
	"fmt"
	"math"
)

// RiskDifferenceWald is the risk difference of RiskDifference with limits
//
//	d ± z sqrt(p1 (1−p1)/n1 + p0 (1−p0)/n0)
//
// cut at −1 and 1, and P of d over that error. It is here to answer printed
// tables: its coverage falls below the level in small groups, and it has no
// width where both risks are 0 or 1, which it refuses with ErrNoVariance. It
// returns ErrNoData when a group is empty.
//
// Reference: Newcombe RG. Stat Med 1998;17:873-890, method 1.
func RiskDifferenceWald(a, b, c, d int, opts LimitOptions) (Estimate, error) {
	t := twoByTwo{a, b, c, d}
	level := confidenceLevel(opts.Level)
	const measure = "risk difference"
	if err := t.check(measure); err != nil {
		return Estimate{}, err
	}
	n1, n0 := float64(a+b), float64(c+d)
	p1, p0 := float64(a)/n1, float64(c)/n0
	se := math.Sqrt(p1*(1-p1)/n1 + p0*(1-p0)/n0)
	if se == 0 {
		return Estimate{}, fmt.Errorf("%s of the table %d %d / %d %d: both risks are 0 or 1: %w", measure, a, b, c, d, ErrNoVariance)
	}
	value, half := p1-p0, criticalZ(level)*se
	return Estimate{
		Measure: measure, Value: value, Lower: math.Max(-1, value-half), Upper: math.Min(1, value+half),
		SE: se, Level: level, P: twoSidedNormalP(value / se), Method: "Wald limits",
	}, nil
}

// RiskDifferenceCorrected is RiskDifference with the limits of each risk being
// Wilson's with continuity correction (Newcombe's method 11): longer, coverage
// seldom below the level.
func RiskDifferenceCorrected(a, b, c, d int, opts LimitOptions) (Estimate, error) {
	e, err := RiskDifference(a, b, c, d, opts)
	if err != nil {
		return e, err
	}
	level := confidenceLevel(opts.Level)
	n1, n0 := a+b, c+d
	p1, p0 := float64(a)/float64(n1), float64(c)/float64(n0)
	l1, u1 := wilsonCorrectedLimits(a, n1, level)
	l0, u0 := wilsonCorrectedLimits(c, n0, level)
	e.Lower, e.Upper = math.Max(-1, e.Value-math.Hypot(p1-l1, u0-p0)), math.Min(1, e.Value+math.Hypot(u1-p1, p0-l0))
	e.Method = "Newcombe hybrid score limits with continuity correction"
	return e, nil
}

// RiskDifferenceMee is RiskDifferenceScore without the factor N/(N−1): Mee's
// limits (Newcombe's method 5).
//
// Reference: Mee RW. Confidence bounds for the difference between two
// probabilities. Biometrics 1984;40:1175-1176.
func RiskDifferenceMee(a, b, c, d int, opts LimitOptions) (Estimate, error) {
	e, err := riskDifferenceScore(twoByTwo{a, b, c, d}, opts, 1)
	e.Method = "score limits (Mee)"
	return e, err
}
