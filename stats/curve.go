package stats

import (
	"fmt"
	"math"
	"slices"
	"sort"
)

// A CurvePoint is a Curve read at one time.
type CurvePoint struct {
	Time         float64
	AtRisk       int // just before Time, as in Curve.RiskTable
	Survival     float64
	SE           float64
	Lower, Upper float64
}

// At reads the curve at a time: the value of the last step at or before it.
// Before the first step survival is 1 with SE 0. After the last time anyone
// was observed survival, SE and limits are NaN, unless the curve had reached 0.
func (c Curve) At(t float64) CurvePoint {
	p := CurvePoint{Time: t, AtRisk: c.atRisk(t), Survival: math.NaN(), SE: math.NaN(), Lower: math.NaN(), Upper: math.NaN()}
	last := len(c.Time) - 1
	i := sort.Search(len(c.Time), func(i int) bool { return c.Time[i] > t }) - 1
	switch {
	case math.IsNaN(t) || last < 0:
	case i < 0:
		p.Survival, p.SE = 1, 0
		if c.limits == LimitsLog || c.limits == LimitsPlain || c.limits == LimitsArcsine {
			p.Lower, p.Upper = 1, 1
		}
	case i == last && t > c.Time[last] && c.Survival[last] > 0:
	default:
		p.Survival, p.SE, p.Lower, p.Upper = c.Survival[i], c.SE[i], c.Lower[i], c.Upper[i]
	}
	return p
}

// RiskTable returns the row of a risk table: for each time the number at risk
// just before it, and the events and censorings up to and including it. At the
// earliest entry itself the rows that enter there are counted as at risk, so
// that a table starting at the origin starts with them.
func (c Curve) RiskTable(times []float64) (atRisk, events, censored []int) {
	for _, t := range times {
		e, z := 0, 0
		for i, s := range c.Time {
			if s > t {
				break
			}
			e += c.Events[i]
			z += c.Censored[i]
		}
		atRisk = append(atRisk, c.atRisk(t))
		events = append(events, e)
		censored = append(censored, z)
	}
	return atRisk, events, censored
}

// atRisk counts the rows with Entry < t <= Exit.
func (c Curve) atRisk(t float64) int {
	i := sort.SearchFloat64s(c.Time, t)
	if math.IsNaN(t) || i == len(c.Time) {
		return 0
	}
	if c.entries == nil {
		return c.AtRisk[i]
	}
	from := sort.SearchFloat64s(c.entries, t)
	if t == c.entries[0] {
		from = sort.Search(len(c.entries), func(j int) bool { return c.entries[j] > t })
	}
	return c.AtRisk[i] - (sort.SearchFloat64s(c.entries, c.Time[i]) - from)
}

// Quantile estimates the time by which a proportion p of the rows have had the
// event: the smallest time at which the curve is at or below 1-p. Its limits
// are the smallest times at which the lower and the upper limit of the curve
// are at or below 1-p (Brookmeyer and Crowley), so they rest on the curve's
// level and transformation.
//
// A value that is not reached is NaN with the warning not-reached, never the
// last time; an upper limit that is not reached is +Inf, a lower one NaN. Where
// the curve runs exactly at 1-p the smallest time is taken, and the warning
// level-stretch gives the midpoint of the stretch, which some programs print.
// Values of the curve within 1e-10 of 1-p count as equal to it.
//
// Brookmeyer R, Crowley J. A confidence interval for the median survival time.
// Biometrics 1982;38:29-41.
func (c Curve) Quantile(p float64) Estimate {
	if !(p > 0 && p < 1) {
		panic(fmt.Sprintf("stats: quantile %v outside (0, 1)", p))
	}
	e := Estimate{
		Measure: fmt.Sprintf("quantile %g", p),
		Value:   math.NaN(), Lower: math.NaN(), Upper: math.Inf(1),
		SE: math.NaN(), P: math.NaN(), Level: c.Level,
		Method: fmt.Sprintf("first time the curve is at or below %.10g; limits likewise (Brookmeyer-Crowley) from the %s", 1-p, c.Method),
	}
	if p == 0.5 {
		e.Measure = "median"
	}
	if i, ok := firstAtOrBelow(c.Lower, 1-p); ok && !unknownBefore(c.Lower[:i], c.Survival) {
		e.Lower = c.Time[i]
	}
	if i, ok := firstAtOrBelow(c.Upper, 1-p); ok {
		e.Upper = c.Time[i]
	}
	i, ok := firstAtOrBelow(c.Survival, 1-p)
	if !ok {
		reason := "there are no rows"
		if last := len(c.Time) - 1; last >= 0 {
			reason = fmt.Sprintf("the curve is still at %.4g at the last time observed, %g", c.Survival[last], c.Time[last])
		}
		e.Warnings = append(e.Warnings, Warning{"not-reached", "Not reached: " + reason + "."})
		return e
	}
	e.Value = c.Time[i]
	if math.IsNaN(e.Lower) {
		e.Warnings = append(e.Warnings, Warning{"limit-not-estimable", fmt.Sprintf(
			"The limits of the curve are undefined where it is %.4g, or before, so the quantile has no lower limit.", c.Survival[i])})
	}
	if c.AtRisk[i] < smallRiskSet {
		e.Warnings = append(e.Warnings, Warning{"small-risk-set", fmt.Sprintf(
			"Only %d were at risk at %g.", c.AtRisk[i], c.Time[i])})
	}
	if end := c.levelEnd(i); c.Survival[i] >= 1-p-quantileSlack && end > e.Value {
		e.Warnings = append(e.Warnings, Warning{"level-stretch", fmt.Sprintf(
			"The curve is exactly %.10g from %g to %g: the first is given; the midpoint is %g.",
			1-p, e.Value, end, e.Value+(end-e.Value)/2)})
	}
	return e
}

// quantileSlack is the distance within which a value of the curve counts as
// equal to a level: the rounding of a product of many steps stays below it.
const quantileSlack = 1e-10

func firstAtOrBelow(values []float64, level float64) (int, bool) {
	for i, v := range values {
		if v <= level+quantileSlack {
			return i, true
		}
	}
	return 0, false
}

// unknownBefore reports whether some of the limits are missing though the curve is
// neither 0 nor 1 there, so that they might have reached a level.
func unknownBefore(limits, curve []float64) bool {
	for i, v := range limits {
		if math.IsNaN(v) && curve[i] > 0 && curve[i] < 1 {
			return true
		}
	}
	return false
}

// levelEnd returns the time of the next fall of the curve after step i, or the
// last time observed.
func (c Curve) levelEnd(i int) float64 {
	for j := i + 1; j < len(c.Time); j++ {
		if c.Survival[j] < c.Survival[i] {
			return c.Time[j]
		}
	}
	return c.Time[len(c.Time)-1]
}

// enteredAt reports whether some row enters exactly at t.
func enteredAt(entries []float64, t float64) bool {
	_, found := slices.BinarySearch(entries, t)
	return found
}
