package stats

import (
	"fmt"
	"math"
	"slices"
)

// RestrictedMeanOptions are the choices of RestrictedMeanDifference.
type RestrictedMeanOptions struct {
	Level float64 // confidence level; 0 means 0.95
	// OneCluster and ZeroCluster number the cluster of each row of the two
	// groups; a number in both, such as of a child with a heel in each, is one
	// cluster. Both nil: rows are independent.
	OneCluster, ZeroCluster []int
}

// RestrictedMeanDifference is the restricted mean time of one group less that of
// another (see Curve.RestrictedMean): how much longer, up to the horizon, one
// group is without the event. Without clusters its variance is the sum of the
// groups' variances. With clusters it is the sum of squares of the clusters'
// influence on the difference, a row's influence on a group's mean being
//
//	Σ over events u at which it is at risk of a(u) d/(n(n−d)) − [its event at X] a(X)/(n−d)
//
// with a(u) the area under the curve from u to the horizon, so that children
// with a heel in either group count as they should. P is of the difference over
// its error.
//
// A group in which nothing varies, as where all are without the event up to the
// horizon, adds no error and gives the warning group-without-variance; a curve
// that fell to 0 though others are at risk later gives its own.
//
// It returns ErrBeyondData where either curve ends above 0 before the horizon,
// the errors of KaplanMeier, and ErrTooFewClusters. A horizon that is not
// positive and finite is the caller's mistake.
//
// Reference: Royston P, Parmar MKB. Restricted mean survival time: an
// alternative to the hazard ratio. BMC Med Res Methodol 2013;13:152.
func RestrictedMeanDifference(one, zero Times, horizon float64, opts RestrictedMeanOptions) (Estimate, error) {
	checkHorizon(horizon)
	level := confidenceLevel(opts.Level)
	clustered := opts.OneCluster != nil || opts.ZeroCluster != nil
	if clustered && (len(opts.OneCluster) != len(one.Exit) || len(opts.ZeroCluster) != len(zero.Exit)) {
		panic("stats: clusters of one group, or not of every row")
	}
	e := Estimate{Measure: "restricted mean difference", Level: level, Method: "symmetric limits"}
	variance := 0.0
	byCluster := map[int]float64{}
	for g, t := range []Times{one, zero} {
		sign, cluster := 1.0, opts.OneCluster
		if g == 1 {
			sign, cluster = -1, opts.ZeroCluster
		}
		c, err := KaplanMeier(t, CurveOptions{})
		if err != nil {
			return Estimate{}, fmt.Errorf("restricted mean of group %d: %w", g+1, err)
		}
		mean := c.RestrictedMean(horizon)
		if math.IsNaN(mean.Value) {
			return Estimate{}, fmt.Errorf("restricted mean of group %d: %w: %s", g+1, ErrBeyondData, mean.Warnings[0].Text)
		}
		if nothingVaries(mean.SE, horizon) {
			e.Warnings = append(e.Warnings, Warning{"group-without-variance", fmt.Sprintf(
				"Nothing is seen to vary in group %d before %g: the limits are those of the other group alone and too narrow.", g+1, horizon)})
		}
		for _, w := range mean.Warnings {
			if w.Code == "zero-while-at-risk" {
				e.Warnings = append(e.Warnings, Warning{w.Code, fmt.Sprintf("Group %d: %s", g+1, w.Text)})
			}
		}
		e.Value += sign * mean.Value
		variance += mean.SE * mean.SE
		if clustered {
			for i, v := range c.areaInfluence(t, horizon) {
				byCluster[cluster[i]] += sign * v
			}
		}
	}
	if clustered {
		if len(byCluster) < 2 {
			return Estimate{}, fmt.Errorf("restricted mean difference: %w: found %d, expected at least 2", ErrTooFewClusters, len(byCluster))
		}
		var sum Sum
		for _, k := range sortedKeys(byCluster) {
			sum.Add(byCluster[k] * byCluster[k])
		}
		variance = sum.Total()
		e.Method += ", " + clusterMethod(false)
		e.Warnings = append(clusterWarnings(len(byCluster)), e.Warnings...)
	}
	e.SE = math.Sqrt(variance)
	if nothingVaries(e.SE, horizon) {
		return Estimate{}, fmt.Errorf("restricted mean difference: %w before the horizon %g", ErrNoVariance, horizon)
	}
	half := criticalZ(level) * e.SE
	e.Lower, e.Upper, e.P = math.Max(-horizon, e.Value-half), math.Min(horizon, e.Value+half), twoSidedNormalP(e.Value/e.SE)
	return e, nil
}

// sortedKeys are the keys of sums in order.
func sortedKeys(sums map[int]float64) []int {
	keys := make([]int, 0, len(sums))
	for k := range sums {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// areaInfluence is the influence of each row on the area under its curve up to
// the horizon.
func (c Curve) areaInfluence(t Times, horizon float64) []float64 {
	steps := len(c.Time)
	after := make([]float64, steps) // area from each time to the horizon
	area, to := 0.0, horizon
	for i := steps - 1; i >= 0; i-- {
		if c.Time[i] >= horizon {
			continue
		}
		area += c.Survival[i] * (to - c.Time[i])
		to, after[i] = c.Time[i], area
	}
	// upTo is what a row at risk at all events up to each time has gathered.
	upTo := make([]float64, steps+1)
	own := make([]float64, steps)
	for i := range steps {
		upTo[i+1] = upTo[i]
		if n, d := float64(c.AtRisk[i]), float64(c.Events[i]); d > 0 && after[i] > 0 {
			upTo[i+1] += after[i] * d / (n * (n - d))
			own[i] = after[i] / (n - d)
		}
	}
	until := func(x float64) int { // number of times up to x
		k, found := slices.BinarySearch(c.Time, x)
		if found {
			k++
		}
		return k
	}
	out := make([]float64, len(t.Exit))
	for i, exit := range t.Exit {
		k := until(exit)
		out[i] = upTo[k]
		if t.Entry != nil {
			out[i] -= upTo[until(t.Entry[i])]
		}
		if t.Status[i] {
			out[i] -= own[k-1]
		}
	}
	return out
}
