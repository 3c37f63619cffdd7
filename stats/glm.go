package stats

import (
	"fmt"
	"math"
	"slices"
)

// GLMOptions are the choices of FitLogistic and FitPoisson; the zero value is
// level 0.95 and model-based errors.
type GLMOptions struct {
	Level float64 // confidence level; 0 means 0.95

	// Cluster numbers the cluster of each row (any numbers), for robust errors;
	// nil means that rows are independent.
	Cluster []int
	// Robust is the form of the robust errors of Cluster; "" is CR1, or CR0
	// where Uncorrected.
	Robust RobustForm
	// Reference is the distribution of limits and p-values with Cluster; "" is
	// the normal.
	Reference RobustReference
	// Uncorrected leaves out the factor G/(G−1) that robust errors of G
	// clusters are otherwise multiplied by (on the covariance). It does not go
	// with Robust.
	Uncorrected bool
	// Dispersion scales the model-based covariance by Pearson's chi-square over
	// its degrees of freedom.
	Dispersion bool
}

// Intercept is the name of the first term of a logistic or Poisson model.
const Intercept = "(intercept)"

// A glmFamily is a distribution with its canonical link.
type glmFamily interface {
	// null is the linear predictor, without offset, of the model that has only
	// an intercept.
	null(y, offset []float64) float64
	// mean returns the residual y − μ and the variance of y at a linear
	// predictor. With a canonical link that variance is also the row's weight.
	mean(y, eta float64) (residual, variance float64)
	// deviance is twice what the row's log likelihood lacks to its largest.
	deviance(y, eta float64) float64
	// logLik is the row's log likelihood, with all constants.
	logLik(y, eta float64) float64
	// recedes reports whether moving the row's linear predictor by step, as far
	// as one likes, never lowers its likelihood, but for slack.
	recedes(y, step, slack float64) bool
}

// A glm is a regression to be fitted: the columns are centred and scaled, which
// changes no estimate.
type glm struct {
	model, measure string
	family         glmFamily
	x              [][]float64 // a leading 1, then the scaled columns
	y, offset      []float64
	terms          []string // without the intercept
	centre, scale  []float64
	events         int
	fewest         int      // events, or non-events if fewer
	nullLogLik     *float64 // of the model with only an intercept, where family.null does not maximise it
}

func newGLM(model, measure string, family glmFamily, x [][]float64, terms []string, y, offset []float64, opts GLMOptions) (*glm, error) {
	opts.robustForm()
	if len(x) != len(y) || (opts.Cluster != nil && len(opts.Cluster) != len(y)) {
		panic(fmt.Sprintf("stats: %d outcomes, %d rows of covariates, %d cluster numbers", len(y), len(x), len(opts.Cluster)))
	}
	for i, row := range x {
		if len(row) != len(terms) {
			panic(fmt.Sprintf("stats: row %d has %d covariates, expected %d", i+1, len(row), len(terms)))
		}
	}
	if len(y) == 0 {
		return nil, fmt.Errorf("%s: %w", model, ErrNoData)
	}
	if len(y) < len(terms)+1 {
		return nil, fmt.Errorf("%s: %w: found %d, expected at least the %d coefficients", model, ErrTooFewRows, len(y), len(terms)+1)
	}
	if err := checkCovariates(x, terms); err != nil {
		return nil, fmt.Errorf("%s: %w", model, err)
	}
	m := &glm{model: model, measure: measure, family: family, y: y, offset: offset, terms: terms}
	if err := m.standardise(x); err != nil {
		return nil, fmt.Errorf("%s: %w", model, err)
	}
	return m, nil
}

