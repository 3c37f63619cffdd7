package stats

import (
	"fmt"
	"math"
)

// A LogRankTrendResult is a test of trend across ordered groups.
type LogRankTrendResult struct {
	LogRankResult           // the sums; Test is that of trend
	Scores        []float64 // of the groups
	Z             float64   // above 0 where events come earlier with larger scores
}

// LogRankTrend tests whether hazards go up or down with the groups' order. With
// the sums U and their covariance V of LogRank, whose options it shares, and a
// score s_g for each group (nil: 0, 1, 2, …) the statistic is
//
//	(Σ s_g U_g)² / s'Vs
//
// on one degree of freedom, Z its root with the sign of Σ s_g U_g. Numbers added
// to all scores or multiplying them change nothing. With two groups it is
// LogRank; without ties and weights it is the score test of a Cox model with s_g as
// covariate. It has more power than LogRank where hazards follow the scores
// and none where they go up and down again.
//
// Errors are those of LogRank; ErrNoVariance also where the groups that are
// compared have one score. Scores that are not finite, or not one for each group,
// are the caller's mistake.
//
// Tarone RE. Tests for trend in life table analysis. Biometrika 1975;62:679-682.
func LogRankTrend(t Times, group []int, k int, scores []float64, opts LogRankOptions) (LogRankTrendResult, error) {
	if scores == nil {
		for g := range k {
			scores = append(scores, float64(g))
		}
	}
	if len(scores) != k {
		panic(fmt.Sprintf("stats: %d scores for %d groups", len(scores), k))
	}
	for _, s := range scores {
		if !finite(s) {
			panic(fmt.Sprintf("stats: scores %v of groups, expected finite numbers", scores))
		}
	}
	name := opts.name() + " of trend"
	var r LogRankTrendResult
	var err error
	r.Scores, r.Z = scores, math.NaN()
	if r.LogRankResult, err = logRankOf(t, group, k, opts); err != nil {
		return r, fmt.Errorf("trend: %w", err)
	}
	// From the mean of the scores, and in units of their spread.
	mean, spread := 0.0, 0.0
	for _, s := range scores {
		mean += s / float64(k)
	}
	for _, s := range scores {
		spread = math.Max(spread, math.Abs(s-mean))
	}
	u, v, most := 0.0, 0.0, 0.0
	for g, s := range scores {
		if spread > 0 {
			a := (s - mean) / spread
			u += float64(a * r.Score[g])
			for h, q := range scores {
				v += float64(a * (q - mean) / spread * r.Variance[g][h])
			}
		}
		most = math.Max(most, r.Variance[g][g])
	}
	r.Test = Test{Name: name, Statistic: math.NaN(), DF: 1, P: math.NaN(), Method: opts.method()}
	if !(v > 1e-12*most) {
		return r, fmt.Errorf("%s: the groups that are compared have one score: %w", name, ErrNoVariance)
	}
	r.Z = u / math.Sqrt(v)
	r.Test.Statistic = r.Z * r.Z
	r.Test.P = twoSidedNormalP(r.Z)
	if opts.Cluster != nil {
		return r, r.doubtClusters(name, &r.Test)
	}
	return r, nil
}
