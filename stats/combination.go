package stats

import (
	"fmt"
	"math"
)

// Ratio is exp(c'b) for a combination c of the coefficients of f.Terms, such as
// the rate ratio of two values of a spline (the difference of their rows, 0 for
// the intercept), with Wald limits exp(c'b ± z sqrt(c'Vc)) and the p-value of
// c'b = 0; z is Student's t where the fit has degrees of freedom. SE is of
// c'b. A level of 0 means 0.95. A combination of another length is the caller's
// mistake. The ratio of a combination of zeros is 1 with an SE of 0 and no
// p-value.
func (f Fit) Ratio(term string, combination []float64, level float64) Estimate {
	if len(combination) != len(f.Coefficients) {
		panic(fmt.Sprintf("stats: a combination of %d for %d coefficients", len(combination), len(f.Coefficients)))
	}
	e := f.marginal("ratio", dot(f.Coefficients, combination), combination, MarginalOptions{Level: level}, true)
	e.Term, e.Method = term, "Wald limits, "+f.errors()+f.reference
	return e
}

// errors says how the fit's errors were made.
func (f Fit) errors() string {
	switch {
	case f.Robust != "":
		return f.Robust
	case f.Dispersion != 1:
		return "scaled by the Pearson dispersion"
	}
	return "model-based"
}

// JointTest is the Wald test that all coefficients with the given indices of
// f.Terms are 0: b'V⁻¹b, chi-squared on their number q. With t on the number of
// clusters less coefficients it is divided by q and referred to F; with
// Satterthwaite's degrees of freedom one coefficient is tested likewise and
// several have no test (NaN, with the warning no-joint-test). A singular
// covariance gives NaN and the warning singular-covariance.
func (f Fit) JointTest(name string, indices []int) Test {
	q := len(indices)
	b, v := make([]float64, q), newMatrix(q, q)
	for i, j := range indices {
		b[i] = f.Coefficients[j]
		for k, l := range indices {
			v[i][k] = f.Covariance[j][l]
		}
	}
	t := Test{Name: name, Statistic: math.NaN(), DF: float64(q), P: math.NaN(), Method: "chi-squared, " + f.errors()}
	l, _, ok := cholesky(v, 1e-10)
	if !ok {
		t.Warnings = []Warning{{"singular-covariance", fmt.Sprintf(
			"The covariance of the %d coefficients is singular; %d clusters.", q, f.Clusters)}}
		return t
	}
	statistic := dot(b, choleskySolve(l, b))
	switch {
	case f.RobustDF == nil:
		t.Statistic, t.P = statistic, chiSquaredTail(statistic, t.DF)
	case f.reference == satterthwaiteReference && q > 1:
		t.Method = "none, " + f.errors()
		t.Warnings = []Warning{{"no-joint-test", fmt.Sprintf(
			"Satterthwaite's degrees of freedom are of one coefficient; %d together have no test.", q)}}
	default:
		df := f.RobustDF[indices[0]]
		t.Statistic, t.P = statistic/float64(q), fisherTail(statistic/float64(q), t.DF, df)
		t.Method = fmt.Sprintf("F on %d and %.4g degrees of freedom, %s", q, df, f.errors())
	}
	return t
}
