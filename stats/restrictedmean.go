package stats

import (
	"fmt"
	"math"
)

// RestrictedMean is the mean time to the event where times beyond the horizon
// count as the horizon: the area under the curve from 0 to it,
//
//	∫ from 0 to horizon of S(t) dt
//
// Unlike the mean over the rows that had the event, it is not biased by
// censoring. With a(t) the area from t to the horizon its variance is
// Σ a(t)² d/(n(n−d)) over the times of events before the horizon, with d events
// among n at risk; limits are symmetric, and held to 0 and the horizon. For a
// curve with robust errors it is the sum over clusters of their squared
// influence, ∫ S L dt with L the influence on log S.
//
// The value is NaN, with a warning, where the curve ends above 0 before the
// horizon: nobody was observed long enough. Where nothing varies, as before the
// first event, or with only one child at risk at events of a curve with errors by
// child, SE is 0 and the limits are NaN, with a warning. Where the curve fell to
// 0 though others are at risk later, its warning is the mean's too. A horizon that is not positive and
// finite is the caller's mistake.
//
// Reference: Klein JP, Moeschberger ML. Survival Analysis, 2nd ed. Springer,
// 2003, sec. 4.5.
func (c Curve) RestrictedMean(horizon float64) Estimate {
	checkHorizon(horizon)
	e := Estimate{
		Measure: "restricted mean time", Value: math.NaN(), Lower: math.NaN(), Upper: math.NaN(), SE: math.NaN(),
		Level: c.Level, P: math.NaN(), Method: "symmetric limits",
	}
	last := len(c.Time) - 1
	if last < 0 || c.Time[last] < horizon && c.Survival[last] > 0 {
		e.Warnings = append(e.Warnings, beyondData(horizon))
		return e
	}
	area, variance := 0.0, 0.0
	// From the horizon backwards, so that area is a(t).
	to := horizon
	for i := last; i >= 0; i-- {
		at := c.Time[i]
		if at >= horizon {
			continue
		}
		area += float64(c.Survival[i] * (to - at))
		to = at
		if n, d := float64(c.AtRisk[i]), float64(c.Events[i]); area > 0 && d > 0 {
			variance += float64(area*area) * d / float64(n*(n-d))
		}
	}
	if math.IsNaN(area) {
		e.Warnings = append(e.Warnings, Warning{"not-observed", "Nobody was under observation for a while: the curve has a gap before the horizon."})
		return e
	}
	e.Value = area + to
	e.SE = math.Sqrt(variance)
	if c.source != nil {
		e.SE = math.Sqrt(c.source.areaVariance(c, horizon))
		e.Method = "symmetric limits, robust standard error"
	}
	for _, w := range c.Warnings {
		if w.Code == "zero-while-at-risk" {
			e.Warnings = append(e.Warnings, w)
		}
	}
	if nothingVaries(e.SE, horizon) {
		e.SE = 0
		e.Warnings = append([]Warning{{"limit-not-estimable", fmt.Sprintf(
			"Nothing is seen to vary before %g, which is no sign of certainty: the mean has no limits.", horizon)}}, e.Warnings...)
		return e
	}
	z := criticalZ(c.Level)
	e.Lower, e.Upper = math.Max(0, e.Value-float64(z*e.SE)), math.Min(horizon, e.Value+float64(z*e.SE))
	return e
}

// nothingVaries reports whether an error of a mean up to a horizon is 0, but for
// rounding.
func nothingVaries(se, horizon float64) bool { return se <= 1e-9*horizon }

func checkHorizon(horizon float64) {
	if !(horizon > 0) || math.IsInf(horizon, 0) {
		panic(fmt.Sprintf("stats: horizon %v, expected a positive finite time", horizon))
	}
}

// beyondData says that a horizon is later than the data reach.
func beyondData(horizon float64) Warning {
	return Warning{"horizon-beyond-data", fmt.Sprintf(
		"The mean up to %g is not estimable: the longest times are shorter than that and not finished.", horizon)}
}
