package stats

import (
	"fmt"
	"math"
)

// A CumulativeHazard is the estimated cumulative hazard of one stratum of a Cox
// model for given covariates: a step function of time, 0 before Time[0] and
// Hazard[i] from Time[i] on. It says nothing after the last time at which
// somebody of the stratum was observed.
type CumulativeHazard struct {
	Stratum int       // the caller's number; 0 without strata
	Time    []float64 // event times, in order
	AtRisk  []int     // rows at Time[i]
	Events  []int     // rows with the event at Time[i]
	Hazard  []float64 // cumulative
	SE      []float64 // of Hazard, model-based; nil with weights or clusters
}

// CumulativeHazards estimates the cumulative hazard of each stratum that held an
// event, in increasing order of the strata's numbers, for a row with the
// covariates x (of all terms, in the caller's units; nil: 0 each, the baseline)
// and offset 0,
//
//	Λ(t|x) = exp(x'b) sum over event times s <= t of d / sum over R(s) of exp(x_i'b),
//
// Breslow's estimator; rows count with their weights. With Efron's ties the d
// events of a time have the d denominators of the likelihood. exp(-Λ) estimates
// the probability of no event by t. The variance is that of the counts plus
// that of the coefficients (Tsiatis),
//
//	exp(2x'b) sum of d / (sum over R of exp(x_i'b))² + a'Va,
//	a = exp(x'b) sum of (x̄(s) - x) d / sum over R of exp(x_i'b),
//
// where rows are independent and count once; no error is given for others. A
// baseline at 0 that is far from the data, such as the age 0 in a study of
// adolescents, is a number outside of them: choose x within.
//
// It returns ErrNotFinite where x is not finite or Λ too large for a number.
// Asking another model's Fit, or one with exact ties, whose model is in
// discrete time, and an x of another length are the caller's mistake.
//
// Breslow NE. Discussion of the paper by D. R. Cox. J R Stat Soc B
// 1972;34:216-217. Tsiatis AA. A large sample study of Cox's regression model.
// Ann Stat 1981;9:93-108.
func (f Fit) CumulativeHazards(x []float64) ([]CumulativeHazard, error) {
	m, at := f.coxModel("hazards")
	p := len(m.scale)
	if x == nil {
		x = make([]float64, p)
	}
	if len(x) != p {
		panic(fmt.Sprintf("stats: %d covariates, expected %d", len(x), p))
	}
	for j, v := range x {
		if !finite(v) {
			return nil, fmt.Errorf("cumulative hazard: term %q: %w", f.Terms[j], ErrNotFinite)
		}
	}
	steps := m.hazardSteps(at.beta)
	var out []CumulativeHazard
	for _, s := range m.strata {
		h := m.cumulate(s, steps, m.standard(s, x), at)
		h.Stratum = s.number
		if f.Robust != "" {
			h.SE = nil
		}
		for i, v := range h.Hazard {
			if !finite(v) || (h.SE != nil && !finite(h.SE[i])) {
				return nil, fmt.Errorf("cumulative hazard of stratum %d at %v: %w", s.number, h.Time[i], ErrNotFinite)
			}
		}
		out = append(out, h)
	}
	return out, nil
}

// A hazardStep is what an event time adds to the cumulative hazard, for the
// largest linear predictor of its stratum, to its variance, and to the integral
// of x̄.
type hazardStep struct {
	hazard, variance float64
	mean             []float64
}

func (m *coxModel) hazardSteps(beta []float64) []hazardStep {
	_, w := m.relativeHazards(beta)
	var steps []hazardStep
	m.visit(w, coxMeans, func(g coxGroup, risk, tied []float64) {
		step := hazardStep{mean: make([]float64, len(beta))}
		parts, each := m.parts(g)
		for k := range parts {
			part := m.share(k, parts)
			s0 := risk[0] - float64(part*tied[0])
			step.hazard += each / s0
			step.variance += each / s0 / s0
			for j := range step.mean {
				step.mean[j] += (risk[1+j] - float64(part*tied[1+j])) / s0 * each / s0
			}
		}
		steps = append(steps, step)
	})
	return steps
}

// standard takes covariates to the centre and scale of a stratum's.
func (m *coxModel) standard(s coxStratum, x []float64) []float64 {
	out := make([]float64, len(x))
	for j, v := range x {
		out[j] = (v - s.centre[j]) / m.scale[j]
	}
	return out
}

// cumulate adds up the steps of a stratum from the earliest on.
func (m *coxModel) cumulate(s coxStratum, steps []hazardStep, x []float64, at coxMaximum) CumulativeHazard {
	largest := math.Inf(-1)
	for i := s.from; i < s.to; i++ {
		largest = math.Max(largest, m.offset[i]+dot(m.x[i], at.beta))
	}
	times := math.Exp(dot(x, at.beta) - largest)
	var h CumulativeHazard
	hazard, variance, a := 0.0, 0.0, make([]float64, len(x))
	for g := s.toGroup - 1; g >= s.firstGroup; g-- {
		hazard += steps[g].hazard
		variance += steps[g].variance
		for j := range a {
			a[j] += steps[g].mean[j] - float64(x[j]*steps[g].hazard)
		}
		both := variance
		for j := range a {
			both += float64(a[j] * dot(at.covariance[j], a))
		}
		h.Time = append(h.Time, m.groups[g].at)
		h.AtRisk = append(h.AtRisk, m.groups[g].join-m.groups[g].leave)
		h.Events = append(h.Events, len(m.groups[g].events))
		h.Hazard = append(h.Hazard, float64(times*hazard))
		h.SE = append(h.SE, float64(times*math.Sqrt(both)))
	}
	return h
}
