package stats

import (
	"fmt"
	"math"
	"math/rand/v2"
)

var coverDays = []int{14, 42, 84}

var clusterWords = []string{"heels independent", "by child"}

// clusters are no clusters, then the children.
func (h *heelRows) clusters() [][]int { return [][]int{nil, h.child} }

// coverCurves covers the curve of all heels, its median, restricted mean and
// cumulative hazard.
func coverCurves(c *coverTally, h *heelRows) {
	law := returnLaw(-1, -1)
	times := h.times()
	for k, cluster := range h.clusters() {
		for _, limits := range []string{LimitsLogLog, LimitsLog, LimitsPlain, LimitsArcsine} {
			curve, err := KaplanMeier(times, CurveOptions{Limits: limits, Cluster: cluster})
			for _, day := range coverDays {
				p := curve.At(float64(day))
				c.count(fmt.Sprintf("curve on day %d: %s, %s", day, limits, clusterWords[k]), p.Lower, p.Upper, law[day], err == nil)
			}
		}
	}
	late, err := KaplanMeier(Times{nil, times.Exit, times.Status}, CurveOptions{Cluster: h.child})
	p := late.At(42)
	c.count("curve on day 42: log-log, by child, entry wrongly taken for onset", p.Lower, p.Upper, law[42], err == nil)
	for k, cluster := range h.clusters() {
		for _, limits := range []string{LimitsLogLog, LimitsArcsine} {
			curve, err := KaplanMeier(times, CurveOptions{Limits: limits, Cluster: cluster})
			c.estimate(fmt.Sprintf("median: %s, %s", limits, clusterWords[k]), curve.Quantile(0.5), err, law.median())
		}
	}
	for k, cluster := range h.clusters() {
		curve, err := KaplanMeier(times, CurveOptions{Cluster: cluster})
		c.estimate(fmt.Sprintf("mean up to %d days: %s", returnMean, clusterWords[k]), curve.RestrictedMean(returnMean), err, law.mean(returnMean))
	}
	for _, limits := range []string{LimitsLog, LimitsPlain, LimitsArcsine} {
		for k, cluster := range h.clusters() {
			hazard, err := NelsonAalen(times, CurveOptions{Limits: limits, Cluster: cluster})
			for _, day := range coverDays[1:] {
				p := hazard.At(float64(day))
				c.count(fmt.Sprintf("cumulative hazard on day %d: %s, %s", day, limits, clusterWords[k]), p.Lower, p.Upper, law.hazard(day), err == nil)
			}
		}
	}
}

// coverComparisons covers hazard ratios, differences of restricted means and a
// test of groups that do not differ, which is held where P is 0.05 or more.
func coverComparisons(c *coverTally, h *heelRows) {
	times, x := h.times(), h.x()
	for j, what := range []string{"the child", "the heel"} {
		for k, cluster := range h.clusters() {
			f, err := FitCox(times, x, []string{"shared", "own"}, CoxOptions{Cluster: cluster})
			name := fmt.Sprintf("hazard ratio, exposure of %s: %s", what, clusterWords[k])
			if err != nil {
				c.count(name, 0, 0, 0, false)
				continue
			}
			c.estimate(name, f.Estimates[j], nil, math.Exp([]float64{returnShared, returnOwn}[j]))
		}
	}
	for k, cluster := range h.clusters() {
		test, err := LogRank(times, h.sham, 2, LogRankOptions{Cluster: cluster})
		c.count("log-rank test of no difference kept at 0.05: "+clusterWords[k], 0.05, 1, test.Test.P, err == nil)
	}
	for j, exposure := range [][]float64{h.shared, h.own} {
		one, zero := times.where(exposure, 1), times.where(exposure, 0)
		laws := [2]returnTruth{returnLaw(0, -1), returnLaw(1, -1)}
		if j == 1 {
			laws = [2]returnTruth{returnLaw(-1, 0), returnLaw(-1, 1)}
		}
		for k := range clusterWords {
			opts := RestrictedMeanOptions{}
			if k == 1 {
				opts.OneCluster, opts.ZeroCluster = chosen(h.child, exposure, 1), chosen(h.child, exposure, 0)
			}
			e, err := RestrictedMeanDifference(one, zero, returnMean, opts)
			name := fmt.Sprintf("difference of means, exposure of %s: %s", []string{"the child", "the heel"}[j], clusterWords[k])
			c.estimate(name, e, err, laws[1].mean(returnMean)-laws[0].mean(returnMean))
		}
	}
}

// where picks the rows with a value of an exposure.
func (t Times) where(exposure []float64, value float64) Times {
	var rows []int
	for i, v := range exposure {
		if v == value {
			rows = append(rows, i)
		}
	}
	return t.pick(rows)
}

func chosen(of []int, exposure []float64, value float64) (out []int) {
	for i, v := range exposure {
		if v == value {
			out = append(out, of[i])
		}
	}
	return out
}

