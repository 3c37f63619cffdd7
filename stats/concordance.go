package stats

import (
	"fmt"
	"math"
	"slices"
)

// ConcordanceOptions are the choices of Concordance; the zero value takes larger
// scores to mean earlier events, rows to count once and to be independent.
type ConcordanceOptions struct {
	LargerIsLater bool      // whether a larger score means a later event
	Strata        []int     // stratum of each row, any numbers; pairs are of one stratum; nil: one
	Weights       []float64 // weight of each row, above 0; nil: 1 each
	Cluster       []int     // cluster of each row, any numbers; nil: rows are independent
	Level         float64   // confidence level; 0 means 0.95
}

// A ConcordanceResult is Harrell's C with the pairs it is made of. A pair counts
// with the product of its weights.
type ConcordanceResult struct {
	Concordance Estimate
	Concordant  float64   // pairs whose larger score has the earlier event (or the later one: LargerIsLater)
	Discordant  float64   // pairs the other way round
	TiedScore   float64   // comparable pairs of equal scores
	TiedTime    float64   // events at one time with different scores, not comparable
	TiedBoth    float64   // events at one time with equal scores, not comparable
	Influence   []float64 // of each row given on C, its weight included
	N           int
	Events      int
	Strata      int // strata that held a comparable pair
	Clusters    int // 0 without cluster
}

// Concordance is Harrell's C of a score with times to an event: the share of
// comparable pairs of rows in which the larger score goes with the earlier
// event, pairs of equal scores counting one half,
//
//	C = (concordant + ½ tied score) / (concordant + discordant + tied score).
//
// A pair is comparable where it is known whose event came first: one row has the
// event at t and the other one is at risk at t (Entry < t <= Exit) without its
// event then. A row censored at t outlasts an event at t; two events at one time
// are not comparable. 0.5 is what a score without information has; 2C − 1 is
// Somers' D. C depends on the censoring, through the pairs that are comparable,
// and on how much scores differ in the population.
//
// SE is the infinitesimal jackknife: with P the sum of comparable pairs, each
// row's influence is c_i ∂C/∂c_i = c_i (concordant_i + ½ tied_i − C comparable_i) / P,
// of the pairs it is in, and the variance is the sum of the squares of the
// influences, summed first by cluster. A child's several rows make pairs with
// each other too, unless they follow one another. Limits are made on the logit
// of C. P is of Wald's test, on the scale of C, that it is 0.5. Where C is 0 or
// 1 there is no SE, limits or P but the warning no-variation. Few
// clusters give the warning few-clusters.
//
// It returns ErrNoData, ErrEntryAfterExit, ErrNotFinite or ErrNotPositive for
// rows that cannot be used, ErrNoEvents, ErrNoVariance where no pair is
// comparable, and ErrTooFewClusters for a single cluster. Slices of different lengths are the caller's
// mistake. The work is of the order n log n.
//
// Harrell FE, Califf RM, Pryor DB, Lee KL, Rosati RA. Evaluating the yield of
// medical tests. JAMA 1982;247:2543-2546. Therneau TM, Watson DA. The concordance
// statistic and the Cox model. Technical report 85, Mayo Clinic, 2017.
func Concordance(t Times, score []float64, opts ConcordanceOptions) (ConcordanceResult, error) {
	n := len(t.Exit)
	for _, l := range []struct {
		given bool
		len   int
	}{{true, len(score)}, {opts.Strata != nil, len(opts.Strata)}, {opts.Weights != nil, len(opts.Weights)}, {opts.Cluster != nil, len(opts.Cluster)}} {
		if l.given && l.len != n {
			panic(fmt.Sprintf("stats: %d times with %d scores, %d strata, %d weights, %d clusters", n, len(score), len(opts.Strata), len(opts.Weights), len(opts.Cluster)))
		}
	}
	r := ConcordanceResult{N: n, Influence: make([]float64, n)}
	if err := t.check(); err != nil {
		return r, fmt.Errorf("concordance: %w", err)
	}
	var wrong []int
	for i, s := range score {
		if !finite(s) {
			wrong = append(wrong, i)
		}
		if t.Status[i] {
			r.Events++
		}
	}
	if wrong != nil {
		return r, fmt.Errorf("concordance: scores: %w: %d of %d rows (%s)", ErrNotFinite, len(wrong), n, firstRows(wrong))
	}
	if err := checkCoxRows(CoxOptions{Weights: opts.Weights}); err != nil {
		return r, fmt.Errorf("concordance: %w", err)
	}
	if r.Events == 0 {
		return r, fmt.Errorf("concordance of %d rows: %w", n, ErrNoEvents)
	}
	unit := 0.0 // the mean weight, by which weights are divided for the sums' sake
	weights := make([]float64, n)
	for i := range weights {
		weights[i] = 1
		if opts.Weights != nil {
			weights[i] = opts.Weights[i]
		}
		unit += weights[i] / float64(n)
	}
	for i := range weights {
		weights[i] /= unit
	}
	pairs := make([]rowPairs, n)
	for _, rows := range stratumRows(opts.Strata, n) {
		if r.addStratum(t, score, weights, rows, pairs) {
			r.Strata++
		}
	}
	comparable := r.Concordant + r.Discordant + r.TiedScore
	if !(comparable > 0) {
		return r, fmt.Errorf("concordance of %d rows with %d events: %w: no pair is comparable", n, r.Events, ErrNoVariance)
	}
	if opts.LargerIsLater {
		r.Concordant, r.Discordant = r.Discordant, r.Concordant
	}
	c := (r.Concordant + r.TiedScore/2) / comparable
	for i, p := range pairs {
		if opts.LargerIsLater {
			p.concordant, p.discordant = p.discordant, p.concordant
		}
		// The sum without C comparable_i, whose parts would be larger.
		up, down := p.concordant+p.tied/2, p.discordant+p.tied/2
		r.Influence[i] = weights[i] * (float64((1-c)*up) - float64(c*down)) / comparable
	}
	for _, sum := range []*float64{&r.Concordant, &r.Discordant, &r.TiedScore, &r.TiedTime, &r.TiedBoth} {
		if *sum < 1e-14*comparable {
			*sum = 0 // what is left by weights that joined and left
		}
		*sum *= unit * unit
	}
	var err error
	r.Concordance, err = r.estimate(c, opts)
	return r, err
}

