package stats

import (
	"fmt"
	"math"
)

// A parametric is a model of log time to be fitted, on the scaled columns of a
// glm and on log times centred and, where there is a scale to be estimated,
// divided by their spread. Its parameters θ are c = b/σ and, last, τ = 1/σ, in
// which z = τy − x'c is linear; of exponential times τ is 1 and not among them.
type parametric struct {
	*glm
	law          lifetimeLaw
	distribution LifetimeDistribution
	ends         []lifetimeEnds
	weight       []float64
	kept         []int // rows that tell something, as numbered by the caller
	middle, unit float64
	log          float64 // Σ weight log t over exact times, which the density of time has
	scaled       bool    // there is a scale to be estimated
	late         bool
	theta        []float64
	information  [][]float64
	value        float64
	iterations   int
	several      bool
}

// lifetimeEnds are the log times of a row: infinite where there is none.
type lifetimeEnds struct {
	entry, left, right float64
	exact              bool
}

func newParametric(v EnteredIntervals, x [][]float64, terms []string, distribution LifetimeDistribution, opts ParametricOptions) (*parametric, error) {
	m := &parametric{law: distribution.law(), distribution: distribution, scaled: distribution != Exponential}
	model := string(distribution) + " regression"
	events := 0
	var xs [][]float64
	for i, l := range v.Left {
		e := lifetimeEnds{math.Inf(-1), math.Log(l), math.Log(v.Right[i]), l == v.Right[i]}
		if v.Entry != nil {
			e.entry = math.Log(v.Entry[i])
			m.late = m.late || v.Entry[i] > 0
		}
		if math.IsInf(e.left, -1) && math.IsInf(e.right, 1) {
			continue
		}
		w := 1.0
		if opts.Weights != nil {
			w = opts.Weights[i]
		}
		if !math.IsInf(e.right, 1) {
			events++
		}
		m.kept, m.ends, m.weight, xs = append(m.kept, i), append(m.ends, e), append(m.weight, w), append(xs, x[i])
	}
	if events == 0 {
		return nil, fmt.Errorf("%s of %d rows: %w", model, len(x), ErrNoEvents)
	}
	var err error
	if m.glm, err = newGLM(model, "time ratio", nil, xs, terms, make([]float64, len(xs)), nil, GLMOptions{}); err != nil {
		return nil, err
	}
	m.events = events
	m.centreTimes()
	return m, nil
}

// centreTimes moves and scales log times, which changes no estimate.
func (m *parametric) centreTimes() {
	var known []float64
	for _, e := range m.ends {
		known = append(known, e.guess())
	}
	m.middle, m.unit = meanSD(known)
	if !m.scaled || !(m.unit > 1e-9*(1+math.Abs(m.middle))) {
		m.unit = 1
	}
	for i := range m.ends {
		e := &m.ends[i]
		if e.exact {
			m.log += float64(m.weight[i] * e.left)
		}
		for _, y := range []*float64{&e.entry, &e.left, &e.right} {
			*y = (*y - m.middle) / m.unit
		}
	}
}

// guess is a log time for a row to start from.
func (e lifetimeEnds) guess() float64 {
	switch {
	case math.IsInf(e.right, 1):
		return e.left
	case math.IsInf(e.left, -1):
		return e.right
	}
	return e.left + (e.right-e.left)/2
}

// tau is 1/σ on the scaled log times.
func (m *parametric) tau(theta []float64) float64 {
	if m.scaled {
		return theta[len(theta)-1]
	}
	return 1
}

// A lifetimeSlope is what a row adds to the derivatives: sums over its ends k of
// first derivatives d and of second derivatives s by z, alone and times the
// ends' y.
type lifetimeSlope struct {
	d, dy, s, sy, syy float64
}

func (r *lifetimeSlope) add(y, first, second float64) {
	r.d += first
	r.dy += first * y
	r.s += second
	r.sy += second * y
	r.syy += second * y * y
}

// row is the log likelihood of row i, but for the constant of exact times, with
// its derivatives.
func (m *parametric) row(i int, eta, tau float64) (value float64, r lifetimeSlope) {
	e := m.ends[i]
	at := func(y float64) float64 { return tau*y - eta }
	switch noLeft, noRight := math.IsInf(e.left, -1), math.IsInf(e.right, 1); {
	case e.exact:
		l, first, second := m.law.density(at(e.left))
		value = l + math.Log(tau/m.unit)
		r.add(e.left, first, second)
		if m.scaled {
			r.dy += 1 / tau
			r.syy -= 1 / (tau * tau)
		}
	case noRight:
		l, first, second := m.law.above(at(e.left))
		value = l
		r.add(e.left, first, second)
	case noLeft:
		l, first, second := m.law.below(at(e.right))
		value = l
		r.add(e.right, first, second)
	default:
		l, byU, byL, byUU, byLL, byUL := betweenDerivatives(m.law, at(e.right), at(e.left))
		value = l
		r.add(e.right, byU, byUU)
		r.add(e.left, byL, byLL)
		r.s += 2 * byUL
		r.sy += byUL * (e.left + e.right)
		r.syy += 2 * byUL * e.left * e.right
	}
	if !math.IsInf(e.entry, -1) {
		l, first, second := m.law.above(at(e.entry))
		value -= l
		r.add(e.entry, -first, -second)
	}
	return value, r
}

// logLik is −∞ where the scale is not above 0 or a row is impossible.
func (m *parametric) logLik(theta []float64) float64 {
	tau := m.tau(theta)
	if !(tau > 0) {
		return math.Inf(-1)
	}
	p := len(m.terms) + 1
	sum := 0.0
	for i := range m.ends {
		value, _ := m.row(i, dot(m.x[i], theta[:p]), tau)
		sum += float64(m.weight[i] * value)
	}
	if math.IsNaN(sum) || math.IsInf(sum, 1) {
		return math.Inf(-1)
	}
	return sum
}

// derivatives are the score and the observed information.
func (m *parametric) derivatives(theta []float64) (score []float64, information [][]float64) {
	k, p := len(theta), len(m.terms)+1
	score, information = make([]float64, k), newMatrix(k, k)
	tau := m.tau(theta)
	for i, x := range m.x {
		_, r := m.row(i, dot(x, theta[:p]), tau)
		w := m.weight[i]
		for j, v := range x {
			score[j] -= float64(w * r.d * v)
			for l := range j + 1 {
				information[j][l] -= float64(w * r.s * v * x[l])
			}
		}
		if m.scaled {
			score[p] += float64(w * r.dy)
			information[p][p] -= float64(w * r.syy)
			for l, v := range x {
				information[p][l] += float64(w * r.sy * v)
			}
		}
	}
	for j := range k {
		for l := range j {
			information[l][j] = information[j][l]
		}
	}
	return score, information
}

// lifetimeScores are the gradients of the rows, times their weights.
func (m *parametric) lifetimeScores() [][]float64 {
	p := len(m.terms) + 1
	out := newMatrix(len(m.x), len(m.theta))
	for i, x := range m.x {
		_, r := m.row(i, dot(x, m.theta[:p]), m.tau(m.theta))
		for j, v := range x {
			out[i][j] = -m.weight[i] * r.d * v
		}
		if m.scaled {
			out[i][p] = m.weight[i] * r.dy
		}
	}
	return out
}
