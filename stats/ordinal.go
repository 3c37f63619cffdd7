package stats

import (
	"fmt"
	"math"
)

// An ordinal is a proportional odds model to be fitted, on the scaled columns of
// a glm (whose leading 1 it does not use).
type ordinal struct {
	*glm
	level      []int // of each row
	cuts       int
	beta       []float64 // cut points, then slopes
	iterations int
}

// start is the model without slopes: the logits of the cumulative shares.
func (o *ordinal) start(counts []int) {
	o.beta = make([]float64, o.cuts+len(o.terms))
	below := 0
	for j := range o.cuts {
		below += counts[j]
		o.beta[j] = math.Log(float64(below) / float64(len(o.level)-below))
	}
}

// bounds are the linear predictors of the cuts above and below a row's level,
// u and l with P(y = level) = F(u) − F(l) for the logistic F: infinite at the
// ends.
func (o *ordinal) bounds(beta []float64, i int) (u, l float64) {
	eta, k := dot(o.x[i][1:], beta[o.cuts:]), o.level[i]
	u, l = math.Inf(1), math.Inf(-1)
	if k < o.cuts {
		u = beta[k] - eta
	}
	if k > 0 {
		l = beta[k-1] - eta
	}
	return u, l
}

// logLogistic is log F(v).
func logLogistic(v float64) float64 {
	if v > 0 {
		return -math.Log1p(math.Exp(-v))
	}
	return v - math.Log1p(math.Exp(v))
}

// logInterval is log(F(u) − F(l)) = log F(u) + log F(−l) + log(1 − e^(l−u)), in
// which nothing cancels; −∞ where u is not above l.
func logInterval(u, l float64) float64 {
	if !(u > l) {
		return math.Inf(-1)
	}
	return logLogistic(u) + logLogistic(-l) + math.Log(-math.Expm1(l-u))
}

// intervalDerivatives of logInterval: by u and l, and minus the second ones,
// whose mixed one is −between.
func intervalDerivatives(u, l float64) (first, last, above, below, between float64) {
	gap := 0.0
	if !math.IsInf(u-l, 1) {
		gap = 1 / math.Expm1(u-l)
		between = gap * (1 + gap)
	}
	if !math.IsInf(u, 1) {
		far, density := logistic{}.mean(1, u) // 1 − F(u) and its slope
		first, above = far+gap, density+between
	}
	if !math.IsInf(l, -1) {
		near, density := logistic{}.mean(0, l) // −F(l)
		last, below = near-gap, density+between
	}
	return first, last, above, below, between
}

func (o *ordinal) logLik(beta []float64) float64 {
	return sumChunks(len(o.level), 1, func(sums []float64, from, to int) {
		for i := from; i < to; i++ {
			u, l := o.bounds(beta, i)
			sums[0] += logInterval(u, l)
		}
	})[0]
}

// derivatives are the score and the observed information. Of row i with level k
// only the cuts k (above) and k−1 (below) and the slopes are concerned.
func (o *ordinal) derivatives(beta []float64) (score []float64, information [][]float64) {
	p, q := len(beta), o.cuts
	sums := sumChunks(len(o.level), p+p*p, func(sums []float64, from, to int) {
		second := sums[p:]
		for i := from; i < to; i++ {
			u, l := o.bounds(beta, i)
			first, last, above, below, between := intervalDerivatives(u, l)
			k, row := o.level[i], o.x[i][1:]
			if k < q {
				sums[k] += first
				second[k*p+k] += above
			}
			if k > 0 {
				sums[k-1] += last
				second[(k-1)*p+k-1] += below
			}
			if k > 0 && k < q {
				second[k*p+k-1] -= between
			}
			// Slopes move u and l alike, downwards; at the lowest and the highest
			// level the end that is infinite has derivatives of 0.
			inner := above + below - 2*between
			for j, v := range row {
				sums[q+j] -= float64((first + last) * v)
				if k < q {
					second[(q+j)*p+k] -= float64((above - between) * v)
				}
				if k > 0 {
					second[(q+j)*p+k-1] -= float64((below - between) * v)
				}
				for m := range j + 1 {
					second[(q+j)*p+q+m] += float64(inner * v * row[m])
				}
			}
		}
	})
	information = newMatrix(p, p)
	for j := range p {
		for k := range j + 1 {
			information[j][k] = sums[p+j*p+k]
			information[k][j] = information[j][k]
		}
	}
	return sums[:p:p], information
}

