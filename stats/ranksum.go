package stats

import (
	"fmt"
	"math"
	"slices"
)

// rankSumExact is the number of values up to which RankSum is exact.
const rankSumExact = 60

// A RankSumResult is a rank-sum test.
type RankSumResult struct {
	W    float64 // pairs in which the value of the first sample is the larger, ties counting half
	Test Test
}

// RankSum is the test of Wilcoxon, Mann and Whitney of two independent samples:
// W is the number of pairs, one value of each sample, in which the first's is
// larger, ties counting half. Up to 60 values in all the p-value is exact: that
// of all splits of the values, with their ties, into samples of these sizes, as
// often as W is at least as far from its mean n1 n2/2. Beyond, it is normal with
// the variance of tied ranks,
//
//	n1 n2/12 (n+1 − Σ (t³−t)/(n (n−1)))
//
// and 1/2 taken off the distance. Method says which. It compares distributions:
// where they differ in shape it is not a test of medians.
//
// It returns ErrNoData where a sample is empty, ErrNotFinite, and ErrNoVariance
// where all values are the same.
//
// Mann HB, Whitney DR. On a test of whether one of two random variables is
// stochastically larger than the other. Ann Math Stat 1947;18:50-60. Lehmann EL.
// Nonparametrics. Holden-Day, 1975 (ties).
func RankSum(first, second []float64) (RankSumResult, error) {
	const name = "rank-sum test"
	n1, n2 := len(first), len(second)
	if n1 == 0 || n2 == 0 {
		return RankSumResult{}, fmt.Errorf("%s: %w: found %d and %d values", name, ErrNoData, n1, n2)
	}
	if err := checkSamples(name, first, second); err != nil {
		return RankSumResult{}, err
	}
	ranks, ties := midranks(slices.Concat(first, second))
	n := n1 + n2
	if len(ties) == 1 {
		return RankSumResult{}, fmt.Errorf("%s: %w: all values are the same", name, ErrNoVariance)
	}
	doubled := 0 // twice the ranks are whole
	for _, r := range ranks[:n1] {
		doubled += r
	}
	w := float64(doubled)/2 - float64(n1*(n1+1))/2
	r := RankSumResult{W: w, Test: Test{Name: name, Statistic: w, DF: math.NaN()}}
	mean := float64(n1) * float64(n2) / 2
	if n <= rankSumExact {
		r.Test.Method = "two-sided, exact"
		r.Test.P = rankSumTail(ranks, n1, doubled)
		return r, nil
	}
	r.Test.Method = "two-sided, normal approximation with correction for ties and continuity"
	distance := math.Max(0, math.Abs(w-mean)-0.5)
	variance := float64(n1) * float64(n2) / 12 * (float64(n+1) - tieSum(ties)/(float64(n)*float64(n-1)))
	r.Test.P = twoSidedNormalP(distance / math.Sqrt(variance))
	return r, nil
}

// rankSumTail is the share of all choices of n1 of the doubled ranks whose sum
// is at least as far from its mean as the one observed. Counts are added as
// doubles, exact up to 2⁵³ and to rounding beyond.
func rankSumTail(ranks []int, n1, observed int) float64 {
	total := 0
	for _, r := range ranks {
		total += r
	}
	ways := make([][]float64, n1+1) // by size and sum
	for k := range ways {
		ways[k] = make([]float64, total+1)
	}
	ways[0][0] = 1
	most := 0
	for i, r := range ranks {
		for k := min(i+1, n1); k > 0; k-- {
			for s := most; s >= 0; s-- {
				if x := ways[k-1][s]; x != 0 {
					ways[k][s+r] += x
				}
			}
		}
		most += r
	}
	// The mean of the doubled sum is n1/n × total: compare without division.
	n := len(ranks)
	far := abs(n*observed - n1*total)
	var tail, all Sum
	for s, x := range ways[n1] {
		if x == 0 {
			continue
		}
		all.Add(x)
		if abs(n*s-n1*total) >= far {
			tail.Add(x)
		}
	}
	return math.Min(1, tail.Total()/all.Total())
}

func abs(x int) int {
	if x < 0 {
		return -x
	}
	return x
}

// midranks are twice the ranks of the values, tied ones sharing their mean, and
// the sizes of the groups of ties.
func midranks(values []float64) (ranks, ties []int) {
	order := ordered(len(values), func(i int) float64 { return values[i] })
	ranks = make([]int, len(values))
	for i := 0; i < len(order); {
		j := i
		for j < len(order) && values[order[j]] == values[order[i]] {
			j++
		}
		for _, k := range order[i:j] {
			ranks[k] = i + 1 + j
		}
		ties = append(ties, j-i)
		i = j
	}
	return ranks, ties
}

// tieSum is Σ (t³ − t).
func tieSum(ties []int) float64 {
	sum := 0.0
	for _, t := range ties {
		x := float64(t)
		sum += x*x*x - x
	}
	return sum
}

// KruskalWallis tests whether values of groups come from one distribution, by
// the ranks R of all values: with n all values and n_g those of a group,
//
//	H = (12/(n (n+1)) Σ R_g²/n_g − 3 (n+1)) / (1 − Σ (t³−t)/(n³−n))
//
// with R_g the sum of a group's ranks and t the sizes of ties; chi-squared on
// the groups less one. Groups without values are left out. It returns
// ErrTooFewRows where fewer than two groups have values, ErrNotFinite, and
// ErrNoVariance where all values are the same.
//
// Kruskal WH, Wallis WA. Use of ranks in one-criterion variance analysis. J Am
// Stat Assoc 1952;47:583-621.
func KruskalWallis(groups [][]float64) (Test, error) {
	const name = "Kruskal-Wallis test"
	kept, n, err := filledGroups(name, groups)
	if err != nil {
		return Test{}, err
	}
	ranks, ties := midranks(slices.Concat(kept...))
	if len(ties) == 1 {
		return Test{}, fmt.Errorf("%s: %w: all values are the same", name, ErrNoVariance)
	}
	// From the mean rank, so that large numbers do not cancel.
	x := float64(n)
	sum, at := 0.0, 0
	for _, g := range kept {
		own := 0.0
		for _, r := range ranks[at : at+len(g)] {
			own += float64(r)/2 - (x+1)/2
		}
		sum += own * own / float64(len(g))
		at += len(g)
	}
	h := 12 / (x * (x + 1)) * sum / (1 - tieSum(ties)/(x*x*x-x))
	df := float64(len(kept) - 1)
	return Test{Name: name, Statistic: h, DF: df, P: chiSquaredTail(h, df), Method: "chi-squared, corrected for ties"}, nil
}