// estimate makes C with its limits.
func (r *ConcordanceResult) estimate(c float64, opts ConcordanceOptions) (Estimate, error) {
	e := Estimate{
		Measure: "concordance", Value: c, Level: confidenceLevel(opts.Level),
		Lower: math.NaN(), Upper: math.NaN(), SE: math.NaN(), P: math.NaN(),
		Method: "logit limits, infinitesimal jackknife, rows independent",
	}
	rows := make([][]float64, r.N)
	for i, v := range r.Influence {
		rows[i] = []float64{v}
	}
	if opts.Cluster != nil {
		rows = sumByCluster(rows, opts.Cluster, 1)
		r.Clusters = len(rows)
		e.Method = "logit limits, infinitesimal jackknife by cluster"
		if r.Clusters < 2 {
			return e, fmt.Errorf("concordance: %w: found %d, expected at least 2", ErrTooFewClusters, r.Clusters)
		}
		e.Warnings = clusterWarnings(r.Clusters)
	}
	squares := 0.0
	for _, row := range rows {
		squares += float64(row[0] * row[0])
	}
	if r.Concordant+r.TiedScore == 0 || r.Discordant+r.TiedScore == 0 || r.Concordant+r.Discordant == 0 {
		e.Warnings = append(e.Warnings, Warning{"no-variation", "All comparable pairs are of one sort: the concordance has no standard error."})
		return e, nil
	}
	e.SE = math.Sqrt(squares)
	logit, se := math.Log(c/(1-c)), e.SE/float64(c*(1-c))
	z := criticalZ(e.Level)
	e.Lower, e.Upper = 1/(1+math.Exp(float64(z*se)-logit)), 1/(1+math.Exp(-float64(z*se)-logit))
	e.P = twoSidedNormalP((c - 0.5) / e.SE)
	return e, nil
}

// Concordance is Harrell's C of a Cox model's linear predictor, x'b and offset,
// with the rows the model was fitted to: within its strata, with its weights,
// clusters and late entries. See the function Concordance. The coefficients are
// taken as given, and P is NaN: that a model has a C above 0.5 where it was fitted
// is no evidence, and with new rows C tends to be lower, as the warning
// same-rows says.
//
// Errors are those of the function. Asking another model's Fit, or one with exact
// ties, is the caller's mistake.
func (f Fit) Concordance(level float64) (ConcordanceResult, error) {
	m, at := f.coxModel("concordance")
	eta, _ := m.relativeHazards(at.beta)
	t := Times{Exit: m.exit, Status: m.status}
	if m.byEntry != nil {
		t.Entry = m.entry
	}
	opts := ConcordanceOptions{Strata: make([]int, len(eta)), Weights: make([]float64, len(eta)), Level: level}
	for h, s := range m.strata {
		for k := s.from; k < s.to; k++ {
			opts.Strata[k], opts.Weights[k] = h, m.weight[k]*m.unit
		}
	}
	if f.cox.cluster != nil {
		for _, i := range m.index {
			opts.Cluster = append(opts.Cluster, f.cox.cluster[i])
		}
	}
	r, err := Concordance(t, eta, opts)
	influence := make([]float64, m.rows)
	for k, i := range m.index {
		influence[i] = r.Influence[k]
	}
	r.N, r.Influence = m.rows, influence
	if f.cox.cluster != nil {
		r.Clusters = f.Clusters
	}
	if err != nil {
		return r, err
	}
	r.Concordance.P = math.NaN()
	r.Concordance.Warnings = append(slices.Clip(r.Concordance.Warnings), Warning{
		"same-rows", "The score was fitted to the rows it is judged on: with others its concordance tends to be lower.",
	})
	return r, nil
}
