package stats

import (
	"fmt"
	"math"
)

// LogRankPairsOptions are the choices of LogRankPairs; the zero value is the
// log-rank test with Holm's adjustment.
type LogRankPairsOptions struct {
	LogRankOptions
	Adjust Multiplicity
}

// A LogRankPair is the test of two groups.
type LogRankPair struct {
	First, Second int           // the groups
	Result        LogRankResult // of the two: its first group is First
	P             float64       // adjusted; NaN without a test
	Err           error         // why there is no test
}

// LogRankPairs tests each pair of k groups with LogRank on the rows of the two
// groups alone, so that risk sets, curves and weights are theirs, and adjusts
// the P values for the number of tests that could be made (AdjustP). Pairs are
// in order of their first and then their second group. The number of tests
// adjusted for is the second result.
//
// A pair without a test has its Err and P NaN; where no pair has one the error of
// the first is returned.
func LogRankPairs(t Times, group []int, k int, opts LogRankPairsOptions) ([]LogRankPair, int, error) {
	if err := t.check(); err != nil {
		return nil, 0, fmt.Errorf("pairs of groups: %w", err)
	}
	checkGroups(t, group, k, opts.LogRankOptions)
	if k < 2 {
		panic(fmt.Sprintf("stats: pairs of %d groups", k))
	}
	var pairs []LogRankPair
	var p []float64
	for a := range k {
		for b := a + 1; b < k; b++ {
			pair := LogRankPair{First: a, Second: b}
			pair.Result, pair.Err = logRankOfPair(t, group, a, b, opts.LogRankOptions)
			if pair.Err != nil {
				pair.Err = fmt.Errorf("groups %d and %d of %d: %w", a+1, b+1, k, pair.Err)
				p = append(p, math.NaN())
			} else {
				p = append(p, pair.Result.Test.P)
			}
			pairs = append(pairs, pair)
		}
	}
	adjusted, err := AdjustP(p, opts.Adjust)
	if err != nil {
		return pairs, 0, fmt.Errorf("pairs of groups: no test: %w", pairs[0].Err)
	}
	for i := range pairs {
		pairs[i].P = adjusted.P[i]
	}
	return pairs, adjusted.Family, nil
}

// logRankOfPair is the test of the rows of two groups.
func logRankOfPair(t Times, group []int, a, b int, opts LogRankOptions) (LogRankResult, error) {
	var rows, own []int
	picked := LogRankOptions{Weight: opts.Weight}
	for i, g := range group {
		if g != a && g != b {
			continue
		}
		rows = append(rows, i)
		second := 0
		if g == b {
			second = 1
		}
		own = append(own, second)
		if opts.Strata != nil {
			picked.Strata = append(picked.Strata, opts.Strata[i])
		}
		if opts.Cluster != nil {
			picked.Cluster = append(picked.Cluster, opts.Cluster[i])
		}
	}
	if rows == nil {
		return LogRankResult{}, ErrNoData
	}
	return LogRank(t.pick(rows), own, 2, picked)
}
