package stats

import (
	"fmt"
	"math"
	"slices"
)

// LogRankOptions are the choices of LogRank; the zero value is the plain,
// unstratified test of independent rows.
type LogRankOptions struct {
	Strata  []int         // stratum of each row, any numbers; nil: one stratum
	Weight  LogRankWeight // of the times; the zero value weighs all alike
	Cluster []int         // cluster of each row, any numbers; nil: rows are independent
}

// A LogRankWeight says which times a test of curves looks at most. With n rows
// at risk at a time in all groups of a stratum, and S(t−) their Kaplan-Meier
// curve just before it:
type LogRankWeight struct {
	Kind WeightKind
	// Rho and Gamma are the powers of FlemingHarrington.
	Rho, Gamma float64
}

// A WeightKind is a family of weights.
type WeightKind int

const (
	// EqualWeights weighs all times alike: the log-rank test.
	EqualWeights WeightKind = iota
	// GehanBreslow is n: early times, and much where few are censored early.
	GehanBreslow
	// TaroneWare is √n.
	TaroneWare
	// PetoPeto is the product of 1 − d/(n+1) over the times up to and including
	// this one, like S but never 0: early times, whatever the censoring.
	PetoPeto
	// FlemingHarrington is S(t−)^Rho (1 − S(t−))^Gamma: early times with Rho
	// above 0, late ones with Gamma above 0.
	FlemingHarrington
)

// name is the test's name with the weight.
func (w LogRankWeight) name() string {
	switch w.Kind {
	case GehanBreslow:
		return "Gehan-Breslow test"
	case TaroneWare:
		return "Tarone-Ware test"
	case PetoPeto:
		return "Peto-Peto test"
	case FlemingHarrington:
		return fmt.Sprintf("Fleming-Harrington test (%g, %g)", w.Rho, w.Gamma)
	}
	return "log-rank test"
}

// at is the weight of a time with d events among n at risk; survival and peto
// are the curves of before.
func (w LogRankWeight) at(n, d, survival, peto float64) float64 {
	switch w.Kind {
	case GehanBreslow:
		return n
	case TaroneWare:
		return math.Sqrt(n)
	case PetoPeto:
		return peto * (1 - d/(n+1))
	case FlemingHarrington:
		return math.Pow(survival, w.Rho) * math.Pow(1-survival, w.Gamma)
	}
	return 1
}

// A LogRankResult is a log-rank test with the sums it is made of.
type LogRankResult struct {
	N        []int       // rows of each group
	Observed []float64   // events of each group
	Expected []float64   // events expected if all groups had one hazard
	Score    []float64   // weighted sum of observed less expected
	Variance [][]float64 // covariance of Score
	Strata   int         // strata that held an event
	Clusters int         // 0 without cluster
	Test     Test
}

// smallExpected is the number of expected events below which the chi-squared
// distribution of the log-rank statistic is doubted.
const smallExpected = 5

// LogRank tests whether k groups have the same hazard at all times. group
// holds the group of each row, 0 to k-1. With d events among n at risk at an
// event time, of which n_g belong to group g, the events of the groups are
// hypergeometric given the margins:
//
//	expected   e_g  = d n_g/n
//	covariance v_gh = d (n-d)/(n-1) n_g/n ([g = h] - n_h/n)
//
// Summed over event times (and strata) they give the statistic (O-E)' V⁻ (O-E),
// referred to the chi-squared distribution on the number of groups less one.
// Rows are at risk from after their entry up to and including their exit. With
// opts.Weight each time's O−E is multiplied by its weight w and its covariance by
// w²; Observed and Expected stay sums of events.
//
// With opts.Cluster the covariance is the robust one, for rows that depend on
// each other, such as a child's heels or spells. With A = Σ w d/n and
// B_h = Σ w d n_h/n² over the event times at which a row of group g is at risk,
// its score for group h is, with the first part only where it has an event,
//
//	w ([g = h] − n_h/n) − ([g = h] A − B_h)
//
// and the covariance is the sum over clusters of the outer product of their
// summed scores, with no factor for few clusters. Without weights it is that of
// the robust score test of a Cox model with Breslow's ties. Clusters may have
// rows in several groups and strata. Few of them give the warning few-clusters.
//
// Censoring and late entry are assumed to tell nothing about the event, and
// rows, or clusters, to be independent. The test looks for hazards in a constant ratio and
// can miss curves that cross. A group that is never at risk together with
// another at an event has no part in the test, lowers the degrees of freedom
// and is named in the warning group-not-compared; fewer than 5 expected events
// in a group give the warning small-expected.
//
// It returns ErrNoEvents without an event, and ErrNoVariance when fewer than
// two groups have rows or no two groups are ever compared, and ErrTooFewClusters
// where clusters are not more than the degrees of freedom.
//
// Mantel N. Evaluation of survival data and two new rank order statistics
// arising in its consideration. Cancer Chemother Rep 1966;50:163-170. Tarone RE,
// Ware J. On distribution-free tests for equality of survival distributions.
// Biometrika 1977;64:156-160. Peto R, Peto J. Asymptotically efficient rank
// invariant test procedures. J R Stat Soc A 1972;135:185-207. Harrington DP,
// Fleming TR. A class of rank test procedures for censored survival data.
// Biometrika 1982;69:553-566. Lin DY, Wei LJ. The robust inference for the Cox
// proportional hazards model. J Am Stat Assoc 1989;84:1074-1078. Jeong JH, Jung SH.
// Rank tests for clustered survival data when dependent subunits are randomized.
// Stat Med 2006;25:361-373 (clusters).
func LogRank(t Times, group []int, k int, opts LogRankOptions) (LogRankResult, error) {
	r, err := logRankOf(t, group, k, opts)
	if err != nil {
		return r, err
	}
	// The expected events are what the distribution rests on; the surplus is the
	// weighted one.
	surplus := make([]float64, k)
	for g := range surplus {
		surplus[g] = r.Expected[g] + r.Score[g]
	}
	r.Test, err = compareGroups(opts.name(), "rows", r.N, surplus, r.Expected, r.Variance)
	r.Test.Method = opts.method()
	if err == nil && opts.Cluster != nil {
		err = r.doubtClusters(opts.name(), &r.Test)
	}
	return r, err
}

