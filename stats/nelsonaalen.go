package stats

import (
	"fmt"
	"math"
	"sort"
)

// A HazardCurve is a cumulative hazard: slices of equal length, one entry a
// distinct time at which an event or a censoring happened, in order.
type HazardCurve struct {
	Time         []float64
	AtRisk       []int // just before Time[i]
	Events       []int // at Time[i]
	Hazard       []float64
	SE           []float64
	Lower, Upper []float64
	N            int
	Level        float64
	Method       string // of the limits
	Clusters     int    // 0 without clusters
	Warnings     []Warning
}

// NelsonAalen is the cumulative hazard
//
//	H(t) = Σ over event times s <= t of d(s)/n(s)
//
// with d events among n rows at risk (Entry < s <= Exit), and the variance
// Σ d/n² (Aalen's, Poisson-like; with tied events it errs on the wide side).
// Limits with z the normal quantile are
//
//	log      H exp(±z SE/H)     never below 0; the default
//	plain    H ± z SE           cut at 0
//	arcsine  −2 log sin(min(π/2, A + z SE e^(−H/2)/(2 √(1−e^(−H))))) and likewise,
//	         with A = arcsin e^(−H/2): those of exp(−H) on its arcsine scale
//
// Before the first event H and SE are 0 and there are no limits. opts.Limits
// takes LimitsLog (the meaning of ""), LimitsPlain and LimitsArcsine; log-log
// limits of exp(−H) are log limits of H.
//
// With weights d and n are sums of weights; with them or clusters the variance is
// the sum over clusters, or rows, of the squares of their influence
//
//	Σ over rows i of the cluster w_i [event(i)/n(Exit_i) − Σ over event times s at
//	which i is at risk of d(s)/n(s)²]
//
// NaN where all influences vanish, as long as one cluster alone was at risk.
//
// It returns what KaplanMeier returns.
//
// Aalen OO. Nonparametric inference for a family of counting processes. Ann
// Stat 1978;6:701-726. Bie O, Borgan Ø, Liestøl K. Confidence intervals and
// confidence bands for the cumulative hazard rate function and their small
// sample properties. Scand J Stat 1987;14:221-233.
func NelsonAalen(t Times, opts CurveOptions) (HazardCurve, error) {
	if opts.Limits == "" || opts.Limits == LimitsLogLog {
		opts.Limits = LimitsLog
	}
	opts = opts.resolve()
	if err := t.check(); err != nil {
		return HazardCurve{}, fmt.Errorf("cumulative hazard: %w", err)
	}
	counts := countTimes(t)
	c := HazardCurve{
		Time: counts.Time, AtRisk: counts.AtRisk, Events: counts.Events, N: counts.N, Level: opts.Level,
		Method: opts.Limits + " limits, Aalen's standard error",
	}
	if opts.Weights != nil || opts.Cluster != nil {
		if err := c.robust(t, opts); err != nil {
			return HazardCurve{}, err
		}
		for _, h := range c.Hazard {
			counts.Survival = append(counts.Survival, math.Exp(-h))
		}
		if c.Warnings = curveWarnings(counts); opts.Cluster != nil {
			c.Warnings = append(clusterWarnings(c.Clusters), c.Warnings...)
		}
		return c, nil
	}
	times := len(c.Time)
	c.Hazard, c.SE = make([]float64, times), make([]float64, times)
	c.Lower, c.Upper = make([]float64, times), make([]float64, times)
	counts.Survival = make([]float64, times)
	hazard, variance := 0.0, 0.0
	z := criticalZ(opts.Level)
	for i := range c.Time {
		d, n := float64(c.Events[i]), float64(c.AtRisk[i])
		if d > 0 {
			hazard += d / n
			variance += d / (n * n)
		}
		se := math.Sqrt(variance)
		lower, upper := math.NaN(), math.NaN()
		if hazard > 0 {
			lower, upper = hazardLimits(hazard, z*se, opts.Limits)
		}
		c.Hazard[i], c.SE[i], c.Lower[i], c.Upper[i] = hazard, se, lower, upper
		counts.Survival[i] = math.Exp(-hazard)
	}
	c.Warnings = curveWarnings(counts)
	return c, nil
}

// A HazardPoint is a cumulative hazard read at one time.
type HazardPoint struct {
	Time         float64
	Hazard       float64
	SE           float64
	Lower, Upper float64
}

// At reads the cumulative hazard at a time: the value of the last step at or
// before it, 0 with SE 0 before the first. After the last time anyone was
// observed all are NaN.
func (c HazardCurve) At(t float64) HazardPoint {
	p := HazardPoint{Time: t, Hazard: math.NaN(), SE: math.NaN(), Lower: math.NaN(), Upper: math.NaN()}
	last := len(c.Time) - 1
	i := sort.Search(len(c.Time), func(i int) bool { return c.Time[i] > t }) - 1
	switch {
	case math.IsNaN(t) || last < 0 || t > c.Time[last]:
	case i < 0:
		p.Hazard, p.SE = 0, 0
	default:
		p.Hazard, p.SE, p.Lower, p.Upper = c.Hazard[i], c.SE[i], c.Lower[i], c.Upper[i]
	}
	return p
}

// hazardLimits are the limits half a width from a cumulative hazard above 0.
func hazardLimits(h, half float64, limits string) (lower, upper float64) {
	switch limits {
	case LimitsPlain:
		return math.Max(0, h-half), h + half
	case LimitsArcsine:
		angle := math.Asin(math.Exp(-h / 2))
		turn := half * math.Exp(-h/2) / (2 * math.Sqrt(-math.Expm1(-h)))
		lower = -2 * math.Log(math.Sin(math.Min(math.Pi/2, angle+turn)))
		upper = math.Inf(1)
		if angle > turn {
			upper = -2 * math.Log(math.Sin(angle-turn))
		}
		return math.Max(0, lower), upper
	}
	return h * math.Exp(-half/h), h * math.Exp(half/h)
}
