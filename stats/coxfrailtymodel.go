package stats

import (
	"fmt"
	"math"
	"slices"
)

// A frailtyModel is a Cox model with one penalised log frailty a child, on the
// scaled columns and kept rows of the Cox model.
type frailtyModel struct {
	cox    *coxModel
	plain  coxMaximum
	child  []int       // of each kept row, numbered from 0
	number map[int]int // of a child, as numbered by the caller
	events []int       // of each child
	empty  [][]float64 // no column, for each kept row
	last   frailtyMaximum
}

// A frailtyMaximum is the maximum of the penalised likelihood for a variance.
type frailtyMaximum struct {
	theta       float64
	beta, omega []float64
	eta         []float64 // linear predictor of each kept row, log frailty included
	partial     float64   // log partial likelihood
	value       float64   // with frailties integrated out
	slope       float64   // of value by theta
	iterations  int       // of all Newton steps up to here
}

func newFrailtyModel(plain Fit, child []int) *frailtyModel {
	m := &frailtyModel{cox: plain.cox.model, plain: plain.cox.at, number: map[int]int{}}
	for k, i := range m.cox.index {
		c, ok := m.number[child[i]]
		if !ok {
			c = len(m.events)
			m.number[child[i]] = c
			m.events = append(m.events, 0)
		}
		m.child = append(m.child, c)
		if m.cox.status[k] {
			m.events[c]++
		}
	}
	m.empty = make([][]float64, len(m.cox.index))
	m.last = frailtyMaximum{beta: m.plain.beta, omega: make([]float64, len(m.events))}
	return m
}

// predictors are x'b + ω of the kept rows.
func (m *frailtyModel) predictors(beta, omega []float64) []float64 {
	eta := make([]float64, len(m.child))
	for k, c := range m.child {
		eta[k] = dot(m.cox.x[k], beta) + omega[c]
	}
	return eta
}

// view is the Cox model without columns at fixed linear predictors.
func (m *frailtyModel) view(eta []float64) *coxModel {
	v := *m.cox
	v.x, v.offset, v.scale = m.empty, eta, nil
	return &v
}

// penalised is the penalised log partial likelihood and the partial one.
func (m *frailtyModel) penalised(beta, omega []float64, nu float64) (penalised, partial float64) {
	partial, _, _ = m.view(m.predictors(beta, omega)).likelihood(nil)
	penalised = partial
	for _, o := range omega {
		penalised -= nu * (math.Expm1(o) - o)
	}
	return penalised, partial
}

// gather takes a number of each kept row to the coefficients of the columns and
// the children.
func (m *frailtyModel) gather(rows []float64) []float64 {
	p := len(m.plain.beta)
	out := make([]float64, p+len(m.events))
	for k, v := range rows {
		for j, x := range m.cox.x[k] {
			out[j] += float64(x * v)
		}
		out[p+m.child[k]] += v
	}
	return out
}

// kept are a Cox model's numbers of the caller's rows for the kept rows.
func (m *frailtyModel) kept(all []float64) []float64 {
	out := make([]float64, len(m.child))
	for k, i := range m.cox.index {
		out[k] = all[i]
	}
	return out
}

// solve maximises the penalised likelihood for a variance above 0, from the last
// maximum found.
func (m *frailtyModel) solve(theta float64) (frailtyMaximum, error) {
	nu, p := 1/theta, len(m.plain.beta)
	at := frailtyMaximum{theta: theta, beta: slices.Clone(m.last.beta), omega: slices.Clone(m.last.omega), iterations: m.last.iterations}
	value, partial := m.penalised(at.beta, at.omega, nu)
	for range glmIterations {
		at.eta = m.predictors(at.beta, at.omega)
		residual := m.kept(m.view(at.eta).martingale(nil))
		gradient := m.gather(residual)
		curve := m.curvature(at, nu, residual)
		for i, o := range at.omega {
			gradient[p+i] -= nu * math.Expm1(o)
		}
		step, ok := curve.solve(gradient)
		if !ok {
			break
		}
		at.iterations++
		decrement := dot(gradient, step)
		moving := false
		for part := 1.0; part > 1e-9; part /= 2 {
			beta, omega := moved(at.beta, step[:p], part), moved(at.omega, step[p:], part)
			next, nextPartial := m.penalised(beta, omega, nu)
			if next >= value-1e-12*(1+math.Abs(value)) {
				at.beta, at.omega, value, partial, moving = beta, omega, next, nextPartial, true
				break
			}
		}
		if !moving {
			break
		}
		if decrement < 1e-16*(1+math.Abs(value)) {
			at.eta, at.partial = m.predictors(at.beta, at.omega), partial
			at.integrate(m.events)
			m.last = at
			return at, nil
		}
	}
	return at, fmt.Errorf("%w: penalised likelihood at a frailty variance of %g after %d iterations", ErrNotConverged, theta, at.iterations)
}

