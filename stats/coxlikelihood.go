package stats

import "math"

// relativeHazards returns the linear predictor of every kept row and its
// exponential times the row's weight. The predictor is shifted so that the
// largest of a stratum is 0, which cancels in the likelihood.
func (m *coxModel) relativeHazards(beta []float64) (eta, w []float64) {
	eta, w = make([]float64, len(m.x)), make([]float64, len(m.x))
	inChunks(len(eta), func(_, from, to int) {
		for i := from; i < to; i++ {
			eta[i] = m.offset[i] + dot(m.x[i], beta)
		}
	})
	for _, s := range m.strata {
		largest := math.Inf(-1)
		for _, e := range eta[s.from:s.to] {
			largest = math.Max(largest, e)
		}
		for i := s.from; i < s.to; i++ {
			eta[i] -= largest
		}
	}
	inChunks(len(eta), func(_, from, to int) {
		for i := from; i < to; i++ {
			w[i] = m.weight[i] * math.Exp(eta[i])
		}
	})
	return eta, w
}

// visit calls f for every event time, stratum by stratum and latest first, with
// the sums over the rows at risk, up to some moment, and, for Efron's ties, over
// those with the event. A row that leaves has joined before, because every kept row is at risk
// at some event. Where what is left is less than the rounding of what has left,
// the sums are made anew.
func (m *coxModel) visit(w []float64, moments coxMoments, f func(g coxGroup, risk, tied []float64)) {
	if m.fading != nil {
		m.visitFading(w, moments, f)
		return
	}
	sums := newCoxSums(len(m.scale), moments)
	eventSums := newCoxSums(len(m.scale), moments)
	risk, tied := make([]float64, len(sums)), make([]float64, len(sums))
	for _, s := range m.strata {
		joined, left := s.from, s.from
		most := 0.0
		for _, g := range m.groups[s.firstGroup:s.toGroup] {
			for ; left < g.leave; left++ {
				i := m.byEntry[left]
				sums.add(-w[i], m.x[i])
			}
			if joined == left {
				clear(sums) // an empty risk set: start again from exactly 0
				most = 0
			}
			for ; joined < g.join; joined++ {
				sums.add(w[joined], m.x[joined])
			}
			sums.read(risk)
			if most = math.Max(most, risk[0]); risk[0] < lostDigits*most {
				most = m.sumAnew(sums, w, g)
				sums.read(risk)
			}
			if m.ties == TiesEfron && len(g.events) > 1 {
				clear(eventSums)
				for _, i := range g.events {
					eventSums.add(w[i], m.x[i])
				}
				eventSums.read(tied)
			}
			f(g, risk, tied)
		}
	}
}

// lostDigits is the share of the largest sum at which its rounding, carried
// along to some 32 digits, leaves 16 of them.
const lostDigits = 1e-16

// sumAnew adds up the rows at risk and returns the sum of their w.
func (m *coxModel) sumAnew(sums coxSums, w []float64, g coxGroup) float64 {
	clear(sums)
	for _, i := range m.atRisk(g, nil) {
		sums.add(w[i], m.x[i])
	}
	return sums[0].high + sums[0].low
}

// A coxLikelihood is the log partial likelihood at some coefficients, its
// gradient and its information.
type coxLikelihood struct {
	logLik      float64
	gradient    []float64
	information [][]float64
}

// atNull is the likelihood at 0, which is asked for twice.
func (m *coxModel) atNull() coxLikelihood {
	if m.null == nil {
		var at coxLikelihood
		at.logLik, at.gradient, at.information = m.likelihood(make([]float64, len(m.scale)))
		m.null = &at
	}
	return *m.null
}

// likelihood returns the log partial likelihood at scaled coefficients, its
// gradient and its information matrix.
func (m *coxModel) likelihood(beta []float64) (logLik float64, gradient []float64, information [][]float64) {
	p := len(beta)
	gradient = make([]float64, p)
	information = newMatrix(p, p)
	eta, w := m.relativeHazards(beta)
	subsets := newTiedSubsets(p)
	made := m.newInformation(p)
	m.visit(w, coxMeans, func(g coxGroup, risk, tied []float64) {
		for _, i := range g.events {
			c := m.weight[i]
			logLik += float64(c * eta[i])
			for j, x := range m.x[i] {
				gradient[j] += float64(c * x)
			}
		}
		if m.ties == TiesExact && len(g.events) > 1 {
			logLik -= subsets.subtract(m, g, eta, gradient, information)
			made.pass(coxDenominators{}, nil, nil)
			return
		}
		d := made.denominators(g, risk[0], tied[0])
		logLik -= d.log
		for j, mean := range made.pass(d, risk, tied) {
			gradient[j] -= float64(d.weight * mean)
		}
	})
	made.addTo(information, w)
	for j := range p {
		for h := range j {
			information[h][j] = information[j][h]
		}
	}
	return logLik, gradient, information
}

// parts is into how many denominators a group of events is taken apart and what
// each weighs: the mean weight of the events for Efron's ties, one of their sum
// for Breslow's.
func (m *coxModel) parts(g coxGroup) (parts int, each float64) {
	for _, i := range g.events {
		each += m.weight[i]
	}
	if m.ties != TiesEfron {
		return 1, each
	}
	d := len(g.events)
	return d, each / float64(d)
}

// share is the part of the tied events taken out of the risk set for the k-th
// denominator.
func (m *coxModel) share(k, parts int) float64 {
	return float64(k) / float64(parts) // 0 for Breslow's one part
}
