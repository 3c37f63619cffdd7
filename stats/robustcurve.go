package stats

import (
	"fmt"
	"math"
)

// robust fills in a curve with weights or clusters.
func (c *Curve) robust(t Times, opts CurveOptions) error {
	source, clusters, err := robustSource(t, opts)
	if err != nil {
		return fmt.Errorf("survival curve: %w", err)
	}
	c.source = source
	c.Method = opts.Limits + " limits, robust standard error"
	if opts.Cluster != nil {
		c.Method = opts.Limits + " limits, " + clusterMethod(false)
		c.Clusters = clusters
	}
	survival, z := 1.0, criticalZ(opts.Level)
	c.source.visit(func(s weighedStep, f *curveInfluence) {
		survival *= (s.n - s.d) / s.n
		se := math.NaN()
		if survival > 0 {
			se = survival * f.standardError(f.logVariance())
			if survival == 1 {
				se = 0
			}
		}
		lower, upper := survivalLimits(survival, se, z, opts.Limits)
		c.Survival, c.SE = append(c.Survival, survival), append(c.SE, se)
		c.Lower, c.Upper = append(c.Lower, lower), append(c.Upper, upper)
	})
	c.Warnings = curveWarnings(*c)
	if opts.Cluster != nil {
		c.Warnings = append(clusterWarnings(clusters), c.Warnings...)
	}
	return nil
}

// robustSource checks weights and clusters, of which there must be two.
func robustSource(t Times, opts CurveOptions) (source *curveSource, clusters int, err error) {
	n := len(t.Exit)
	if opts.Cluster != nil && len(opts.Cluster) != n || opts.Weights != nil && len(opts.Weights) != n {
		panic(fmt.Sprintf("stats: %d rows, %d cluster numbers, %d weights", n, len(opts.Cluster), len(opts.Weights)))
	}
	weight, err := rowWeights(opts.Weights, n)
	if err != nil {
		return nil, 0, err
	}
	clusters = n
	if opts.Cluster != nil {
		clusters = countClusters(opts.Cluster)
	}
	if clusters < 2 {
		return nil, 0, fmt.Errorf("%w: found %d, expected at least 2", ErrTooFewClusters, clusters)
	}
	return &curveSource{times: t, weight: weight, cluster: newCurveInfluence(opts.Cluster, n, 0).cluster}, clusters, nil
}

// noClusterVariance is the squared influence below which clusters tell of no
// variance: rounding leaves about 1e-16, and a million children with one event
// have 1e-12.
const noClusterVariance = 1e-14

// standardError is the root of a sum of squared influences, or NaN where all of
// them vanish: only one child has been at risk at events, say, which another
// child might have moved by any amount.
func (f *curveInfluence) standardError(variance float64) float64 {
	if variance < noClusterVariance {
		return math.NaN()
	}
	return math.Sqrt(variance)
}

// rowWeights are the weights, or 1 each.
func rowWeights(weights []float64, n int) ([]float64, error) {
	out := make([]float64, n)
	var wrong []int
	for i := range out {
		out[i] = 1
		if weights != nil {
			if out[i] = weights[i]; !(out[i] > 0) || math.IsInf(out[i], 1) {
				wrong = append(wrong, i)
			}
		}
	}
	if wrong != nil {
		return nil, fmt.Errorf("%w: %d of %d rows (%s)", ErrNotPositive, len(wrong), n, firstRows(wrong))
	}
	return out, nil
}

// A curveSource is what a robust curve was made of.
type curveSource struct {
	times   Times
	weight  []float64
	cluster []int
	hazard  bool // influence on the cumulative hazard, not on the log of the curve
}

// A weighedStep is one distinct time of exit with the weights of the rows at
// risk and of those with the event.
type weighedStep struct {
	at, n, d float64
}

// visit goes through the times with the clusters' influence on the log of the
// curve, or the cumulative hazard, up to each.
func (c *curveSource) visit(f func(s weighedStep, influence *curveInfluence)) {
	cause := make([]int, len(c.times.Status))
	for i, event := range c.times.Status {
		if event {
			cause[i] = 1
		}
	}
	influence := newCurveInfluence(c.cluster, len(cause), 0)
	atRisk := preciseSum{}
	CompetingTimes{c.times.Entry, c.times.Exit, cause}.order().steps(1, func(s competingStep) {
		for _, row := range s.entersFor {
			influence.enter(row, c.weight[row])
			atRisk.add(c.weight[row])
		}
		w := weighedStep{at: s.at, n: atRisk.total()}
		for _, row := range s.exits {
			if cause[row] == 1 {
				w.d += c.weight[row]
			}
		}
		rest := w.n - w.d
		if s.all == s.n {
			rest, w.d = 0, w.n // whatever rounding says
		}
		end := 0.0
		switch {
		case w.d > 0 && c.hazard:
			influence.logSum -= w.d / (w.n * w.n)
			end = 1 / w.n
		case w.d > 0 && rest > 0:
			influence.logSum += w.d / (w.n * rest)
			end = -1 / rest
		}
		for _, row := range s.exits {
			l := 0.0
			if cause[row] == 1 {
				l = end
			}
			influence.leave(row, c.weight[row], l, nil)
			atRisk.add(-c.weight[row])
		}
		f(w, influence)
	})
}

// areaVariance is the sum over clusters of their squared influence on the area
// under the curve up to a horizon. Between two changes of its constant l and of
// its weight at risk m, a cluster's influence on log S is l + m × logSum, so
// that it gains l ∫S dt + m ∫S logSum dt.
func (s *curveSource) areaVariance(c Curve, horizon float64) float64 {
	clusters := 0
	for _, k := range s.cluster {
		clusters = max(clusters, k+1)
	}
	total := make([]float64, clusters)
	// The integrals up to now and, of each cluster, up to its last change.
	area, weighed := 0.0, 0.0
	areaAt, weighedAt := make([]float64, clusters), make([]float64, clusters)
	l, m := make([]float64, clusters), make([]float64, clusters)
	settle := func(k int) {
		total[k] += float64(l[k]*(area-areaAt[k])) + float64(m[k]*(weighed-weighedAt[k]))
		areaAt[k], weighedAt[k] = area, weighed
	}
	step, past := 0, false
	s.visit(func(w weighedStep, f *curveInfluence) {
		if past {
			return
		}
		// f is as it stands after this time, which has no area yet; what has
		// been since the time before is the clusters' of then.
		if w.at >= horizon {
			past = true
			return
		}
		for k := range clusters {
			if l[k] != f.l[k] || m[k] != f.risk[k] {
				settle(k)
				l[k], m[k] = f.l[k], f.risk[k]
			}
		}
		to := horizon
		if step+1 < len(c.Time) {
			to = math.Min(to, c.Time[step+1])
		}
		own := c.Survival[step] * (to - w.at)
		area += own
		weighed += own * f.logSum
		step++
	})
	var sum Sum
	for k := range clusters {
		settle(k)
		sum.Add(total[k] * total[k])
	}
	return sum.Total()
}
