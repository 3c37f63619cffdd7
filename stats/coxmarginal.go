package stats

import (
	"fmt"
	"slices"
)

// marginalCoxModel names the model of several kinds of event.
const marginalCoxModel = "marginal Cox proportional hazards regression"

// FitMarginalCox fits a proportional hazards model to each of several kinds of
// event at once, each with its own baseline hazard and its own coefficients:
// for kind e
//
//	h_e(t|x) = h0_e(t) exp(x'b_e),
//
// the marginal models of Wei, Lin and Weissfeld. t and x hold one row (or
// several, one after the other in time) for each person and kind, kind the
// number of each row's kind in kinds, and opts.Cluster the person. Kinds are
// either sorts of event (left and right heel, pain and absence) or the orders
// of a recurrence (first, second, third onset, counted from the start).
//
// The coefficients and their ModelSE are those of as many separate models; what
// is gained is the covariance between them. Nothing is assumed about how the
// kinds depend on each other within a person: the robust covariance B M B of
// FitCox, over clusters, has the covariances of coefficients of different
// kinds. Its terms are named "term (kind)", term by term: the coefficient of
// term j and kind e has the index j len(kinds) + e, for JointTest, WaldTest (are
// the effects equal?), WeightedAverage and Ratio. A model with coefficients in
// common is FitCox with the kinds as Strata.
//
// Each person is taken to be at risk of every kind from its Entry on. For orders
// of a recurrence this means of the second onset before the first one has
// happened, so that a coefficient of a later order carries the effects on the
// earlier ones with it: it compares marginal times to the second onset, not
// risks after a first one.
//
// Errors are those of FitCox, and ErrNoEvents naming kinds without events.
// Fewer than 10 events per coefficient over all kinds give the warning
// few-events. A kind that is no index of kinds, no Cluster, and Strata, whose
// place the kinds take, are the caller's mistake.
//
// Reference: Wei LJ, Lin DY, Weissfeld L. Regression analysis of multivariate
// incomplete failure time data by modeling marginal distributions. J Am Stat
// Assoc 1989;84:1065-1073.
func FitMarginalCox(t Times, x [][]float64, terms []string, kind []int, kinds []string, opts CoxOptions) (Fit, error) {
	if opts.Cluster == nil || opts.Strata != nil {
		panic("stats: marginal Cox models need Cluster and take no Strata")
	}
	if len(kind) != len(x) || len(t.Status) != len(x) {
		panic(fmt.Sprintf("stats: %d rows of covariates, %d kinds, %d statuses", len(x), len(kind), len(t.Status)))
	}
	events := make([]int, len(kinds))
	wide := newMatrix(len(x), len(terms)*len(kinds))
	for i, row := range x {
		if kind[i] < 0 || kind[i] >= len(kinds) || len(row) != len(terms) {
			panic(fmt.Sprintf("stats: row %d has kind %d of %d and %d covariates, expected %d", i+1, kind[i], len(kinds), len(row), len(terms)))
		}
		for j, v := range row {
			wide[i][j*len(kinds)+kind[i]] = v
		}
		if t.Status[i] {
			events[kind[i]]++
		}
	}
	if len(x) > 0 && slices.Contains(events, 0) {
		var without []string
		for e, n := range events {
			if n == 0 {
				without = append(without, kinds[e])
			}
		}
		return Fit{}, fmt.Errorf("marginal cox models: %w of %s", ErrNoEvents, quotedList(without))
	}
	var names []string
	for _, term := range terms {
		for _, k := range kinds {
			names = append(names, fmt.Sprintf("%s (%s)", term, k))
		}
	}
	opts.Strata = kind
	f, err := FitCox(t, wide, names, opts)
	if err != nil {
		return Fit{}, fmt.Errorf("marginal models: %w", err)
	}
	f.Model = marginalCoxModel
	return f, nil
}
