package stats

import (
	"fmt"
	"math"
	"slices"
)

// ConditionalOptions are the choices of FitConditionalLogistic.
type ConditionalOptions struct {
	Level float64 // confidence level; 0 means 0.95
}

// FitConditionalLogistic fits the logistic regression of matched sets, such as a
// case with its controls or the two heels of a child, by the likelihood given
// how many of each set have the outcome:
//
//	product over sets of exp(Σ over those with it of x'b) /
//	Σ over choices of as many of the set of exp(Σ over the chosen of x'b)
//
// so that whatever a set has in common, measured or not, drops out. It is the
// exact partial likelihood of a Cox model with a stratum for each set (FitCox,
// TiesExact). set numbers the set of each row (any numbers).
//
// Estimates are odds ratios within sets with Wald limits. Sets in which all or
// none have the outcome say nothing; the warning uninformative-sets counts them,
// and N, Events and Clusters are of the others. A column that is the same within
// every set has no coefficient: ErrCollinear.
//
// It returns ErrNoData, ErrNotFinite, ErrNoEvents where nobody has the outcome,
// ErrNoVariance where no set has some with it and some without, ErrSeparation,
// ErrTooLarge for sets beyond enumeration, and ErrNotConverged.
//
// Breslow NE, Day NE. Statistical Methods in Cancer Research, vol. I. IARC,
// 1980, ch. 7. Gail MH, Lubin JH, Rubinstein LV. Likelihood calculations for
// matched case-control studies and survival studies with tied death times.
// Biometrika 1981;68:703-707.
func FitConditionalLogistic(x [][]float64, terms []string, y []bool, set []int, opts ConditionalOptions) (Fit, error) {
	const model = "conditional logistic regression"
	if len(x) != len(y) || len(set) != len(y) {
		panic(fmt.Sprintf("stats: %d outcomes, %d rows of covariates, %d sets", len(y), len(x), len(set)))
	}
	if len(y) == 0 {
		return Fit{}, fmt.Errorf("%s: %w", model, ErrNoData)
	}
	if !slices.Contains(y, true) {
		return Fit{}, fmt.Errorf("%s: %w in %d rows", model, ErrNoEvents, len(y))
	}
	with, without := map[int]int{}, map[int]int{}
	for i, s := range set {
		if y[i] {
			with[s]++
		} else {
			without[s]++
		}
	}
	var rows [][]float64
	var t Times
	var strata []int
	events := 0
	for i, s := range set {
		if with[s] == 0 || without[s] == 0 {
			continue
		}
		rows, strata = append(rows, x[i]), append(strata, s)
		t.Exit, t.Status = append(t.Exit, 1), append(t.Status, y[i])
		if y[i] {
			events++
		}
	}
	sets, all := countClusters(strata), countClusters(set)
	if sets == 0 {
		return Fit{}, fmt.Errorf("%s: %w: none of %d sets has some with the outcome and some without", model, ErrNoVariance, all)
	}
	f, err := FitCox(t, rows, terms, CoxOptions{Level: opts.Level, Ties: TiesExact, Strata: strata})
	if err != nil {
		return Fit{}, fmt.Errorf("%s: %w", model, err)
	}
	f.Model, f.Ties = model, ""
	f.N, f.Events, f.Clusters = len(rows), events, sets
	f.Deviance = math.NaN()
	for i := range f.Estimates {
		f.Estimates[i].Measure, f.Estimates[i].Method = "odds ratio", "Wald limits, conditional on the sets"
	}
	if sets < all {
		f.Warnings = append(f.Warnings, Warning{"uninformative-sets", fmt.Sprintf(
			"%d of %d sets have the outcome in all or in none and say nothing.", all-sets, all)})
	}
	return f, nil
}
