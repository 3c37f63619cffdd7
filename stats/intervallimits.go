package stats

import (
	"fmt"
	"math"
)

// IntervalLimits gives the interval-censored curve at some times, with limits by
// resampling clusters, such as children with both their heels: the probability
// of no event by each, then the quantiles p. cluster holds the cluster of each
// row, any numbers; nil takes rows for clusters.
//
// Within a region the curve is not determined. There the value is the middle of
// its two bounds, with the warning within-region that gives both; the lower
// limit is the percentile of the replicates' lesser bound and the upper limit
// that of the larger one, which errs on the wide side. A quantile is the end of
// its region, at which the share is certainly reached; its limits are
// percentiles of the regions' beginnings and ends, +Inf where the percentile
// falls among replicates that never reach the share.
//
// Where visits can fall on any day the percentiles are rough: the curve then
// converges more slowly than with exact times, and their coverage is only
// known by simulation. A replicate without any event counts as one whose curve
// is 1 throughout.
//
// It returns the errors of IntervalCensored and ErrTooFewClusters. Options and
// seeds are those of ClusterBootstrap.
func IntervalLimits(v Intervals, cluster []int, times, p []float64, opts BootstrapOptions) (survival, quantiles []Estimate, err error) {
	curve, err := IntervalCensored(v)
	if err != nil {
		return nil, nil, err
	}
	numbered := newCurveInfluence(cluster, len(v.Left), 0).cluster
	clusters := 0
	for _, c := range numbered {
		clusters = max(clusters, c+1)
	}
	b := Bootstrap{Level: confidenceLevel(opts.Level), Replicates: opts.Replicates, Seed: opts.Seed}
	if b.Replicates == 0 {
		b.Replicates = DefaultReplicates
	}
	if clusters < 2 {
		return nil, nil, fmt.Errorf("limits of the interval-censored curve: %w: found %d, expected at least 2", ErrTooFewClusters, clusters)
	}
	low, high := newMatrix(len(times), b.Replicates), newMatrix(len(times), b.Replicates)
	from, to := newMatrix(len(p), b.Replicates), newMatrix(len(p), b.Replicates)
	resample(clusters, b.Replicates, b.Seed, func(r int, drawn []int) {
		weight := make([]float64, len(numbered))
		for i, c := range numbered {
			weight[i] = float64(drawn[c])
		}
		again, err := intervalCurve(v, weight)
		for k, t := range times {
			low[k][r], high[k][r] = 1, 1
			if err == nil {
				low[k][r], high[k][r] = again.At(t)
			}
		}
		for k, x := range p {
			from[k][r], to[k][r] = math.Inf(1), math.Inf(1)
			if err == nil {
				if a, e, ok := again.Quantile(x); ok {
					from[k][r], to[k][r] = a, e
				}
			}
		}
	})
	for k, t := range times {
		least, largest := curve.At(t)
		e := Estimate{
			Measure: "survival", Value: (least + largest) / 2, SE: math.NaN(), Level: b.Level, P: math.NaN(),
			Method: fmt.Sprintf("percentiles of %d resamples of %d clusters", b.Replicates, clusters),
		}
		lower, _ := b.percentiles(clusters, low[k])
		upper, _ := b.percentiles(clusters, high[k])
		e.Lower, e.Upper, e.Warnings = lower.Lower, upper.Upper, lower.Warnings
		if least < largest {
			e.Warnings = append(e.Warnings, Warning{"within-region", fmt.Sprintf(
				"At %g the curve is only known to lie between %.4g and %.4g.", t, least, largest)})
		}
		survival = append(survival, e)
	}
	for k, x := range p {
		e := Estimate{
			Measure: fmt.Sprintf("quantile %g", x), Value: math.NaN(), SE: math.NaN(), Level: b.Level, P: math.NaN(),
			Method: fmt.Sprintf("end of the region where the curve is at or below %.10g; percentiles of %d resamples of %d clusters", 1-x, b.Replicates, clusters),
		}
		if a, end, ok := curve.Quantile(x); ok {
			e.Value = end
			if a < end {
				e.Warnings = append(e.Warnings, Warning{"within-region", fmt.Sprintf("The time lies after %g and not after %g.", a, end)})
			}
		} else {
			e.Warnings = append(e.Warnings, Warning{"not-reached", fmt.Sprintf("Not reached: the curve ends at %.4g.", curve.Beyond)})
		}
		lower, _ := b.percentiles(clusters, from[k])
		upper, _ := b.percentiles(clusters, to[k])
		e.Lower, e.Upper = lower.Lower, upper.Upper
		quantiles = append(quantiles, e)
	}
	return survival, quantiles, nil
}
