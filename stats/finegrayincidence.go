package stats

import (
	"fmt"
	"math"
	"sort"
)

// PredictedIncidence estimates the cumulative incidence, at the times given, of
// a row with the covariates x (of all terms, in the caller's units; nil: 0
// each), from a fit of FitFineGray:
//
//	F(t|x) = 1 - exp(-Λ),  Λ = exp(x'b) sum over event times s <= t of d / Σ w(s) exp(x_i'b),
//
// Breslow's estimator, or with Efron's ties the sum over the d denominators of
// the likelihood. Its variance is (1 - F)² times that of Λ, the sum over rows, or
// over clusters of their sums, of the squares of
//
//	exp(x'b) (∫ w(s)/S(s) dM(s) + ∫ K(u)/Y(u) dMc(u)) + (∂Λ/∂b)' B (η + ψ)
//
// up to t, with S the sum over the risk set, M, Mc, Y, B, η and ψ as FitFineGray
// has them, and K(u) what the rows that ended otherwise up to u add to Σ w
// exp(x_i'b)/S² of the event times after u. K and ψ are left out where weights
// are taken for known. Limits are those of CumulativeIncidence; before the first
// end by the cause the incidence is 0 with SE 0 and no limits, and after the
// last time that anybody was observed all is NaN. A time takes the rows through
// once.
//
// It returns ErrNotFinite where x or a time is not finite or Λ too large for a
// number. Covariates outside of the data give numbers outside of them. Asking
// another model's Fit, and an x of another length, are the caller's mistake;
// opts.Cluster is not used, since the fit has its own.
//
// Fine JP, Gray RJ. J Am Stat Assoc 1999;94:496-509, section 5 (the same
// expansion, whose quantiles they simulate).
func (f Fit) PredictedIncidence(x, times []float64, opts IncidenceOptions) ([]IncidencePoint, error) {
	g := f.fineGray
	if g == nil {
		panic("stats: predicted incidence of a fit that is no subdistribution hazards model")
	}
	m, p := g.model, len(f.Terms)
	if x == nil {
		x = make([]float64, p)
	}
	if len(x) != p {
		panic(fmt.Sprintf("stats: %d covariates, expected %d", len(x), p))
	}
	for j, v := range x {
		if !finite(v) {
			return nil, fmt.Errorf("predicted incidence: term %q: %w", f.Terms[j], ErrNotFinite)
		}
	}
	limits := CurveOptions{Level: opts.Level, Limits: opts.Limits}.resolve()
	own := m.standard(m.strata[0], x)
	largest := math.Inf(-1)
	for _, row := range m.x {
		largest = math.Max(largest, dot(row, g.at.beta))
	}
	ratio := math.Exp(dot(own, g.at.beta) - largest)
	out := make([]IncidencePoint, len(times))
	for i, t := range times {
		out[i] = IncidencePoint{Time: t, Incidence: math.NaN(), SE: math.NaN(), Lower: math.NaN(), Upper: math.NaN()}
		if !finite(t) {
			return nil, fmt.Errorf("predicted incidence: time %d: %w", i+1, ErrNotFinite)
		}
		if t > g.last {
			continue
		}
		hazard, variance := g.hazardAt(own, t)
		hazard *= ratio
		se := ratio * math.Sqrt(variance)
		if !finite(hazard) || !finite(se) {
			return nil, fmt.Errorf("predicted incidence at %v: %w", t, ErrNotFinite)
		}
		o := &out[i]
		o.Incidence, o.SE = -math.Expm1(-hazard), math.Exp(-hazard)*se
		o.Lower, o.Upper = incidenceLimits(o.Incidence, o.SE, criticalZ(limits.Level), limits.Limits)
	}
	return out, nil
}

// hazardAt is the cumulative subdistribution hazard at t of the largest linear
// predictor of the rows, and the variance that scaled covariates give it.
func (g *fineGray) hazardAt(x []float64, t float64) (hazard, variance float64) {
	m := g.model
	_, w := m.relativeHazards(g.at.beta)
	slope := make([]float64, len(x))
	// Groups are latest first: after[i] adds up those from the i-th on, which
	// are the earlier ones, for each class.
	first := sort.Search(len(m.groups), func(i int) bool { return m.groups[i].at <= t })
	var earlier [2][]float64
	for k := range earlier {
		earlier[k] = make([]float64, len(m.groups)+1)
	}
	for i := len(m.groups) - 1; i >= first; i-- {
		step := g.steps[i]
		hazard += step.hazard
		for j, v := range step.mean {
			slope[j] += float64(x[j]*step.hazard) - v
		}
		earlier[0][i] = earlier[0][i+1] + step.squared
		earlier[1][i] = earlier[1][i+1] + float64(step.weighing*step.squared)
	}
	influence := newMatrix(len(g.times.Exit), 1)
	from := func(at float64) int { // the latest group up to a time, and up to t
		return max(first, sort.Search(len(m.groups), func(i int) bool { return m.groups[i].at <= at }))
	}
	for k, row := range m.index {
		c := m.class(k)
		span := earlier[c][from(m.exit[k])] - earlier[c][from(m.entry[k])]
		influence[g.source[row]][0] -= float64(w[k] * span)
	}
	for i := first; i < len(m.groups); i++ {
		step, events := g.steps[i], m.groups[i].events
		for _, k := range events {
			influence[g.source[m.index[k]]][0] += step.hazard/float64(len(events)) + float64(w[k]*step.spared)
		}
	}
	if !g.known {
		q := newMatrix(len(g.chance.at), 1)
		g.eachCensoring(w, t, func(c int, fading coxSums, ahead fadeStep) {
			q[c][0] = (fading[0].high + fading[0].low) * ahead.squared
		})
		for i, row := range g.chance.influences(g.times, q, 1) {
			influence[i][0] += row[0]
		}
	}
	move := make([]float64, len(slope))
	for j := range move {
		move[j] = dot(g.at.covariance[j], slope)
	}
	for i, score := range g.scores {
		influence[i][0] += dot(move, score)
	}
	for _, sum := range sumByCluster(influence, g.clusters(), 1) {
		variance += float64(sum[0] * sum[0])
	}
	return hazard, variance
}
