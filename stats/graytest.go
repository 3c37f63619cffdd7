package stats

import (
	"errors"
	"fmt"
	"math"
)

// ErrLateEntry says that a method has no form for rows that enter late.
var ErrLateEntry = errors.New("rows enter late")

// GrayOptions are the choices of GrayTest; the zero value is the unweighted,
// unstratified test.
type GrayOptions struct {
	Rho    float64 // power of the weight (1 − F(t−))^Rho; 0: all times alike
	Strata []int   // stratum of each row, any numbers; nil: one stratum
}

// A GrayResult is Gray's test with the sums it is made of.
type GrayResult struct {
	N        []int       // rows of each group
	Observed []int       // ends by the cause
	Score    []float64   // weighted excess of each group
	Variance [][]float64 // covariance of Score
	Test     Test
}

// GrayTest tests whether k groups have the same cumulative incidence of an end
// by cause at all times. group holds the group of each row, 0 to k−1. With
// n_g(t) rows of group g at risk, F_g its cumulative incidence and S_g its
// event-free probability,
//
//	R_g(t)  = n_g(t) (1 − F_g(t−)) / S_g(t−)
//	score_g = Σ (1 − F(t−))^Rho (d_g − d R_g/Σ R)
//
// over the times of ends by the cause, d_g of them in group g; F is the common
// incidence, which rises by d/Σ (n_g/S_g(t−)). So a row that ended by another cause still
// counts in the risk set as long as it would have been followed. The variance
// is Gray's, which takes the F_g and S_g for the estimates they are; the
// statistic is referred to the chi-squared distribution on the groups less one.
//
// The test compares incidences, not hazards: a group can have more of the
// cause's ends only because it has fewer of the others. Censoring is taken to
// tell nothing of the ends, within a group, and rows to be independent.
//
// It returns ErrLateEntry for rows that enter late, for which the test has no
// form (FitFineGray compares groups then), ErrNoEvents without an end by the
// cause, and ErrNoVariance when fewer than two groups have rows or are compared.
//
// Gray RJ. A class of K-sample tests for comparing the cumulative incidence of
// a competing risk. Ann Stat 1988;16:1141-1154.
func GrayTest(t CompetingTimes, cause int, group []int, k int, opts GrayOptions) (GrayResult, error) {
	const name = "Gray's test"
	r := GrayResult{N: make([]int, k), Observed: make([]int, k), Score: make([]float64, k), Variance: newMatrix(k, k)}
	causes := cause
	for _, c := range t.Cause {
		causes = max(causes, c)
	}
	if err := t.check(causes); err != nil {
		return r, fmt.Errorf("%s: %w", name, err)
	}
	checkGroups(t.times(), group, k, LogRankOptions{Strata: opts.Strata})
	late := 0
	for i, g := range group {
		r.N[g]++
		if t.Cause[i] == cause {
			r.Observed[g]++
		}
		if t.Entry != nil && t.Entry[i] > 0 {
			late++
		}
	}
	switch {
	case late > 0:
		return r, fmt.Errorf("%s: %w: %d of %d", name, ErrLateEntry, late, len(group))
	case !t.happens(cause):
		return r, fmt.Errorf("%s of %d rows: %w by the cause", name, len(group), ErrNoEvents)
	}
	present := 0
	for _, n := range r.N {
		if n > 0 {
			present++
		}
	}
	if present < 2 {
		return r, fmt.Errorf("%s: rows in %d of %d groups, expected two groups or more: %w", name, present, k, ErrNoVariance)
	}
	for _, rows := range stratumRows(opts.Strata, len(group)) {
		r.addStratum(t, cause, group, rows, opts.Rho)
	}
	zero := make([]float64, k)
	var err error
	observed := make([]float64, k)
	copy(observed, r.Score)
	r.Test, err = compareGroups(name, "rows", r.N, observed, zero, r.Variance)
	r.Test.Method = "Gray's variance, chi-squared"
	r.Test.Warnings = withoutCode(r.Test.Warnings, "small-expected")
	return r, err
}

func withoutCode(ws []Warning, code string) (kept []Warning) {
	for _, w := range ws {
		if w.Code != code {
			kept = append(kept, w)
		}
	}
	return kept
}

// A grayGroup is what the sums know of a group just before a time. With e the
// error of its incidence and h the relative error of its event-free
// probability, the score of group i moves by Σ a_i (de + e dF/(1−F) − h dF) for
// a_i = y_i ([i is the group] − y/Y), y = n/S and Y their sum. The martingale
// q = e − (1−F) h has a variation dq² at each end, and c_i = Σ a_i dF/(1−F)
// gathers what the score takes of it: (c_i at the end − c_i now) dq.
type grayGroup struct {
	n           float64 // at risk
	free, after float64 // event-free probability before and after the time
	incidence   float64 // of the cause
	c           []float64
	v2          []float64 // Σ (a_i dN − c_i dq) dq
	v3          float64   // Σ dq²
}

