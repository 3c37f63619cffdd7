package stats

import (
	"fmt"
	"math"
)

const (
	// glmIterations bounds Newton's method. A fit takes about five, a separated
	// one some twenty until it is recognised.
	glmIterations = 100
	// glmStep is the change of the linear predictors, relative to 1 plus the
	// largest of them, below which a step is the last: Newton's method then
	// leaves an error of the order of its square.
	glmStep = 1e-9
	// separationFrom is the iteration from which divergence is looked for.
	separationFrom = 10
	// separationSlack is what is left, relative to the largest change of a
	// linear predictor, of the coefficients that do converge beside a diverging
	// one: they settle by a factor e an iteration or faster.
	separationSlack = 1e-7
	// lateSlack is the same after all iterations have been spent.
	lateSlack = 1e-4
)

// A glmMaximum is the maximum of the likelihood on the scaled columns.
type glmMaximum struct {
	beta, eta  []float64
	covariance [][]float64 // inverse information
	deviance   float64
	iterations int
}

// maximise runs Newton's method, which for a canonical link is iteratively
// reweighted least squares, from the model that has only an intercept; steps
// are halved until the deviance does not rise. A family that bounds the linear
// predictors has a search of its own.
func (m *glm) maximise() (glmMaximum, error) {
	if bounded, ok := m.family.(interface {
		maximise(*glm) (glmMaximum, error)
	}); ok {
		return bounded.maximise(m)
	}
	at := glmMaximum{beta: make([]float64, len(m.terms)+1)}
	at.beta[0] = m.family.null(m.y, m.offset)
	at.eta, at.deviance = m.predict(at.beta)
	var step, change []float64
	for at.iterations < glmIterations {
		gradient, information := m.score(at.eta)
		l, _, ok := cholesky(information, 1e-14)
		if !ok {
			break
		}
		at.iterations++
		step = choleskySolve(l, gradient)
		change = m.changes(step)
		largest := largestMagnitude(change)
		if largest <= glmStep*(1+largestMagnitude(at.eta)) {
			at.move(m, step, 1)
			return m.finish(at)
		}
		if at.iterations >= separationFrom && largest > 0.1 && m.separates(change, separationSlack) {
			return at, m.separation(step)
		}
		if !m.descend(&at, step) {
			if largest < 1e-6 {
				return m.finish(at)
			}
			break
		}
	}
	if at.iterations >= separationFrom && m.separates(change, lateSlack) {
		return at, m.separation(step)
	}
	return at, fmt.Errorf("%s: %w after %d iterations", m.model, ErrNotConverged, at.iterations)
}

func (m *glm) finish(at glmMaximum) (glmMaximum, error) {
	_, information := m.score(at.eta)
	l, _, ok := cholesky(information, 1e-14)
	if !ok {
		return at, fmt.Errorf("%s: %w: the information is singular after %d iterations", m.model, ErrNotConverged, at.iterations)
	}
	at.covariance = choleskyInverse(l)
	return at, nil
}

// predict returns the linear predictors and the deviance.
func (m *glm) predict(beta []float64) (eta []float64, deviance float64) {
	eta = make([]float64, len(m.y))
	sums := sumChunks(len(m.y), 1, func(sums []float64, from, to int) {
		total := 0.0
		for i := from; i < to; i++ {
			eta[i] = m.offset[i] + dot(m.x[i], beta)
			total += m.family.deviance(m.y[i], eta[i])
		}
		sums[0] = total
	})
	return eta, sums[0]
}

// score returns the gradient of the log likelihood and the information.
func (m *glm) score(eta []float64) (gradient []float64, information [][]float64) {
	p := len(m.terms) + 1
	sums := sumChunks(len(m.x), p+p*(p+1)/2, func(sums []float64, from, to int) {
		first, second := sums[:p], sums[p:]
		i := from
		if len(m.x) > chunkRows {
			i = m.scoreFours(eta, first, second, from, to)
		}
		for ; i < to; i++ {
			row := m.x[i]
			residual, weight := m.family.mean(m.y[i], eta[i])
			at := 0
			for j, v := range row {
				first[j] += float64(residual * v)
				w := weight * v
				own := second[at : at+j+1]
				for k, u := range row[:len(own)] {
					own[k] += float64(w * u)
				}
				at += j + 1
			}
		}
	})
	gradient, information = sums[:p:p], newMatrix(p, p)
	at := p
	for j := range p {
		for k := range j + 1 {
			information[j][k], information[k][j] = sums[at], sums[at]
			at++
		}
	}
	return gradient, information
}

