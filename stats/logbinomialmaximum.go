package stats

import (
	"fmt"
	"math"
)

const (
	// wallNear is how near to the bound a Newton step is let, as a part of the
	// way to it.
	wallNear = 0.95
	// wallReached is the largest linear predictor, from below 0, from which the
	// search counts as run into the bound.
	wallReached = -1e-4
)

// maximise finds the maximum inside the risks below 1, by Newton's method from
// that of the Poisson model. The two models separate in the same directions
// (none in which a row with an event falls or any row rises), so that the
// Poisson model has said so before; the maximum over the risks of at most 1 then
// exists. Where Newton's method does not get there at once, t Σ log(−η) is added
// to the log likelihood, which keeps off the bound, and t taken to 0.
func (f logBinomial) maximise(m *glm) (glmMaximum, error) {
	counts := *m
	counts.family = poisson{}
	start, err := counts.maximise()
	if err != nil {
		return start, err
	}
	// Column 0 is 1 in all rows: a shift of its coefficient is one of all risks.
	if largest := largestValue(start.eta); largest > -0.05 {
		start.beta[0] -= largest + 0.1
	}
	w := walled{glm: m, beta: start.beta}
	w.eta, _ = m.predict(w.beta)
	from := w
	if ok := w.newton(0); !ok {
		steps := w.iterations
		w = from
		w.iterations = steps
		for t := 1.0; t > 1e-9; t /= 10 {
			w.newton(t)
		}
		if ok = w.newton(0); !ok {
			return glmMaximum{}, w.refusal()
		}
	}
	at := glmMaximum{beta: w.beta, iterations: w.iterations}
	at.eta, at.deviance = m.predict(at.beta)
	return m.finish(at)
}

// A walled search keeps every linear predictor below 0.
type walled struct {
	*glm
	beta, eta  []float64
	iterations int
}

// newton maximises the log likelihood plus t Σ log(−η), and reports whether it
// got to a point where that is level.
func (w *walled) newton(t float64) bool {
	value := w.value(w.eta, t)
	for range glmIterations {
		gradient, information := w.derivatives(t)
		l, _, ok := cholesky(information, 1e-14)
		if !ok {
			return false
		}
		w.iterations++
		step := choleskySolve(l, gradient)
		change := w.changes(step)
		// The largest part of the step that keeps all risks below 1, and the
		// largest move relative to the way that is left.
		part, largest := 1.0, 0.0
		for i, c := range change {
			largest = math.Max(largest, math.Abs(c)/math.Min(1, -w.eta[i]))
			if c > 0 {
				part = math.Min(part, wallNear*-w.eta[i]/c)
			}
		}
		if largest <= glmStep {
			w.beta = moved(w.beta, step, 1)
			w.eta, _ = w.predict(w.beta)
			return largestValue(w.eta) < 0
		}
		moving := false
		for ; part > 1e-10; part /= 2 {
			beta := moved(w.beta, step, part)
			eta, _ := w.predict(beta)
			if v := w.value(eta, t); v >= value-1e-13*(1+math.Abs(value)) {
				w.beta, w.eta, value, moving = beta, eta, v, true
				break
			}
		}
		if !moving || (t == 0 && largestValue(w.eta) > -1e-9) {
			return false
		}
	}
	return false
}

// value is the log likelihood plus t Σ log(−η).
func (w *walled) value(eta []float64, t float64) float64 {
	return sumChunks(len(eta), 1, func(sums []float64, from, to int) {
		for i := from; i < to; i++ {
			sums[0] += w.family.logLik(w.y[i], eta[i])
			if t > 0 {
				sums[0] += t * math.Log(-eta[i])
			}
		}
	})[0]
}

// derivatives are the gradient of value and minus its second derivative, the
// observed information: rows with the outcome are in it by the bound alone.
func (w *walled) derivatives(t float64) (gradient []float64, information [][]float64) {
	p := len(w.terms) + 1
	sums := sumChunks(len(w.x), p+p*(p+1)/2, func(sums []float64, from, to int) {
		for i := from; i < to; i++ {
			eta := w.eta[i]
			first, odds := w.family.mean(w.y[i], eta)
			second := 0.0
			if w.y[i] == 0 {
				second = odds / -math.Expm1(eta)
			}
			if t > 0 {
				first += t / eta
				second += t / (eta * eta)
			}
			at := p
			for j, v := range w.x[i] {
				sums[j] += float64(first * v)
				for k := range j + 1 {
					sums[at] += float64(second * v * w.x[i][k])
					at++
				}
			}
		}
	})
	information = newMatrix(p, p)
	at := p
	for j := range p {
		for k := range j + 1 {
			information[j][k], information[k][j] = sums[at], sums[at]
			at++
		}
	}
	return sums[:p:p], information
}

// refusal says why there is no maximum inside.
func (w *walled) refusal() error {
	if largestValue(w.eta) <= wallReached {
		_, information := w.derivatives(0)
		if _, column, ok := cholesky(information, 1e-10); !ok {
			return fmt.Errorf("%s: %w: the rows without the outcome do not determine that of %q", w.model, ErrCollinear, w.name(column))
		}
		return fmt.Errorf("%s: %w after %d iterations", w.model, ErrNotConverged, w.iterations)
	}
	var rows []int
	for i, eta := range w.eta {
		if eta > wallReached {
			rows = append(rows, i)
		}
	}
	return fmt.Errorf("%s: %w: the likelihood is largest with a risk of 1 in %d of %d rows (%s); a modified Poisson model, or standardised risks of a logistic one, have estimates",
		w.model, ErrBoundary, len(rows), len(w.eta), firstRows(rows))
}

// name of a column.
func (w *walled) name(column int) string {
	if column == 0 {
		return Intercept
	}
	return w.terms[column-1]
}

func largestValue(values []float64) float64 {
	largest := math.Inf(-1)
	for _, v := range values {
		largest = math.Max(largest, v)
	}
	return largest
}
