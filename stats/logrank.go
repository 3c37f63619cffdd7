package stats

import (
	"fmt"
	"math"
	"slices"
)

// LogRankOptions are the choices of LogRank; the zero value is the plain,
// unstratified test.
type LogRankOptions struct {
	Strata []int         // stratum of each row, any numbers; nil: one stratum
	Weight LogRankWeight // of the times; the zero value weighs all alike
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
// Censoring and late entry are assumed to tell nothing about the event, and
// rows to be independent. The test looks for hazards in a constant ratio and
// can miss curves that cross. A group that is never at risk together with
// another at an event has no part in the test, lowers the degrees of freedom
// and is named in the warning group-not-compared; fewer than 5 expected events
// in a group give the warning small-expected.
//
// It returns ErrNoEvents without an event, and ErrNoVariance when fewer than
// two groups have rows or no two groups are ever compared.
//
// Mantel N. Evaluation of survival data and two new rank order statistics
// arising in its consideration. Cancer Chemother Rep 1966;50:163-170. Tarone RE,
// Ware J. On distribution-free tests for equality of survival distributions.
// Biometrika 1977;64:156-160. Peto R, Peto J. Asymptotically efficient rank
// invariant test procedures. J R Stat Soc A 1972;135:185-207. Harrington DP,
// Fleming TR. A class of rank test procedures for censored survival data.
// Biometrika 1982;69:553-566.
func LogRank(t Times, group []int, k int, opts LogRankOptions) (LogRankResult, error) {
	r := LogRankResult{
		N:        make([]int, k),
		Observed: make([]float64, k),
		Expected: make([]float64, k),
		Score:    make([]float64, k),
		Variance: newMatrix(k, k),
	}
	if err := t.check(); err != nil {
		return r, fmt.Errorf("log-rank test: %w", err)
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
		return r, fmt.Errorf("log-rank test: rows in %d of %d groups, expected two groups or more: %w", present, k, ErrNoVariance)
	case !slices.Contains(t.Status, true):
		return r, fmt.Errorf("log-rank test of %d rows: %w", len(group), ErrNoEvents)
	}
	for _, rows := range stratumRows(opts.Strata, len(group)) {
		if r.addStratum(t, group, rows, opts.Weight) {
			r.Strata++
		}
	}
	name := opts.Weight.name()
	if opts.Strata != nil {
		name = "stratified " + name
	}
	// The expected events are what the distribution rests on; the surplus is the
	// weighted one.
	surplus := make([]float64, k)
	for g := range surplus {
		surplus[g] = r.Expected[g] + r.Score[g]
	}
	var err error
	r.Test, err = compareGroups(name, "rows", r.N, surplus, r.Expected, r.Variance)
	r.Test.Method = "hypergeometric variance, chi-squared"
	return r, err
}

func checkGroups(t Times, group []int, k int, opts LogRankOptions) {
	if len(group) != len(t.Exit) || (opts.Strata != nil && len(opts.Strata) != len(t.Exit)) {
		panic(fmt.Sprintf("stats: %d rows, %d groups, %d strata", len(t.Exit), len(group), len(opts.Strata)))
	}
	for i, g := range group {
		if g < 0 || g >= k {
			panic(fmt.Sprintf("stats: group %d of row %d outside 0 to %d", g, i+1, k-1))
		}
	}
}

// stratumRows lists the rows of each stratum, strata in increasing order.
func stratumRows(strata []int, n int) [][]int {
	at := map[int]int{}
	if strata == nil {
		strata = make([]int, n)
	}
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

// addStratum adds the sums of some rows, and reports whether they held an event.
func (r *LogRankResult) addStratum(t Times, group, rows []int, weight LogRankWeight) bool {
	byExit := ordered(len(rows), func(i int) float64 { return t.Exit[rows[i]] })
	byEntry := ordered(len(rows), func(i int) float64 { return t.entry(rows[i]) })
	k := len(r.N)
	atRisk := make([]float64, k)
	total, entered, found := 0.0, 0, false
	survival, peto := 1.0, 1.0
	own := make([]float64, k) // events of each group at a time
	for i := 0; i < len(rows); {
		at := t.Exit[rows[byExit[i]]]
		for ; entered < len(rows); entered++ {
			row := rows[byEntry[entered]]
			if t.Entry != nil && t.Entry[row] >= at {
				break
			}
			atRisk[group[row]]++
			total++
		}
		d, to := 0.0, i
		clear(own)
		for ; to < len(rows) && t.Exit[rows[byExit[to]]] == at; to++ {
			if t.Status[rows[byExit[to]]] {
				d++
				own[group[rows[byExit[to]]]]++
			}
		}
		if d > 0 {
			found = true
			r.addTime(weight.at(total, d, survival, peto), d, total, own, atRisk)
			survival *= (total - d) / total
			peto *= 1 - d/(total+1)
		}
		for ; i < to; i++ {
			atRisk[group[rows[byExit[i]]]]--
			total--
		}
	}
	return found
}

// addTime adds one event time.
func (r *LogRankResult) addTime(w, d, n float64, own, atRisk []float64) {
	for g, ng := range atRisk {
		expected := d * ng / n
		r.Expected[g] += expected
		r.Score[g] += w * (own[g] - expected)
		if n == 1 {
			continue
		}
		scale := w * w * d * (n - d) / (n - 1) * ng / n
		for h, nh := range atRisk {
			if g == h {
				r.Variance[g][h] += scale * (n - nh) / n
			} else {
				r.Variance[g][h] -= scale * nh / n
			}
		}
	}
}