// scoreFours adds up four rows at once, so that a sum is read and written once
// for them, and returns the first row that is left.
func (m *glm) scoreFours(eta, first, second []float64, from, to int) int {
	p := len(first)
	for ; from+4 <= to; from += 4 {
		x0, x1, x2, x3 := m.x[from][:p], m.x[from+1][:p], m.x[from+2][:p], m.x[from+3][:p]
		r0, w0 := m.family.mean(m.y[from], eta[from])
		r1, w1 := m.family.mean(m.y[from+1], eta[from+1])
		r2, w2 := m.family.mean(m.y[from+2], eta[from+2])
		r3, w3 := m.family.mean(m.y[from+3], eta[from+3])
		at := 0
		for j := range p {
			v0, v1, v2, v3 := x0[j], x1[j], x2[j], x3[j]
			first[j] += float64(r0*v0) + float64(r1*v1) + (float64(r2*v2) + float64(r3*v3))
			v0, v1, v2, v3 = w0*v0, w1*v1, w2*v2, w3*v3
			own := second[at : at+j+1]
			y0, y1, y2, y3 := x0[:len(own)], x1[:len(own)], x2[:len(own)], x3[:len(own)]
			for k := range own {
				own[k] += float64(v0*y0[k]) + float64(v1*y1[k]) + (float64(v2*y2[k]) + float64(v3*y3[k]))
			}
			at += j + 1
		}
	}
	return from
}

// rowScores returns each row's gradient of the log likelihood.
func (m *glm) rowScores(eta []float64) [][]float64 {
	scores := newMatrix(len(m.x), len(m.terms)+1)
	for i, row := range m.x {
		residual, _ := m.family.mean(m.y[i], eta[i])
		for j, v := range row {
			scores[i][j] = residual * v
		}
	}
	return scores
}

// changes returns what a step adds to the linear predictors.
func (m *glm) changes(step []float64) []float64 {
	out := make([]float64, len(m.x))
	inChunks(len(m.x), func(_, from, to int) {
		for i := from; i < to; i++ {
			out[i] = dot(m.x[i], step)
		}
	})
	return out
}

func (at *glmMaximum) move(m *glm, step []float64, part float64) {
	at.beta = moved(at.beta, step, part)
	at.eta, at.deviance = m.predict(at.beta)
}

// descend moves along a step, halved until the deviance does not rise.
func (m *glm) descend(at *glmMaximum, step []float64) bool {
	for part := 1.0; part > 1e-9; part /= 2 {
		next := *at
		next.move(m, step, part)
		if next.deviance <= at.deviance+1e-12*(1+math.Abs(at.deviance)) {
			*at = next
			return true
		}
	}
	return false
}

// separates reports whether the likelihood never falls however far one goes
// along a step, whose changes of the linear predictors are given (but for
// relative times the largest of them). Then no finite coefficients are best.
// Where none are best, the steps come to point in such a direction.
//
// Reference: Albert A, Anderson JA. On the existence of maximum likelihood
// estimates in logistic regression models. Biometrika 1984;71:1-10.
func (m *glm) separates(change []float64, relative float64) bool {
	slack := relative * largestMagnitude(change)
	if !(slack > 0) || math.IsInf(slack, 0) {
		return false
	}
	for i, c := range change {
		if !m.family.recedes(m.y[i], c, slack) {
			return false
		}
	}
	return true
}

// separation names the terms that a separating step moves.
func (m *glm) separation(step []float64) error {
	largest := largestMagnitude(step[1:])
	var names []string
	for j, s := range step[1:] {
		if math.Abs(s) >= 0.01*largest {
			names = append(names, m.terms[j])
		}
	}
	return fmt.Errorf("%s: %w: the likelihood keeps rising as the coefficient of %s grows without bound (%d events in %d rows)",
		m.model, ErrSeparation, quotedList(names), m.events, len(m.y))
}

func largestMagnitude(values []float64) float64 {
	largest := 0.0
	for _, v := range values {
		largest = max(largest, math.Abs(v))
	}
	return largest
}