// integrate makes the likelihood with frailties integrated out and its slope by
// the variance; the maximum being one in b and ω, only what stands outside of
// them counts for the slope.
func (at *frailtyMaximum) integrate(events []int) {
	nu := 1 / at.theta
	value, slope := 0.0, 0.0
	for i, o := range at.omega {
		d := float64(events[i])
		many := math.Log1p(d / nu)
		value += nu*o - (nu+d)*many + d
		slope += o - math.Expm1(o) - many
		for j := range events[i] {
			value += math.Log1p(float64(j) / nu)
			slope += 1 / (nu + float64(j))
		}
	}
	at.value = at.partial + value
	at.slope = -nu * nu * slope
}

// A frailtyCurvature is the penalised information at a point.
type frailtyCurvature struct {
	m        *frailtyModel
	view     *coxModel
	w        []float64
	added    []float64 // ν e^ω of each child
	diagonal []float64 // about that of the information
}

func (m *frailtyModel) curvature(at frailtyMaximum, nu float64, residual []float64) *frailtyCurvature {
	p := len(at.beta)
	c := &frailtyCurvature{m: m, view: m.view(at.eta), added: make([]float64, len(at.omega)), diagonal: make([]float64, p+len(at.omega))}
	_, c.w = c.view.relativeHazards(nil)
	c.view.scale = []float64{1}
	for i, o := range at.omega {
		c.added[i] = nu * math.Exp(o)
		c.diagonal[p+i] = c.added[i]
	}
	for k, r := range residual {
		expected := -r
		if m.cox.status[k] {
			expected++
		}
		for j, x := range m.cox.x[k] {
			c.diagonal[j] += float64(x * x * expected)
		}
		c.diagonal[p+m.child[k]] += expected
	}
	return c
}

// times is the penalised information times a vector: along it the linear
// predictor of a row moves by v, and the row's gradient falls by the integral of
// w (v − v̄) dΛ.
func (c *frailtyCurvature) times(vector []float64) []float64 {
	m, p := c.m, len(c.m.plain.beta)
	column := newMatrix(len(m.child), 1)
	for k, child := range m.child {
		column[k][0] = dot(m.cox.x[k], vector[:p]) + vector[p+child]
	}
	view := c.view
	view.x = column
	moves := newMatrix(len(column), 1)
	jumps, meanJumps := make([]float64, len(view.groups)), newMatrix(len(view.groups), 1)
	at := 0
	view.visit(c.w, coxMeans, func(g coxGroup, risk, tied []float64) {
		parts, each := view.parts(g)
		spared, sparedMean := 0.0, 0.0
		for k := range parts {
			part := view.share(k, parts)
			s0 := risk[0] - float64(part*tied[0])
			mean, jump := (risk[1]-float64(part*tied[1]))/s0, each/s0
			jumps[at] += jump
			meanJumps[at][0] += float64(mean * jump)
			spared += float64(part * jump)
			sparedMean += float64(part*mean) * jump
		}
		for _, i := range g.events {
			moves[i][0] += float64(c.w[i] * (float64(column[i][0]*spared) - sparedMean))
		}
		at++
	})
	view.subtractIntegrals(moves, c.w, jumps, meanJumps)
	rows := make([]float64, len(moves))
	for k := range rows {
		rows[k] = -moves[k][0]
	}
	out := m.gather(rows)
	for i, a := range c.added {
		out[p+i] += float64(a * vector[p+i])
	}
	return out
}

// solve is the inverse of the penalised information times a vector, by
// conjugate gradients.
func (c *frailtyCurvature) solve(b []float64) ([]float64, bool) {
	n := len(b)
	x, r := make([]float64, n), slices.Clone(b)
	scaled := func(v []float64) []float64 {
		out := make([]float64, n)
		for i := range v {
			out[i] = v[i] / c.diagonal[i]
		}
		return out
	}
	z := scaled(r)
	direction := slices.Clone(z)
	rz := dot(r, z)
	first := rz
	for range 20*n + 100 {
		if !(rz > 1e-30*first) {
			return x, rz >= 0
		}
		image := c.times(direction)
		along := dot(direction, image)
		if !(along > 0) {
			return x, rz < 1e-20*first
		}
		alpha := rz / along
		for i := range x {
			x[i] += float64(alpha * direction[i])
			r[i] -= float64(alpha * image[i])
		}
		z = scaled(r)
		next := dot(r, z)
		for i := range direction {
			direction[i] = z[i] + float64(next/rz*direction[i])
		}
		rz = next
	}
	return x, rz < 1e-20*first
}

// covariance is the block of the coefficients of the columns in the inverse of
// the penalised information.
func (m *frailtyModel) covariance(at frailtyMaximum) ([][]float64, error) {
	p := len(at.beta)
	curve := m.curvature(at, 1/at.theta, m.kept(m.view(at.eta).martingale(nil)))
	out := newMatrix(p, p)
	for j := range p {
		unit := make([]float64, p+len(at.omega))
		unit[j] = 1
		column, ok := curve.solve(unit)
		if !ok {
			return nil, fmt.Errorf("%w: inverse of the penalised information", ErrNotConverged)
		}
		for k := range p {
			out[j][k] += column[k] / 2
			out[k][j] += column[k] / 2
		}
	}
	return out, nil
}
