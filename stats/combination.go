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
	return f.combined("ratio", term, combination, level, true)
}

// Combination is c'b for a combination c of the coefficients of f.Terms, such as
// the difference of two groups at a visit in a model with their interaction,
// with limits, error and p-value as those of Ratio, on the scale of c'b.
func (f Fit) Combination(term string, combination []float64, level float64) Estimate {
	return f.combined("combination", term, combination, level, false)
}

// combined is the combination, or its exponential.
func (f Fit) combined(measure, term string, combination []float64, level float64, exponential bool) Estimate {
	if len(combination) != len(f.Coefficients) {
		panic(fmt.Sprintf("stats: a combination of %d for %d coefficients", len(combination), len(f.Coefficients)))
	}
	e := f.marginal(measure, dot(f.Coefficients, combination), combination, MarginalOptions{Level: level}, exponential)
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
	b, v := f.part(indices)
	df := math.NaN()
	if f.RobustDF != nil {
		df = f.RobustDF[indices[0]]
	}
	return f.waldTest(name, b, v, df)
}

// WaldTest is the Wald test of a linear hypothesis Hb = h, one row of H and one
// number of h for each equation: (Hb-h)'(HVH')⁻¹(Hb-h) on the number of
// equations, referred to chi-squared or F as JointTest is, with robust errors
// where the fit has them. A nil h is 0. Rows (1, -1, 0) and (0, 1, -1) test that
// three coefficients are equal. Equations that say the same or contradict each
// other give NaN and the warning singular-covariance. A row of another length
// than the coefficients is the caller's mistake.
//
// Reference: Wald A. Tests of statistical hypotheses concerning several
// parameters when the number of observations is large. Trans Am Math Soc
// 1943;54:426-482.
func (f Fit) WaldTest(name string, hypothesis [][]float64, values []float64) Test {
	q := len(hypothesis)
	if q == 0 || (values != nil && len(values) != q) {
		panic(fmt.Sprintf("stats: a hypothesis of %d equations with %d values", q, len(values)))
	}
	b, v := make([]float64, q), newMatrix(q, q)
	for i, row := range hypothesis {
		if len(row) != len(f.Coefficients) {
			panic(fmt.Sprintf("stats: equation %d has %d numbers for %d coefficients", i+1, len(row), len(f.Coefficients)))
		}
		if b[i] = dot(row, f.Coefficients); values != nil {
			b[i] -= values[i]
		}
	}
	for i, row := range hypothesis {
		image := make([]float64, len(row)) // V times the row
		for j := range image {
			image[j] = dot(f.Covariance[j], row)
		}
		for k := range i + 1 {
			v[i][k] = dot(hypothesis[k], image)
			v[k][i] = v[i][k]
		}
	}
	df := math.NaN()
	if f.freedom != nil {
		df = f.freedom(hypothesis[0])
	}
	return f.waldTest(name, b, v, df)
}

// part is the coefficients with the given indices and their covariance.
func (f Fit) part(indices []int) (b []float64, v [][]float64) {
	q := len(indices)
	b, v = make([]float64, q), newMatrix(q, q)
	for i, j := range indices {
		b[i] = f.Coefficients[j]
		for k, l := range indices {
			v[i][k] = f.Covariance[j][l]
		}
	}
	return b, v
}

// waldTest is b'v⁻¹b by the distribution of the fit, df being that of t for the
// first of b.
func (f Fit) waldTest(name string, b []float64, v [][]float64, df float64) Test {
	q := len(b)
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
		t.Statistic, t.P = statistic/float64(q), fisherTail(statistic/float64(q), t.DF, df)
		t.Method = fmt.Sprintf("F on %d and %.4g degrees of freedom, %s", q, df, f.errors())
	}
	return t
}