// standardise centres and scales the columns and refuses those that cannot be
// told apart.
func (m *glm) standardise(x [][]float64) error {
	n, p := len(x), len(m.terms)
	m.x = newMatrix(n, p+1)
	m.centre, m.scale = make([]float64, p), make([]float64, p)
	constant := make([]bool, p)
	if n > chunkRows {
		m.standardiseRows(x, constant)
	} else {
		column := make([]float64, n)
		for j := range p {
			for i, row := range x {
				column[i] = row[j]
			}
			if constant[j] = slices.Min(column) == slices.Max(column); constant[j] {
				continue
			}
			m.centre[j], m.scale[j] = meanSD(column)
			for i, v := range column {
				m.x[i][j+1] = (v - m.centre[j]) / m.scale[j]
			}
		}
	}
	if j := slices.Index(constant, true); j >= 0 {
		return fmt.Errorf("term %q has one value in all rows: %w", m.terms[j], ErrCollinear)
	}
	sums := sumChunks(n, p*(p+1)/2, func(sums []float64, from, to int) {
		for _, row := range m.x[from:to] {
			row[0] = 1
			at := 0
			for j, v := range row[1:] {
				own := sums[at : at+j+1]
				for k, u := range row[1 : 1+len(own)] {
					own[k] += float64(v * u)
				}
				at += j + 1
			}
		}
	})
	correlation := newMatrix(p, p)
	at := 0
	for j := range p {
		for k := range j + 1 {
			correlation[j][k], correlation[k][j] = sums[at], sums[at]
			at++
		}
	}
	return checkCombination(correlation, m.terms)
}

// standardiseRows does so for many rows, all columns of a chunk of them at once.
// Sums are plain: a centre or scale that is off in its last digits changes no
// estimate, since unscale takes back what was done.
func (m *glm) standardiseRows(x [][]float64, constant []bool) {
	n, p := len(x), len(constant)
	first := x[0]
	sums := sumChunks(n, 2*p, func(sums []float64, from, to int) {
		for _, row := range x[from:to] {
			for j, v := range row {
				sums[j] += v - first[j]
				if v != first[j] {
					sums[p+j] = 1
				}
			}
		}
	})
	for j := range p {
		m.centre[j], constant[j] = first[j]+sums[j]/float64(n), sums[p+j] == 0
	}
	squares := sumChunks(n, p, func(sums []float64, from, to int) {
		for _, row := range x[from:to] {
			for j, v := range row {
				d := v - m.centre[j]
				sums[j] += float64(d * d)
			}
		}
	})
	for j, s := range squares {
		m.scale[j] = math.Sqrt(s / float64(n-1))
	}
	inChunks(n, func(_, from, to int) {
		for i := from; i < to; i++ {
			own := m.x[i][1:]
			for j, v := range x[i] {
				own[j] = (v - m.centre[j]) / m.scale[j]
			}
		}
	})
}

// checkCombination refuses a column whose squared multiple correlation with
// the columns before it exceeds 1 − columnTolerance, and names those.
func checkCombination(products [][]float64, terms []string) error {
	_, column, ok := cholesky(products, columnTolerance)
	if ok {
		return nil
	}
	before := newMatrix(column, column)
	for i := range column {
		copy(before[i], products[i][:column])
	}
	l, _, _ := cholesky(before, columnTolerance)
	var others []string
	for i, c := range choleskySolve(l, products[column][:column]) {
		if math.Abs(c) > 1e-4 {
			others = append(others, terms[i])
		}
	}
	return fmt.Errorf("term %q is a combination of %s and a constant: %w", terms[column], quotedList(others), ErrCollinear)
}

// unscale brings coefficients and a covariance back to the caller's columns:
// b_j = β_j/s_j and b_0 = β_0 − Σ c_j β_j/s_j for centres c and scales s.
func (m *glm) unscale(beta []float64, covariance [][]float64) ([]float64, [][]float64) {
	p := len(beta)
	a := m.unscaling()
	b := make([]float64, p)
	half := newMatrix(p, p) // A C
	for i := range p {
		b[i] = dot(a[i], beta)
		for j := range p {
			half[i][j] = dot(a[i], covariance[j]) // C is symmetric
		}
	}
	out := newMatrix(p, p)
	for i := range p {
		for j := range i + 1 {
			out[i][j] = dot(half[i], a[j])
			out[j][i] = out[i][j]
		}
	}
	return b, out
}

// unscaling is the matrix that takes the scaled columns' coefficients to the
// caller's.
func (m *glm) unscaling() [][]float64 {
	p := len(m.terms) + 1
	a := newMatrix(p, p)
	a[0][0] = 1
	for j := 1; j < p; j++ {
		a[0][j] = -m.centre[j-1] / m.scale[j-1]
		a[j][j] = 1 / m.scale[j-1]
	}
	return a
}
