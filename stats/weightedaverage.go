package stats

import "fmt"

// WeightedAverage is the average of the coefficients with the given indices of
// f.Terms, on the linear predictor's scale, with the weights that give it the
// least variance: with b the coefficients, V their covariance (robust where the
// fit's is) and e a vector of ones,
//
//	c'b,  c = V⁻¹e / e'V⁻¹e,  variance 1 / e'V⁻¹e,
//
// with Wald limits and the test that the average is 0. Where the coefficients
// are one and the same it is the best estimate of that one, such as a common
// effect on several kinds of event or on the first, second and third
// recurrence; where they differ it is an average of them with weights that
// depend on the data. Weights are taken as known, so that with few clusters
// the error is too small.
//
// The weights are returned as a combination of all coefficients, so that
// f.Ratio of it is exp of the average. They add up to 1; where estimates that
// differ much in precision are closely correlated one can be below 0, the
// average outside the coefficients' range: the warning negative-weight.
//
// It returns ErrCollinear, or with clusters ErrTooFewClusters, where the
// covariance is singular. No index, one that is no coefficient's or one given
// twice is the caller's mistake.
//
// Reference: Wei LJ, Lin DY, Weissfeld L. Regression analysis of multivariate
// incomplete failure time data by modeling marginal distributions. J Am Stat
// Assoc 1989;84:1065-1073.
func (f Fit) WeightedAverage(term string, indices []int, level float64) (Estimate, []float64, error) {
	const measure = "weighted average of coefficients"
	combination := make([]float64, len(f.Coefficients))
	if len(indices) == 0 {
		panic("stats: an average of no coefficients")
	}
	for _, i := range indices {
		if i < 0 || i >= len(combination) || combination[i] > 0 {
			panic(fmt.Sprintf("stats: an average of coefficients %v of %d", indices, len(combination)))
		}
		combination[i] = 1
	}
	_, v := f.part(indices)
	l, at, ok := cholesky(v, 1e-10)
	if !ok {
		because := ErrCollinear
		if f.Clusters > 0 {
			because = fmt.Errorf("%w: found %d", ErrTooFewClusters, f.Clusters)
		}
		return Estimate{}, nil, fmt.Errorf("%s: %w: the covariance of %d coefficients is singular at %q",
			measure, because, len(indices), f.Terms[indices[at]])
	}
	ones := make([]float64, len(indices))
	for i := range ones {
		ones[i] = 1
	}
	weights := choleskySolve(l, ones)
	sum := dot(ones, weights)
	var below []string
	for i, j := range indices {
		combination[j] = weights[i] / sum
		if weights[i] < 0 {
			below = append(below, f.Terms[j])
		}
	}
	e := f.marginal(measure, dot(combination, f.Coefficients), combination, MarginalOptions{Level: level}, false)
	e.Term, e.Method = term, "Wald limits, weights of least variance, "+f.errors()+f.reference
	if below != nil {
		e.Warnings = append(e.Warnings, Warning{"negative-weight", fmt.Sprintf(
			"The weight of %s is below 0: the coefficients are closely correlated and differ in precision.", quotedList(below))})
	}
	return e, combination, nil
}
