package stats

import (
	"fmt"
	"math"
	"slices"
)

// FrailtyOptions are the choices of FitCoxFrailty; the zero value is Efron ties,
// level 0.95 and one baseline hazard.
type FrailtyOptions struct {
	Ties   string  // TiesEfron (the meaning of "") or TiesBreslow
	Level  float64 // confidence level; 0 means 0.95
	Strata []int   // stratum of each row, any numbers, each with its own baseline hazard; nil: one
}

// A Frailty is what the model estimates of one child.
type Frailty struct {
	Child    int     // as numbered by the caller
	Events   int     // seen
	Expected float64 // for a frailty of 1
	Value    float64 // (Events + 1/θ)/(Expected + 1/θ)
}

// A FrailtyFit is a fitted Cox model with a frailty shared by the rows of a child.
// Fit.LogLik is the log likelihood with frailties integrated out, on the scale of
// the partial likelihood: at a variance of 0 it is that of the Cox model.
type FrailtyFit struct {
	Fit
	Variance  Estimate  // θ, with limits by the profile likelihood
	Tau       float64   // Kendall's, of two times of a child: θ/(θ+2)
	CoxLogLik float64   // of the Cox model of the same columns without frailty
	Frailties []Frailty // in the order of the children's first rows
}

// frailtyLargest is the variance up to which the maximum is looked for.
const frailtyLargest = 100

// FitCoxFrailty fits the proportional hazards model with a frailty z shared by the
// rows of each child, such as its two heels or its recurrences,
//
//	h(t|x, z) = z h0(t) exp(x'b)
//
// with z independent between children, of the gamma distribution with mean 1 and
// variance θ. For a given θ, with ν = 1/θ, the coefficients and ω = log z maximise
// the penalised partial likelihood
//
//	PL(b, ω) + ν Σ (ω − e^ω)
//
// by Newton's method, which is where the EM algorithm ends (Therneau and
// Grambsch). θ maximises the likelihood with frailties integrated out: with d
// the events of a child, summed over children,
//
//	PL(b, ω) + Σ [νω − (ν+d) log(1 + d/ν) + Σ over j < d of log(1 + j/ν) + d]
//
// by the root of its derivative, sought from 0.01 to 100 and held against 0. It is
// exact for Breslow's ties (and without ties); Efron's PL is put in its place
// otherwise.
//
// Estimates are hazard ratios between rows of children of the same frailty,
// further from 1 than those between all children. Their errors come from the
// inverse of the penalised information in b and ω, all of it, and take θ as
// known, as is common: they are somewhat too small. Fit.Tests holds Wald's test
// of all columns and the likelihood ratio test that θ is 0: that value being the
// least possible, the statistic is 0 half of the time and chi-squared on 1
// degree of freedom otherwise, and P half the latter's tail. Where the variance is
// estimated as 0 the result is FitCox's, model-based. Limits of θ are where the
// profile likelihood has fallen by half the chi-squared quantile; 0 where it has
// not by then.
//
// Frailties are taken to be independent of the columns, and censoring to tell
// nothing of events or frailty. Children that enter late are taken to have the
// frailties of all, which they do not where an event keeps a child from entering:
// the warning late-entry says so. Fewer than 10 events a column give few-events,
// fewer than 30 children few-children.
//
// It returns the errors of FitCox, also where that model without frailty has no
// estimate; ErrTooFewClusters for fewer than two children; ErrTooFewRows where
// every child has one row, which does not tell frailty from baseline;
// ErrNotConverged, also where the variance would be larger than 100.
//
// Therneau TM, Grambsch PM, Pankratz VS. Penalized survival models and frailty. J
// Comput Graph Stat 2003;12:156-175. Nielsen GG, Gill RD, Andersen PK, Sørensen
// TIA. A counting process approach to maximum likelihood estimation in frailty
// models. Scand J Stat 1992;19:25-43. Self SG, Liang KY. J Am Stat Assoc
// 1987;82:605-610 (test on the boundary).
func FitCoxFrailty(t Times, child []int, x [][]float64, terms []string, opts FrailtyOptions) (FrailtyFit, error) {
	const model = "cox model with frailty"
	if len(child) != len(t.Exit) {
		panic(fmt.Sprintf("stats: %d times, %d child numbers", len(t.Exit), len(child)))
	}
	if opts.Ties == TiesExact {
		panic("stats: frailty with exact ties, which have no residuals")
	}
	plain, err := FitCox(t, x, terms, CoxOptions{Ties: opts.Ties, Level: opts.Level, Strata: opts.Strata})
	if err != nil {
		return FrailtyFit{}, fmt.Errorf("%s: %w", model, err)
	}
	children := countClusters(child)
	switch {
	case children < 2:
		return FrailtyFit{}, fmt.Errorf("%s: %w: found %d, expected at least 2", model, ErrTooFewClusters, children)
	case children == len(child):
		return FrailtyFit{}, fmt.Errorf("%s: %w: each of %d children has one, which does not tell its frailty from the baseline", model, ErrTooFewRows, children)
	}
	m := newFrailtyModel(plain, child)
	best, err := m.search()
	if err != nil {
		return FrailtyFit{}, fmt.Errorf("%s: %w", model, err)
	}
	return m.result(plain, best, t, child, opts)
}

