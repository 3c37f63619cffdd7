package stats

import (
	"fmt"
	"slices"
)

// LogRankOptions are the choices of LogRank; the zero value is the plain,
// unstratified test.
type LogRankOptions struct {
	Strata []int // stratum of each row, any numbers; nil: one stratum
}

// A LogRankResult is a log-rank test with the sums it is made of.
type LogRankResult struct {
	N        []int       // rows of each group
	Observed []float64   // events of each group
	Expected []float64   // events expected if all groups had one hazard
	Variance [][]float64 // covariance of Observed - Expected
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
// Rows are at risk from after their entry up to and including their exit.
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
// arising in its consideration. Cancer Chemother Rep 1966;50:163-170.
func LogRank(t Times, group []int, k int, opts LogRankOptions) (LogRankResult, error) {
	r := LogRankResult{
		N:        make([]int, k),
		Observed: make([]float64, k),
		Expected: make([]float64, k),
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
		if r.addStratum(t, group, rows) {
			r.Strata++
		}
	}
	name := "log-rank test"
	if opts.Strata != nil {
		name = "stratified log-rank test"
	}
	var err error
	r.Test, err = compareGroups(name, "rows", r.N, r.Observed, r.Expected, r.Variance)
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
func (r *LogRankResult) addStratum(t Times, group, rows []int) bool {
	byExit := ordered(len(rows), func(i int) float64 { return t.Exit[rows[i]] })
	byEntry := ordered(len(rows), func(i int) float64 { return t.entry(rows[i]) })
	k := len(r.N)
	atRisk := make([]float64, k)
	total, entered, found := 0.0, 0, false
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
		for ; to < len(rows) && t.Exit[rows[byExit[to]]] == at; to++ {
			if t.Status[rows[byExit[to]]] {
				d++
			}
		}
		if d > 0 {
			found = true
			r.addTime(d, total, atRisk)
		}
		for ; i < to; i++ {
			atRisk[group[rows[byExit[i]]]]--
			total--
		}
	}
	return found
}

// addTime adds one event time.
func (r *LogRankResult) addTime(d, n float64, atRisk []float64) {
	for g, ng := range atRisk {
		r.Expected[g] += d * ng / n
		if n == 1 {
			continue
		}
		scale := d * (n - d) / (n - 1) * ng / n
		for h, nh := range atRisk {
			if g == h {
				r.Variance[g][h] += scale * (n - nh) / n
			} else {
				r.Variance[g][h] -= scale * nh / n
			}
		}
	}
}
