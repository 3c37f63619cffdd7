package stats

import (
	"fmt"
	"math"
	"slices"
)

// MaxComboOptions are the choices of MaxCombo; the zero value takes the four
// Fleming-Harrington weights (0, 0), (1, 0), (0, 1) and (1, 1).
type MaxComboOptions struct {
	Weights []LogRankWeight // chosen before the data were seen, at most 10
	Strata  []int           // stratum of each row, any numbers; nil: one stratum
	Cluster []int           // cluster of each row, any numbers; nil: rows are independent
	Seed    uint64          // of the integration of three or more tests
}

// MostComboWeights is the largest number of weights of a maximum-combination
// test.
const MostComboWeights = 10

// A MaxComboResult is a maximum-combination test with the tests it is made of.
type MaxComboResult struct {
	N           []int // rows of the two groups
	Observed    []float64
	Expected    []float64
	Weights     []LogRankWeight
	Z           []float64   // of each weight: above 0 where the first group has more events than expected
	Tests       []Test      // of each weight, as if it were the only one
	Correlation [][]float64 // of Z where the groups have one hazard
	Test        Test        // of the largest |Z|
	Within      float64     // bound of the error of its P by integration (three standard errors); 0 where exact
	Strata      int
	Clusters    int // 0 without cluster
	Seed        uint64
}

// MaxCombo compares the hazards of two groups by the largest of several weighted
// log-rank tests, so that it need not be known beforehand whether a difference
// comes early, late or stays. With Z_a = U_a/√V_aa the tests of LogRank by weight
// a, and the covariance of two of them
//
//	V_ab = Σ w_a w_b d (n−d)/(n−1) n_1 n_2/n²
//
// over event times and strata, P is the probability that max |Z_a| is at least
// as large as it was, Z being normal with the correlations V_ab/√(V_aa V_bb). With
// Cluster V is the robust covariance of LogRank, for all weights at once. Of one
// test P is its own; of two it is an exact bivariate probability; of more it is
// integrated by a lattice of points with shifts of Seed, and Within tells how
// far it may be from the value for other seeds. It is never less than the
// smallest P of the tests, and never more than their number times that.
//
// The weights must be chosen beforehand. A small P says that hazards differ at
// some time; which group fares better can change in time, and the test with the
// largest |Z| is no estimate of when.
//
// Errors are those of LogRank; ErrNoVariance also for a weight that is 0 wherever
// groups are compared. Other than two groups, or more than ten weights, are the
// caller's mistake.
//
// Lee JW. Some versatile tests based on the simultaneous use of weighted log-rank
// statistics. Biometrics 1996;52:721-725. Tarone RE. On the distribution of the
// maximum of the logrank statistic and the modified Wilcoxon statistic. Biometrics
// 1981;37:79-85.
func MaxCombo(t Times, group []int, opts MaxComboOptions) (MaxComboResult, error) {
	if opts.Weights == nil {
		for _, powers := range [][2]float64{{0, 0}, {1, 0}, {0, 1}, {1, 1}} {
			opts.Weights = append(opts.Weights, LogRankWeight{Kind: FlemingHarrington, Rho: powers[0], Gamma: powers[1]})
		}
	}
	m := len(opts.Weights)
	if m == 0 || m > MostComboWeights {
		panic(fmt.Sprintf("stats: %d weights, expected 1 to %d", m, MostComboWeights))
	}
	const k = 2
	const name = "maximum-combination test"
	r := MaxComboResult{Weights: slices.Clone(opts.Weights), Seed: opts.Seed, Correlation: newMatrix(m, m)}
	options := LogRankOptions{Strata: opts.Strata, Cluster: opts.Cluster}
	plain, err := logRankOf(t, group, k, options)
	r.N, r.Observed, r.Expected, r.Strata, r.Clusters = plain.N, plain.Observed, plain.Expected, plain.Strata, plain.Clusters
	if err != nil {
		return r, fmt.Errorf("%s: %w", name, err)
	}
	s := logRankSums(t, group, k, opts.Weights, options)
	se := make([]float64, m)
	largest, at := 0.0, 0
	for a, w := range opts.Weights {
		options.Weight = w
		score, v := s.part(a)
		if !(v[0][0] > 0) {
			return r, fmt.Errorf("%s: the %s has no weight where the groups are compared: %w", name, options.name(), ErrNoVariance)
		}
		se[a] = math.Sqrt(v[0][0])
		z := score[0] / se[a]
		r.Z = append(r.Z, z)
		r.Tests = append(r.Tests, Test{Name: options.name(), Statistic: z * z, DF: 1, P: twoSidedNormalP(z), Method: options.method()})
		if math.Abs(z) > largest {
			largest, at = math.Abs(z), a
		}
	}
	for a := range m {
		for b := range m {
			r.Correlation[a][b] = math.Max(-1, math.Min(1, s.variance[a*k][b*k]/float64(se[a]*se[b])))
		}
		r.Correlation[a][a] = 1
	}
	r.Test = Test{Name: name, Statistic: largest, DF: math.NaN(), Method: fmt.Sprintf(
		"largest |Z| of %d weighted log-rank tests, multivariate normal; largest of the %s", m, r.Tests[at].Name)}
	if opts.Strata != nil {
		r.Test.Name = "stratified " + name
	}
	r.Test.P, r.Within = maxNormalTail(largest, r.Correlation, opts.Seed)
	// What integration may have lost or gained beyond these bounds is error.
	least := twoSidedNormalP(largest)
	r.Test.P = math.Max(least, math.Min(r.Test.P, math.Min(1, float64(m)*least)))
	for g, e := range r.Expected {
		if e < smallExpected {
			r.Test.Warnings = append(r.Test.Warnings, Warning{"small-expected", fmt.Sprintf(
				"Group %d of %d has %.3g expected events, fewer than %d: the P value is rough.", g+1, k, e, smallExpected)})
		}
	}
	if opts.Cluster != nil {
		// A robust covariance of more tests than clusters has no full rank.
		if r.Clusters <= m {
			return r, fmt.Errorf("%s: %w: found %d, expected more than the %d tests", name, ErrTooFewClusters, r.Clusters, m)
		}
		r.Test.Warnings = append(r.Test.Warnings, clusterWarnings(r.Clusters)...)
	}
	return r, nil
}
