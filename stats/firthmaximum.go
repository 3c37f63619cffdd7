package stats

import (
	"fmt"
	"math"
	"slices"
)

const (
	// firthIterations bounds Newton's method, which takes some ten.
	firthIterations = 200
	// firthDecrement is the squared distance to the maximum, in standard errors,
	// below which it is reached.
	firthDecrement = 1e-18
)

// A penalisedLikelihood is what Firth's method maximises, on scaled columns.
type penalisedLikelihood struct {
	name  string // of the model
	rows  int
	first int // slope: 1 after an intercept, else 0
	// score returns the penalised log likelihood, its gradient and the
	// information; the first is -Inf where the last is singular.
	score func(beta []float64) (logLik float64, gradient []float64, information [][]float64)
}

// A penalisedMaximum is where the penalised likelihood is largest, on the scaled
// columns.
type penalisedMaximum struct {
	beta       []float64
	covariance [][]float64 // inverse information
	logLik     float64
	iterations int
}

// penalisedStarts bounds the rows times coefficients up to which other starts are
// tried: with more data the likelihood outweighs the penalty.
const penalisedStarts = 5000

// penalisedBest maximises the penalised likelihood from the start and, in small
// data, from three deviations of each column to either side; several tells
// whether they end in different places.
func (m *penalisedLikelihood) penalisedBest(start []float64) (best penalisedMaximum, several bool, err error) {
	best, err = m.penalised(start, nil)
	for _, from := range m.around(start) {
		at, failed := m.penalised(from, nil)
		switch {
		case failed != nil:
		case err != nil:
			best, err = at, nil
		case largestMagnitude(moved(at.beta, best.beta, -1)) > 1e-4*(1+largestMagnitude(best.beta)):
			several = true
			if at.logLik > best.logLik {
				best = at
			}
		}
	}
	return best, several, err
}

// around is, in small data, three deviations of each column to either side of a
// place.
func (m *penalisedLikelihood) around(start []float64) [][]float64 {
	var out [][]float64
	if m.rows*len(start) > penalisedStarts {
		return nil
	}
	for j := m.first; j < len(start); j++ {
		for _, by := range []float64{-3, 3} {
			from := slices.Clone(start)
			from[j] += by
			out = append(out, from)
		}
	}
	return out
}

// along is where the other coefficients would be with one held at a value, were
// the likelihood as it is at the maximum.
func (at penalisedMaximum) along(j int, value float64) []float64 {
	out := slices.Clone(at.beta)
	for k := range out {
		out[k] += at.covariance[k][j] / at.covariance[j][j] * (value - at.beta[j])
	}
	return out
}

// profileAt maximises the penalised likelihood with one coefficient held,
// starting from each of some places; the largest found counts, for the penalised
// likelihood need not be concave.
func (m *penalisedLikelihood) profileAt(j int, value float64, fixed []bool, starts ...[]float64) (penalisedMaximum, error) {
	var best penalisedMaximum
	var failed error
	found := false
	for _, start := range starts {
		from := slices.Clone(start)
		from[j] = value
		at, err := m.penalised(from, fixed)
		switch {
		case err != nil:
			failed = err
		case !found || at.logLik > best.logLik:
			best, found = at, true
		}
	}
	if !found {
		return best, failed
	}
	return best, nil
}

