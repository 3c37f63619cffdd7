package stats

import (
	"fmt"
	"math"
	"slices"
)

// A fineGray is a subdistribution hazards model at its maximum, on scaled
// columns.
type fineGray struct {
	times   CompetingTimes
	model   *coxModel // rows as given, then one more for each that ended otherwise
	at      coxMaximum
	chance  observationChance
	source  []int // the given row of each of the model's
	cluster []int
	known   bool        // the weights are taken for known
	last    float64     // time anybody was observed
	steps   []fadeStep  // latest first
	scores  [][]float64 // contribution of each given row
}

// A fadeStep is what an event time adds to the subdistribution hazard for the
// largest linear predictor: with Efron's ties sums over the d denominators.
type fadeStep struct {
	hazard   float64   // Σ 1/S
	squared  float64   // Σ 1/S²
	spared   float64   // Σ (k/d)/S²
	mean     []float64 // Σ x̄/S
	weighing float64   // factor of the fading rows
}

func (g *fineGray) makeSteps(w []float64) []fadeStep {
	m := g.model
	steps := make([]fadeStep, 0, len(m.groups))
	m.visit(w, coxMeans, func(group coxGroup, risk, tied []float64) {
		step := fadeStep{mean: make([]float64, len(m.scale)), weighing: m.fading.factor[len(steps)]}
		parts, each := m.parts(group)
		for k := range parts {
			part := m.share(k, parts)
			s0 := risk[0] - float64(part*tied[0])
			step.hazard += each / s0
			step.squared += each / s0 / s0
			step.spared += part * each / s0 / s0
			for j := range step.mean {
				step.mean[j] += (risk[1+j] - float64(part*tied[1+j])) / s0 * each / s0
			}
		}
		steps = append(steps, step)
	})
	return steps
}

// contributions are the rows' η, and ψ where the weights are not taken for
// known.
func (g *fineGray) contributions(w []float64) [][]float64 {
	m, p := g.model, len(g.model.scale)
	out := newMatrix(len(g.times.Exit), p)
	for k, row := range m.scoreResiduals(g.at.beta) {
		for j, v := range row {
			out[g.source[k]][j] += v
		}
	}
	if g.known {
		return out
	}
	// After each time of censoring: Σ w of the rows fading then and Σ w x, and
	// the integrals of the hazard and of x̄ to come.
	q := newMatrix(len(g.chance.at), p)
	g.eachCensoring(w, math.Inf(1), func(c int, fading coxSums, ahead fadeStep) {
		sum := fading[0].high + fading[0].low
		for j := range p {
			own := fading[1+j].high + fading[1+j].low
			q[c][j] = float64(own*ahead.hazard) - float64(sum*ahead.mean[j])
		}
	})
	for i, row := range g.chance.influences(g.times, q, p) {
		for j, v := range row {
			out[i][j] += v
		}
	}
	return out
}

// eachCensoring calls f for each time of censoring, latest first, with the sums
// of the rows that ended otherwise up to then, and what the event times after
// it, up to a time, add up to for them.
func (g *fineGray) eachCensoring(w []float64, until float64, f func(c int, fading coxSums, ahead fadeStep)) {
	m, p := g.model, len(g.model.scale)
	sums := newCoxSums(p, coxMeans)
	add := func(i int, sign float64) {
		sums[0].add(sign * w[i])
		for j, x := range m.x[i] {
			sums[1+j].add(float64(sign * w[i] * x))
		}
	}
	inside := 0
	for i := range m.x {
		if m.class(i) == 1 {
			add(i, 1)
			inside++
		}
	}
	ahead := fadeStep{mean: make([]float64, p)}
	left, group := 0, 0
	for c, at := range slices.Backward(g.chance.at) {
		for ; left < len(m.byEntry) && m.entry[m.byEntry[left]] > at; left++ {
			if i := m.byEntry[left]; m.class(i) == 1 {
				if inside--; inside == 0 {
					clear(sums)
				} else {
					add(i, -1)
				}
			}
		}
		for ; group < len(m.groups) && m.groups[group].at > at; group++ {
			if m.groups[group].at > until {
				continue
			}
			step := g.steps[group]
			ahead.hazard += float64(step.weighing * step.hazard)
			ahead.squared += float64(step.weighing * step.squared)
			for j, v := range step.mean {
				ahead.mean[j] += float64(step.weighing * v)
			}
		}
		f(c, sums, ahead)
	}
}