// result lays out what came of the search.
func (m *frailtyModel) result(plain Fit, best frailtyMaximum, t Times, child []int, opts FrailtyOptions) (FrailtyFit, error) {
	level := confidenceLevel(opts.Level)
	f := FrailtyFit{Fit: plain, CoxLogLik: plain.LogLik, Tau: best.theta / (best.theta + 2)}
	f.Model, f.cox, f.Estimates = "Cox proportional hazards regression with gamma frailty", nil, nil
	f.Clusters = countClusters(child)
	f.Tests = nil
	if best.theta > 0 {
		f.LogLik, f.Iterations = best.value, best.iterations
		covariance, err := m.covariance(best)
		if err != nil {
			return FrailtyFit{}, fmt.Errorf("cox model with frailty: %w", err)
		}
		f.Covariance = m.cox.unscale(covariance)
		f.Coefficients = slices.Clone(best.beta)
		for j := range f.Coefficients {
			f.Coefficients[j] /= m.cox.scale[j]
		}
		f.ModelSE = diagonalRoots(f.Covariance)
		f.SE = slices.Clone(f.ModelSE)
	}
	z := criticalZ(level)
	indices := make([]int, len(f.Terms))
	for j, b := range f.Coefficients {
		indices[j] = j
		f.Estimates = append(f.Estimates, Estimate{
			Measure: "hazard ratio", Term: f.Terms[j], Value: math.Exp(b), Lower: math.Exp(b - float64(z*f.SE[j])),
			Upper: math.Exp(b + float64(z*f.SE[j])), SE: f.SE[j], Level: level, P: twoSidedNormalP(b / f.SE[j]),
			Method: "Wald limits, " + tiesName(f.Ties) + " ties, penalised information, frailty variance taken as known",
		})
	}
	statistic := math.Max(0, 2*(best.value-plain.LogLik))
	p := 1.0
	if statistic > 0 {
		p = chiSquaredTail(statistic, 1) / 2
	}
	f.Tests = []Test{f.JointTest("Wald test", indices), {
		Name: "likelihood ratio test of no frailty", Statistic: statistic, DF: 1, P: p,
		Method: "even mixture of 0 and chi-squared on 1 degree of freedom",
	}}
	f.Variance = Estimate{
		Measure: "frailty variance", Value: best.theta, SE: math.NaN(), P: p, Level: level, Method: "profile likelihood limits",
	}
	var err error
	if f.Variance.Lower, f.Variance.Upper, err = m.limits(best, plain.LogLik, level); err != nil {
		return FrailtyFit{}, fmt.Errorf("cox model with frailty: limits of the variance: %w", err)
	}
	f.Frailties = m.frailties(best, child)
	f.Warnings = append(slices.Clone(plain.Warnings), frailtyWarnings(t, child, f.Clusters)...)
	return f, nil
}

// frailties are those of the children, in the order of their first rows; 1 for
// one that was never at risk at an event.
func (m *frailtyModel) frailties(at frailtyMaximum, child []int) []Frailty {
	residual := m.view(at.eta).martingale(nil)
	out := []Frailty{}
	place := map[int]int{}
	status := make([]bool, len(child))
	for k, i := range m.cox.index {
		status[i] = m.cox.status[k]
	}
	for i, c := range child {
		k, ok := place[c]
		if !ok {
			k = len(out)
			place[c] = k
			out = append(out, Frailty{Child: c, Value: 1})
		}
		expected := -residual[i]
		if status[i] {
			out[k].Events++
			expected++
		}
		out[k].Expected += expected
	}
	for i := range out {
		f := &out[i]
		if k, ok := m.number[f.Child]; ok {
			f.Value = math.Exp(at.omega[k])
			f.Expected /= f.Value
		}
	}
	return out
}

func frailtyWarnings(t Times, child []int, children int) []Warning {
	var ws []Warning
	if children < fewClusters {
		ws = append(ws, Warning{"few-children", fmt.Sprintf(
			"The variance of the frailty rests on %d children; below %d it tends to be too small.", children, fewClusters)})
	}
	first := map[int]float64{}
	late := 0
	for _, i := range t.byEntry() {
		if _, ok := first[child[i]]; !ok {
			if first[child[i]] = t.entry(i); t.entry(i) > 0 {
				late++
			}
		}
	}
	if late > 0 {
		ws = append(ws, Warning{"late-entry", fmt.Sprintf(
			"%d of %d children enter after time 0: they are taken to have frailties as all children, which is wrong where an event would have kept them from entering.",
			late, children)})
	}
	return ws
}