// coverIncidences covers the cumulative incidences of return and of giving up.
func coverIncidences(c *coverTally, h *heelRows) {
	law := returnLaw(-1, -1)
	for k, cluster := range h.clusters() {
		for _, limits := range []string{LimitsLogLog, LimitsPlain} {
			curves, err := CumulativeIncidence(h.competing, 2, IncidenceOptions{Limits: limits, Cluster: cluster})
			for _, day := range coverDays[1:] {
				for cause, truth := range two(law.incidences(day)) {
					what, p := []string{"return", "giving up"}[cause], curves.At(cause+1, float64(day))
					c.count(fmt.Sprintf("incidence of %s by day %d: %s, %s", what, day, limits, clusterWords[k]), p.Lower, p.Upper, truth, err == nil)
				}
			}
		}
	}
}

func two(a, b float64) []float64 { return []float64{a, b} }

// coverSubdistribution covers the ratios of Fine and Gray's model and a predicted
// incidence, in their own design.
func coverSubdistribution(c *coverTally, h *heelRows) {
	x := h.x()
	for k, cluster := range h.clusters() {
		f, err := FitFineGray(h.competing, 1, x, []string{"shared", "own"}, FineGrayOptions{Cluster: cluster})
		for j, what := range []string{"the child", "the heel"} {
			name := fmt.Sprintf("subdistribution ratio, exposure of %s: %s", what, clusterWords[k])
			if err != nil {
				c.count(name, 0, 0, 0, false)
				continue
			}
			c.estimate(name, f.Estimates[j], nil, math.Exp([]float64{subdistBeta, subdistOther}[j]))
		}
		name := "predicted incidence on day 42: " + clusterWords[k]
		if err != nil {
			c.count(name, 0, 0, 0, false)
			continue
		}
		p, err := f.PredictedIncidence([]float64{1, 0}, []float64{42}, IncidenceOptions{})
		c.count(name, p[0].Lower, p[0].Upper, subdistributionTruth(42, 1, 0), err == nil)
	}
}

// coverBands counts how often bands hold the whole curve, of heels that are one
// to a child.
func coverBands(c *coverTally, h *heelRows) {
	law := returnLaw(-1, -1)
	curve, err := KaplanMeier(h.times(), CurveOptions{Limits: LimitsArcsine})
	for _, kind := range []BandKind{HallWellner, EqualPrecision} {
		name := fmt.Sprintf("band from day 7 to 84: %s, arcsine", kind)
		b, err2 := curve.Band(BandOptions{Kind: kind, From: 7, To: 84})
		if err != nil || err2 != nil {
			c.count(name, 0, 0, 0, false)
			continue
		}
		held := 1.0
		for i, at := range b.Time {
			end := b.To // the day before the next step, or the last step's own
			if i+1 < len(b.Time) {
				end = b.Time[i+1] - 1
			}
			if law[int(at)] > b.Upper[i] || law[int(end)] < b.Lower[i] {
				held = 0
			}
		}
		c.count(name, 1, 1, held, true)
	}
}

// intervalChildren are children seen from onset on, about every 14 days.
const intervalChildren, intervalReplicates = 60, 199

// coverIntervals covers the curve of times known to lie between visits, by
// resampling heels or children.
func coverIntervals(c *coverTally, r *rand.Rand) {
	h := returnScene{children: intervalChildren, two: 0.5, fromOnset: 1}.draw(r, returns, 0)
	law := returnLaw(-1, -1)
	var v Intervals
	visits := map[int][]float64{} // of a child, whose heels have one clock here
	for i, child := range h.child {
		if visits[child] == nil {
			for day := float64(7 + r.IntN(14)); day <= h.last[i]; day += float64(10 + r.IntN(9)) {
				visits[child] = append(visits[child], day)
			}
		}
		left, right := 0.0, math.Inf(1)
		for _, day := range visits[child] {
			if h.competing.Cause[i] == 1 && day >= h.competing.Exit[i] {
				right = day
				break
			}
			left = day
		}
		v.Left, v.Right = append(v.Left, left), append(v.Right, right)
	}
	for k, cluster := range h.clusters() {
		curve, quantiles, err := IntervalLimits(v, cluster, []float64{14, 42, 84}, []float64{0.5}, BootstrapOptions{Replicates: intervalReplicates, Seed: 5})
		for j, day := range coverDays {
			name := fmt.Sprintf("between visits, curve on day %d: resampling %s", day, []string{"heels", "children"}[k])
			if err != nil {
				c.count(name, 0, 0, 0, false)
				continue
			}
			c.estimate(name, curve[j], nil, law[day])
		}
		name := "between visits, median: resampling " + []string{"heels", "children"}[k]
		if err != nil {
			c.count(name, 0, 0, 0, false)
			continue
		}
		c.estimate(name, quantiles[0], nil, law.median())
	}
}