// addStratum adds the sums of some rows.
func (r *GrayResult) addStratum(t CompetingTimes, cause int, group, rows []int, rho float64) {
	k := len(r.N)
	groups := make([]grayGroup, k)
	for g := range groups {
		groups[g] = grayGroup{free: 1, after: 1, c: make([]float64, k), v2: make([]float64, k)}
	}
	for _, i := range rows {
		groups[group[i]].n++
	}
	exits := grayExits(t, group, rows)
	common := 0.0 // the incidence of all groups, before the time
	own, other, gone := make([]float64, k), make([]float64, k), make([]float64, k)
	a := newMatrix(k, k)
	for i := 0; i < len(rows); {
		at := exits[i].at
		clear(own)
		clear(other)
		clear(gone)
		d1, d2 := 0.0, 0.0
		for ; i < len(rows) && exits[i].at == at; i++ {
			g := exits[i].group
			gone[g]++
			switch c := exits[i].cause; {
			case c == cause:
				own[g]++
				d1++
			case c > 0:
				other[g]++
				d2++
			}
		}
		if d1+d2 > 0 {
			common = r.addTime(groups, a, own, other, d1, d2, common, rho)
		}
		for g := range groups {
			groups[g].n -= gone[g]
		}
	}
	for i := range k {
		for j := range k {
			for g := range groups {
				q := &groups[g]
				r.Variance[i][j] += float64(q.c[i]*q.c[j]*q.v3) + float64(q.c[i]*q.v2[j]) + float64(q.c[j]*q.v2[i])
			}
		}
	}
}

// A grayExit is the end of a row.
type grayExit struct {
	at           float64
	group, cause int
}

// grayExits are the ends of some rows in order.
func grayExits(t CompetingTimes, group, rows []int) []grayExit {
	order := sorted(len(rows), func(i int) float64 { return t.Exit[rows[i]] })
	exits := make([]grayExit, len(rows))
	inChunks(len(rows), func(_, from, to int) {
		for i := from; i < to; i++ {
			row := rows[order[i].row]
			exits[i] = grayExit{order[i].value(), group[row], t.Cause[row]}
		}
	})
	return exits
}

// addTime adds one time of ends, own by the cause and other by the rest in
// each group, and returns the common incidence after it; a is room for what
// moves the scores.
func (r *GrayResult) addTime(groups []grayGroup, a [][]float64, own, other []float64, d1, d2, common, rho float64) float64 {
	subRisk, risk := 0.0, 0.0 // Σ R, Σ n/S
	for g := range groups {
		q := &groups[g]
		if q.n == 0 {
			continue
		}
		q.after = q.free * (q.n - own[g] - other[g]) / q.n
		risk += q.n / q.free
		subRisk += q.n * (1 - q.incidence) / q.free
	}
	weight := math.Pow(1-common, rho)
	next := common + d1/risk
	for i := range groups {
		clear(a[i])
		if groups[i].n == 0 {
			continue
		}
		share := groups[i].n / groups[i].free
		for j := range groups {
			if groups[j].n == 0 {
				continue
			}
			a[i][j] = -weight * share * (groups[j].n / groups[j].free) / risk
			if i == j {
				a[i][j] += weight * share
			}
		}
		r.Score[i] += weight * (own[i] - d1*share*(1-groups[i].incidence)/subRisk)
	}
	for i := range groups {
		for g := range groups {
			groups[g].c[i] += a[i][g] * d1 / (risk * (1 - common))
		}
	}
	for g := range groups {
		q := &groups[g]
		if q.n > 0 && d1 > 0 {
			left := 1.0
			if q.after > 0 {
				left = 1 - (1-next)/q.after
			}
			tied := 1.0
			if d1 > 1 {
				tied = 1 - (d1-1)/(risk*q.free-1)
			}
			r.spread(q, tied*q.free*d1/(risk*q.n), left, func(i int) float64 { return a[i][g] })
		}
		if q.after > 0 && other[g] > 0 {
			left := (1 - next) / q.after
			tied := 1.0
			if other[g] > 1 {
				tied = 1 - (other[g]-1)/(q.n-1)
			}
			r.spread(q, tied*q.free*q.free*other[g]/(q.n*q.n), -left, func(int) float64 { return 0 })
		}
	}
	for g := range groups {
		q := &groups[g]
		if q.n > 0 {
			q.incidence += q.free * own[g] / q.n
			q.free = q.after
		}
	}
	return next
}

// spread adds the variation that the ends of a time bring: variance of them,
// each with the effect at(i) − left × c on the score of group i now and left
// on what its later sums multiply.
func (r *GrayResult) spread(q *grayGroup, variance, left float64, at func(i int) float64) {
	q.v3 += left * left * variance
	for i := range q.c {
		x := at(i) - float64(left*q.c[i])
		q.v2[i] += x * left * variance
		for j := range q.c {
			r.Variance[i][j] += x * (at(j) - float64(left*q.c[j])) * variance
		}
	}
}
