package stats

import "math"

// CoxResiduals are what a Cox model leaves of each row it was given, for
// judging it: rows, in the caller's order.
type CoxResiduals struct {
	// Martingale is status - exp(x'b) ∫ dΛ over Entry < u <= Exit, the events
	// seen less those expected, at most 1; plotted against a covariate it shows
	// the covariate's shape. Weighted they add up to 0.
	Martingale []float64
	// Deviance is sign(M) √(-2 (M + status log(status - M))), which makes
	// martingale residuals M more symmetric about 0.
	Deviance []float64
	// Score is the row's contribution to the slope of the log likelihood, its
	// weight included; columns add up to 0.
	Score [][]float64
	// DFBeta is Score times the inverse information: to first order the change
	// that leaving out the row makes to each coefficient, with its sign
	// turned. The robust covariance is the sum of the outer products of DFBeta
	// summed by cluster.
	DFBeta [][]float64
}

// CoxResiduals computes the residuals of a Cox model, with its handling of ties:
// a row with one of d tied events is at risk for Efron's k-th denominator with
// the part 1 - k/d. Rows at risk at no event have residuals of 0. Several rows
// of one child are to be added up, except Deviance.
//
// Asking another model's Fit, or one with exact ties, which have no such
// residuals, is the caller's mistake.
//
// Reference: Therneau TM, Grambsch PM, Fleming TR. Martingale-based residuals
// for survival models. Biometrika 1990;77:147-160.
func (f Fit) CoxResiduals() CoxResiduals {
	m, at := f.coxModel("residuals")
	p := len(m.scale)
	r := CoxResiduals{
		Martingale: m.martingale(at.beta),
		Deviance:   make([]float64, m.rows),
		Score:      m.scoreResiduals(at.beta),
		DFBeta:     newMatrix(m.rows, p),
	}
	for i, row := range r.Score {
		for j := range p {
			r.DFBeta[i][j] = dot(at.covariance[j], row) / m.scale[j]
		}
		for j := range row {
			row[j] *= float64(m.scale[j] * m.unit)
		}
	}
	status := make([]float64, m.rows)
	for k, i := range m.index {
		if m.status[k] {
			status[i] = 1
		}
	}
	for i, v := range r.Martingale {
		sum := v
		if status[i] == 1 {
			sum += math.Log(1 - v)
		}
		r.Deviance[i] = math.Copysign(math.Sqrt(math.Max(0, -2*sum)), v)
	}
	return r
}

// coxModel is the model behind a fit, for what is not defined with exact ties.
func (f Fit) coxModel(what string) (*coxModel, coxMaximum) {
	if f.cox == nil || f.Ties == TiesExact {
		panic("stats: " + what + " of a fit that is no Cox model with Efron's or Breslow's ties")
	}
	return f.cox.model, f.cox.at
}

// martingale returns the martingale residual of every row given.
func (m *coxModel) martingale(beta []float64) []float64 {
	eta, w := m.relativeHazards(beta)
	kept := make([]float64, len(m.x))
	jumps := make([]float64, len(m.groups))
	at := 0
	m.visit(w, coxTotals, func(g coxGroup, risk, tied []float64) {
		parts, each := m.parts(g)
		spared := 0.0
		for k := range parts {
			part := m.share(k, parts)
			jump := each / (risk[0] - float64(part*tied[0]))
			jumps[at] += jump
			spared += float64(part * jump)
		}
		for _, i := range g.events {
			kept[i] += 1 + float64(math.Exp(eta[i])*spared)
		}
		at++
	})
	after := 0.0
	m.backInTime(func() { after = 0 },
		func(g int) { after += jumps[g] },
		func(i int, sign float64) { kept[i] += float64(sign * math.Exp(eta[i]) * after) })
	out := make([]float64, m.rows)
	for k, i := range m.index {
		out[i] = kept[k]
	}
	return out
}
