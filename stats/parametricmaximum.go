package stats

import (
	"fmt"
	"math"
)

// fit finds the maximum, where somebody entered late from several scales.
func (m *parametric) fit() error {
	starts := []float64{1}
	if m.late && m.scaled {
		starts = []float64{1, 3, 0.3}
	}
	var best *parametric
	var failed error
	highest := math.Inf(-1) // reached where the search failed
	for _, tau := range starts {
		one := *m
		if err := one.maximise(tau); err != nil {
			if highest = math.Max(highest, one.value); failed == nil {
				failed = err
			}
			continue
		}
		if best != nil && math.Abs(one.value-best.value) > 1e-6*(1+math.Abs(best.value)) {
			one.several, best.several = true, true
		}
		if best == nil || one.value > best.value {
			best = &one
		}
	}
	if best == nil || highest > best.value+1e-6*(1+math.Abs(best.value)) {
		return failed
	}
	*m = *best
	return nil
}

// start is the model that has only an intercept at the guessed times, with the
// given scale.
func (m *parametric) start(tau float64) {
	p := len(m.terms) + 1
	m.theta = make([]float64, p, p+1)
	if !m.scaled {
		largest := math.Inf(-1)
		for _, e := range m.ends {
			largest = math.Max(largest, e.guess())
		}
		m.theta[0] = math.Max(0, largest-2) // no row far out in the tail
		return
	}
	m.theta = append(m.theta, tau)
}

// maximise runs Newton's method, steps halved until the log likelihood does not
// fall, on an information made positive definite where it is not.
func (m *parametric) maximise(tau float64) error {
	m.start(tau)
	m.value = m.logLik(m.theta)
	if math.IsInf(m.value, -1) {
		return fmt.Errorf("%s: %w: times too far apart to start from", m.model, ErrNotConverged)
	}
	var step []float64
	for m.iterations = 0; m.iterations < glmIterations; {
		score, information := m.derivatives(m.theta)
		l, definite := ridged(information)
		if l == nil {
			break
		}
		m.iterations++
		step = choleskySolve(l, score)
		largest := m.largestMove(step)
		if definite && largest <= glmStep {
			m.theta = moved(m.theta, step, 1)
			return m.finish()
		}
		if m.iterations >= separationFrom && largest > 0.1 {
			if err := m.diverges(step, separationSlack*largest); err != nil {
				return err
			}
		}
		moving := false
		for part := 1.0; part > 1e-9; part /= 2 {
			next := moved(m.theta, step, part)
			if v := m.logLik(next); v >= m.value-1e-13*(1+math.Abs(m.value)) {
				m.theta, m.value, moving = next, v, true
				break
			}
		}
		if !moving {
			if definite && largest < 1e-6 {
				return m.finish()
			}
			break
		}
	}
	if step != nil {
		if err := m.diverges(step, lateSlack*m.largestMove(step)); err != nil {
			return err
		}
	}
	why := ""
	if m.late {
		why = ": with late entry the likelihood may keep rising as the times before anyone entered grow shorter, and has no maximum then"
	}
	return fmt.Errorf("%s: %w after %d iterations%s", m.model, ErrNotConverged, m.iterations, why)
}

// ridged is the Cholesky factor of the information, or where that is not
// positive definite of it with enough added to its diagonal.
func ridged(information [][]float64) (l [][]float64, definite bool) {
	if l, _, ok := cholesky(information, 1e-14); ok {
		return l, true
	}
	largest := 0.0
	for j := range information {
		largest = math.Max(largest, math.Abs(information[j][j]))
	}
	if !(largest > 0) || math.IsInf(largest, 1) {
		return nil, false
	}
	for ridge := 1e-3 * largest; ridge < 1e6*largest; ridge *= 10 {
		more := newMatrix(len(information), len(information))
		for j := range more {
			copy(more[j], information[j])
			more[j][j] += ridge
		}
		if l, _, ok := cholesky(more, 1e-14); ok {
			return l, false
		}
	}
	return nil, false
}

func (m *parametric) finish() error {
	m.value = m.logLik(m.theta)
	_, m.information = m.derivatives(m.theta)
	if _, _, ok := cholesky(m.information, 1e-12); !ok {
		return fmt.Errorf("%s: %w: the information is singular after %d iterations", m.model, ErrNotConverged, m.iterations)
	}
	return nil
}

// move is the change along a step of z at a log time of row i.
func (m *parametric) move(step []float64, i int, y float64) float64 {
	p := len(m.terms) + 1
	d := -dot(m.x[i], step[:p])
	if m.scaled {
		d += step[p] * y
	}
	return d
}

func (m *parametric) largestMove(step []float64) float64 {
	largest := 0.0
	for i, e := range m.ends {
		for _, y := range []float64{e.left, e.right} {
			if !math.IsInf(y, 0) {
				largest = math.Max(largest, math.Abs(m.move(step, i, y)))
			}
		}
	}
	if m.scaled {
		largest = math.Max(largest, math.Abs(step[len(step)-1])/m.tau(m.theta))
	}
	return largest
}

// diverges says why the likelihood never falls along a step, however far one
// goes, or nothing where it does.
func (m *parametric) diverges(step []float64, slack float64) error {
	tau := m.tau(m.theta)
	if m.scaled && tau < 1e-4 {
		return fmt.Errorf("%s: %w: the likelihood keeps rising as the scale grows without bound: later times are no likelier to have the event",
			m.model, ErrNoVariance)
	}
	if !(slack > 0) || math.IsInf(slack, 0) {
		return nil
	}
	for i, e := range m.ends {
		l, r := m.move(step, i, e.left), m.move(step, i, e.right)
		if math.IsInf(e.left, -1) {
			l = math.Inf(-1)
		}
		if math.IsInf(e.right, 1) {
			r = math.Inf(1)
		}
		if e.exact && math.Abs(l) > slack || !e.exact && (l > slack || r < -slack) {
			return nil
		}
	}
	// A scale that has a limit has long come near it where a coefficient diverges.
	if m.scaled && step[len(step)-1] > 1e-3*tau {
		return fmt.Errorf("%s: %w: the likelihood keeps rising as the scale goes to 0: some times fit all rows exactly (%d events in %d rows)",
			m.model, ErrNoVariance, m.events, len(m.ends))
	}
	p := len(m.terms) + 1
	largest := largestMagnitude(step[1:p])
	var names []string
	for j, s := range step[1:p] {
		if s != 0 && math.Abs(s) >= 0.01*largest {
			names = append(names, m.terms[j])
		}
	}
	if largest < 0.01*math.Abs(step[0]) {
		names = append([]string{Intercept}, names...)
	}
	return fmt.Errorf("%s: %w: the likelihood keeps rising as the coefficient of %s grows without bound (%d events in %d rows)",
		m.model, ErrSeparation, quotedList(names), m.events, len(m.ends))
}