// name is the test's.
func (o LogRankOptions) name() string {
	if o.Strata != nil {
		return "stratified " + o.Weight.name()
	}
	return o.Weight.name()
}

func (o LogRankOptions) method() string {
	if o.Cluster != nil {
		return "robust variance by cluster, chi-squared"
	}
	return "hypergeometric variance, chi-squared"
}

// doubtClusters refuses fewer clusters than a robust covariance needs.
func (r LogRankResult) doubtClusters(name string, test *Test) error {
	if float64(r.Clusters) <= test.DF {
		return fmt.Errorf("%s: %w: found %d, expected more than the %g degrees of freedom", name, ErrTooFewClusters, r.Clusters, test.DF)
	}
	test.Warnings = append(test.Warnings, clusterWarnings(r.Clusters)...)
	return nil
}

// logRankOf makes the sums of a test with one weight.
func logRankOf(t Times, group []int, k int, opts LogRankOptions) (LogRankResult, error) {
	r := LogRankResult{
		N:        make([]int, k),
		Observed: make([]float64, k),
		Expected: make([]float64, k),
		Score:    make([]float64, k),
		Variance: newMatrix(k, k),
	}
	name := opts.name()
	if err := t.check(); err != nil {
		return r, fmt.Errorf("%s: %w", name, err)
	}
	checkGroups(t, group, k, opts)
	for i, g := range group {
		r.N[g]++
		if t.Status[i] {
			r.Observed[g]++
		}
	}
	present := 0
	for _, n := range r.N {
		if n > 0 {
			present++
		}
	}
	switch {
	case present < 2:
		return r, fmt.Errorf("%s: rows in %d of %d groups, expected two groups or more: %w", name, present, k, ErrNoVariance)
	case !slices.Contains(t.Status, true):
		return r, fmt.Errorf("%s of %d rows: %w", name, len(group), ErrNoEvents)
	}
	s := logRankSums(t, group, k, []LogRankWeight{opts.Weight}, opts)
	r.Expected, r.Score, r.Variance, r.Strata = s.expected, s.score, s.variance, s.strata
	if opts.Cluster != nil {
		r.Clusters = countClusters(opts.Cluster)
	}
	return r, nil
}

func checkGroups(t Times, group []int, k int, opts LogRankOptions) {
	n := len(t.Exit)
	if len(group) != n || (opts.Strata != nil && len(opts.Strata) != n) || (opts.Cluster != nil && len(opts.Cluster) != n) {
		panic(fmt.Sprintf("stats: %d rows, %d groups, %d strata, %d clusters", n, len(group), len(opts.Strata), len(opts.Cluster)))
	}
	for i, g := range group {
		if g < 0 || g >= k {
			panic(fmt.Sprintf("stats: group %d of row %d outside 0 to %d", g, i+1, k-1))
		}
	}
}

// stratumRows lists the rows of each stratum, strata in increasing order.
func stratumRows(strata []int, n int) [][]int {
	if strata == nil {
		rows := make([]int, n)
		for i := range rows {
			rows[i] = i
		}
		return [][]int{rows}
	}
	at := map[int]int{}
	values := slices.Clone(strata)
	slices.Sort(values)
	values = slices.Compact(values)
	for i, v := range values {
		at[v] = i
	}
	rows := make([][]int, len(values))
	for i, v := range strata {
		rows[at[v]] = append(rows[at[v]], i)
	}
	return rows
}