// penalised maximises the penalised likelihood over the coefficients that are
// not fixed, from beta on, by Newton's method. The curvature is that of the
// penalised likelihood, by differences of its gradient; where it is not that of
// a maximum, or a step does not help, the step is turned towards the gradient.
// It ends only where the gradient vanishes and the curvature is that of a
// maximum.
func (m *penalisedLikelihood) penalised(beta []float64, fixed []bool) (penalisedMaximum, error) {
	var free []int
	for j := range beta {
		if fixed == nil || !fixed[j] {
			free = append(free, j)
		}
	}
	at := penalisedMaximum{beta: slices.Clone(beta)}
	logLik, gradient, information := m.score(at.beta)
	if math.IsInf(logLik, -1) {
		return at, fmt.Errorf("%s: %w: the information is singular at the start", m.name, ErrNotConverged)
	}
	damping := 0.0 // of the diagonal of the information
	for ; at.iterations < firthIterations; at.iterations++ {
		curvature := m.penalisedCurvature(at.beta, free)
		g := make([]float64, len(free))
		for i, j := range free {
			g[i] = gradient[j]
		}
		if l, _, ok := cholesky(curvature, 1e-12); ok {
			if decrement := dot(g, choleskySolve(l, g)); decrement < firthDecrement {
				return m.penalisedAt(at, logLik, information)
			}
		}
		moving := false
		for range 60 {
			damped := newMatrix(len(free), len(free))
			for i, j := range free {
				copy(damped[i], curvature[i])
				damped[i][i] += damping * (information[j][j] + 1e-8)
			}
			if l, _, ok := cholesky(damped, 1e-12); ok {
				step := choleskySolve(l, g)
				next := slices.Clone(at.beta)
				for i, j := range free {
					next[j] += step[i]
				}
				// No worse, and the gain promised where the likelihood can tell.
				if v, ng, ni := m.score(next); v >= logLik+1e-4*dot(g, step)-1e-13*(1+math.Abs(logLik)) && largestMagnitude(step) < 20 {
					at.beta, logLik, gradient, information, moving = next, v, ng, ni, true
					damping /= 10
					if damping < 1e-6 {
						damping = 0
					}
					break
				}
			}
			damping = math.Max(1e-3, 4*damping)
		}
		if !moving {
			break
		}
	}
	return at, fmt.Errorf("%s: %w after %d iterations", m.name, ErrNotConverged, at.iterations)
}

// penalisedAt finishes a maximum.
func (m *penalisedLikelihood) penalisedAt(at penalisedMaximum, logLik float64, information [][]float64) (penalisedMaximum, error) {
	l, _, ok := cholesky(information, 1e-14)
	if !ok {
		return at, fmt.Errorf("%s: %w: the information is singular", m.name, ErrNotConverged)
	}
	at.covariance, at.logLik = choleskyInverse(l), logLik
	return at, nil
}

// penalisedCurvature is the negative matrix of second derivatives of the
// penalised likelihood by the free coefficients, by central differences of its
// gradient.
func (m *penalisedLikelihood) penalisedCurvature(beta []float64, free []int) [][]float64 {
	out := newMatrix(len(free), len(free))
	for k, j := range free {
		by := 1e-4 * math.Max(1, math.Abs(beta[j]))
		up, down := slices.Clone(beta), slices.Clone(beta)
		up[j] += by
		down[j] -= by
		_, above, _ := m.score(up)
		_, below, _ := m.score(down)
		for i, f := range free {
			out[i][k] = (below[f] - above[f]) / (up[j] - down[j])
		}
	}
	for i := range out {
		for k := range i {
			out[i][k] = (out[i][k] + out[k][i]) / 2
			out[k][i] = out[i][k]
		}
	}
	return out
}

// limits is exp of a coefficient with the limits of the profile of the
// penalised likelihood; start is where searches began, and scale the column's.
func (m *penalisedLikelihood) limits(best penalisedMaximum, start []float64, j int, scale, level float64) (Estimate, error) {
	fixed := make([]bool, len(best.beta))
	fixed[j] = true
	near := best.beta // where the profile was last
	others := append(m.around(start), m.around(best.beta)...)
	profile := func(b float64) (float64, error) {
		at, err := m.profileAt(j, b*scale, fixed, append([][]float64{near, best.beta, start, best.along(j, b*scale)}, others...)...)
		if err == nil {
			near = at.beta
		}
		return at.logLik, err
	}
	return profiled(best.beta[j]/scale, math.Sqrt(best.covariance[j][j])/scale, best.logLik, level, profile)
}