// clusters returns the clusters of the given rows, each its own without any.
func (g *fineGray) clusters() []int {
	if g.cluster != nil {
		return g.cluster
	}
	own := make([]int, len(g.times.Exit))
	for i := range own {
		own[i] = i
	}
	return own
}

// result lays out what came of the fit.
func (g *fineGray) result(terms []string, opts CoxOptions, late bool) (Fit, error) {
	m, p := g.model, len(terms)
	f := Fit{
		Model: "proportional subdistribution hazards regression", Terms: slices.Clone(terms),
		Coefficients: make([]float64, p), LogLik: g.at.logLik, NullLogLik: g.at.nullLogLik,
		Deviance: math.NaN(), Dispersion: 1, DF: p, N: len(g.times.Exit), Events: m.events,
		Iterations: g.at.iterations, Ties: opts.Ties, fineGray: g,
	}
	for j := range p {
		f.Coefficients[j] = g.at.beta[j] / m.scale[j]
	}
	f.Covariance = m.unscale(g.at.covariance)
	f.ModelSE = diagonalRoots(f.Covariance)
	f.Clusters = countClusters(g.clusters())
	if f.Clusters <= p {
		return Fit{}, fmt.Errorf("%w: found %d, expected more than the %d coefficients", ErrTooFewClusters, f.Clusters, p)
	}
	_, w := m.relativeHazards(g.at.beta)
	g.steps = g.makeSteps(w)
	g.scores = g.contributions(w)
	v, err := clusterRobust(g.at.covariance, g.scores, g.clusters(), false)
	if err != nil {
		return Fit{}, err
	}
	for j := range v {
		// A coefficient's share of its model-based variance that is rounding.
		if !finite(v[j][j]) || v[j][j] <= 1e-20*g.at.covariance[j][j] {
			return Fit{}, fmt.Errorf("term %q: the rows' contributions are all 0: %w", terms[j], ErrNoVariance)
		}
	}
	f.Covariance = m.unscale(v)
	f.SE = diagonalRoots(f.Covariance)
	f.Robust = "robust, rows independent, uncorrected"
	if g.cluster != nil {
		f.Robust = clusterMethod(false)
	}
	if g.known {
		f.Robust += ", weights taken for known"
	} else {
		f.Robust += ", with the weights' own error"
	}
	all := make([]int, p)
	for j := range all {
		all[j] = j
	}
	f.Tests = []Test{f.JointTest("Wald test", all)}
	f.Estimates = m.ratios(f, "subdistribution hazard ratio", opts.Level)
	f.Warnings = m.fewEvents(len(m.scale))
	if g.cluster != nil {
		f.Warnings = append(f.Warnings, clusterWarnings(f.Clusters)...)
	}
	if late && slices.Contains(m.fading.row, true) {
		f.Warnings = append(f.Warnings, Warning{"known-weights", "Rows enter late: errors take the weights of rows that ended otherwise for known, though they are estimated."})
		if most := m.heaviest(); most > largeWeight {
			f.Warnings = append(f.Warnings, Warning{"large-weights", fmt.Sprintf(
				"Rows enter late, and a row that ended otherwise counts up to %.3g times: the estimates rest on small risk sets.", most)})
		}
	}
	return f, nil
}

// largeWeight is the weight of a single row above which a fit is doubted.
const largeWeight = 10