// rowScores returns each row's gradient of the log likelihood.
func (o *ordinal) rowScores() [][]float64 {
	scores := newMatrix(len(o.level), len(o.beta))
	for i, k := range o.level {
		u, l := o.bounds(o.beta, i)
		first, last, _, _, _ := intervalDerivatives(u, l)
		if k < o.cuts {
			scores[i][k] = first
		}
		if k > 0 {
			scores[i][k-1] = last
		}
		for j, v := range o.x[i][1:] {
			scores[i][o.cuts+j] = -(first + last) * v
		}
	}
	return scores
}

// moves are the changes of u and l of each row along a step; 0 for an end that
// has none.
func (o *ordinal) moves(step []float64, i int) (up, low float64) {
	eta, k := dot(o.x[i][1:], step[o.cuts:]), o.level[i]
	if k < o.cuts {
		up = step[k] - eta
	}
	if k > 0 {
		low = step[k-1] - eta
	}
	return up, low
}

// maximise runs Newton's method on the concave log likelihood, steps halved
// until it does not fall.
func (o *ordinal) maximise() error {
	at := o.logLik(o.beta)
	var step []float64
	for o.iterations < glmIterations {
		score, information := o.derivatives(o.beta)
		l, _, ok := cholesky(information, 1e-14)
		if !ok {
			break
		}
		o.iterations++
		step = choleskySolve(l, score)
		largest := 0.0
		for i := range o.level {
			up, low := o.moves(step, i)
			largest = math.Max(largest, math.Max(math.Abs(up), math.Abs(low)))
		}
		if largest <= glmStep*(1+largestMagnitude(o.beta)) {
			o.beta = moved(o.beta, step, 1)
			return nil
		}
		if o.iterations >= separationFrom && largest > 0.1 && o.separates(step, separationSlack*largest) {
			return o.separation(step)
		}
		moving := false
		for part := 1.0; part > 1e-9; part /= 2 {
			next := moved(o.beta, step, part)
			if l := o.logLik(next); l >= at-1e-12*(1+math.Abs(at)) {
				o.beta, at, moving = next, l, true
				break
			}
		}
		if !moving {
			if largest < 1e-6 {
				return nil
			}
			break
		}
	}
	if o.iterations >= separationFrom {
		largest := 0.0
		for i := range o.level {
			up, low := o.moves(step, i)
			largest = math.Max(largest, math.Max(math.Abs(up), math.Abs(low)))
		}
		if o.separates(step, lateSlack*largest) {
			return o.separation(step)
		}
	}
	return fmt.Errorf("%s: %w after %d iterations", o.model, ErrNotConverged, o.iterations)
}

// separates reports whether the likelihood never falls however far one goes
// along a step: no upper bound falls and no lower one rises.
func (o *ordinal) separates(step []float64, slack float64) bool {
	if !(slack > 0) || math.IsInf(slack, 0) {
		return false
	}
	for i := range o.level {
		if up, low := o.moves(step, i); up < -slack || low > slack {
			return false
		}
	}
	return true
}

// separation names the terms that a separating step moves.
func (o *ordinal) separation(step []float64) error {
	largest := largestMagnitude(step[o.cuts:])
	var names []string
	for j, s := range step[o.cuts:] {
		if math.Abs(s) >= 0.01*largest {
			names = append(names, o.terms[j])
		}
	}
	return fmt.Errorf("%s: %w: the likelihood keeps rising as the coefficient of %s grows without bound (%d levels in %d rows)",
		o.model, ErrSeparation, quotedList(names), o.cuts+1, len(o.level))
}

// unscale brings coefficients and a covariance back to the caller's columns:
// b_j = β_j/s_j, and every cut rises by Σ c_j β_j/s_j for centres c and scales s.
func (o *ordinal) unscale(beta []float64, covariance [][]float64) ([]float64, [][]float64) {
	p, q := len(beta), o.cuts
	a := newMatrix(p, p)
	for k := range q {
		a[k][k] = 1
		for j := range o.terms {
			a[k][q+j] = o.centre[j] / o.scale[j]
		}
	}
	for j := range o.terms {
		a[q+j][q+j] = 1 / o.scale[j]
	}
	b, half, out := make([]float64, p), newMatrix(p, p), newMatrix(p, p)
	for i := range p {
		b[i] = dot(a[i], beta)
		for j := range p {
			half[i][j] = dot(a[i], covariance[j])
		}
	}
	for i := range p {
		for j := range i + 1 {
			out[i][j] = dot(half[i], a[j])
			out[j][i] = out[i][j]
		}
	}
	return b, out
}
