package stats

// scoreResiduals returns one row for each row given: its contribution to the
// gradient of the log partial likelihood at scaled coefficients,
//
//	c event (x - x̄(Exit)) - w ∫ (x - x̄(u)) dΛ(u) over Entry < u <= Exit,
//
// c the row's weight, w = c exp(x'b), Λ the estimated cumulative hazard of its
// stratum and x̄ the weighted mean over the risk set, both with the model's
// handling of ties (Efron's or Breslow's). They add up to the gradient.
// Rows never at risk at an event contribute 0.
func (m *coxModel) scoreResiduals(beta []float64) [][]float64 {
	p := len(beta)
	_, w := m.relativeHazards(beta)
	kept := newMatrix(len(m.x), p)
	// Jumps of the integrals of dΛ and x̄ dΛ, latest first.
	jumps := make([]float64, len(m.groups))
	meanJumps := newMatrix(len(m.groups), p)
	at := 0
	averageMean, sparedMean := make([]float64, p), make([]float64, p)
	m.visit(w, coxMeans, func(g coxGroup, risk, tied []float64) {
		parts, each := m.parts(g)
		spared := 0.0 // the part of the jump that a tied event is spared
		clear(averageMean)
		clear(sparedMean)
		for k := range parts {
			part := m.share(k, parts)
			s0 := risk[0] - float64(part*tied[0])
			jump := each / s0
			jumps[at] += jump
			spared += float64(part * jump)
			for j := range p {
				mean := (risk[1+j] - float64(part*tied[1+j])) / s0
				meanJumps[at][j] += float64(mean * jump)
				averageMean[j] += mean / float64(parts)
				sparedMean[j] += float64(float64(part*mean) * jump)
			}
		}
		for _, i := range g.events {
			for j, x := range m.x[i] {
				kept[i][j] += float64(m.weight[i]*(x-averageMean[j])) + float64(w[i]*(float64(x*spared)-sparedMean[j]))
			}
		}
		at++
	})
	m.subtractIntegrals(kept, w, jumps, meanJumps)
	out := newMatrix(m.rows, p)
	for k, i := range m.index {
		copy(out[i], kept[k])
	}
	return out
}

// subtractIntegrals takes w times the integral of (x - x̄) dΛ over each row's
// time at risk out of its residual.
func (m *coxModel) subtractIntegrals(residuals [][]float64, w, jumps []float64, meanJumps [][]float64) {
	// Sums from a stratum's latest event on, up to the group gone through, for
	// rows that count in full and, apart, for those that fade.
	classes := 1
	if m.fading != nil {
		classes = 2
	}
	after, meanAfter := make([]float64, classes), newMatrix(classes, len(m.scale))
	m.backInTime(func() {
		for k := range after {
			after[k] = 0
			clear(meanAfter[k])
		}
	}, func(g int) {
		for k := range after {
			factor := m.factor(k, g)
			after[k] += float64(factor * jumps[g])
			for j, v := range meanJumps[g] {
				meanAfter[k][j] += float64(factor * v)
			}
		}
	}, func(i int, sign float64) {
		k := m.class(i)
		for j, x := range m.x[i] {
			residuals[i][j] += float64(sign*w[i]) * (float64(x*after[k]) - meanAfter[k][j])
		}
	})
}

// backInTime goes through the groups of each stratum from the latest on. It
// calls begin for each stratum, pass for each group, and take for each kept row
// with 1 before the latest group at which the row is at risk and with -1 after
// the earliest.
func (m *coxModel) backInTime(begin func(), pass func(g int), take func(i int, sign float64)) {
	for _, s := range m.strata {
		begin()
		joined, left := s.from, s.from
		for g := s.firstGroup; g < s.toGroup; g++ {
			for ; joined < m.groups[g].join; joined++ {
				take(joined, 1)
			}
			for ; left < m.groups[g].leave; left++ {
				take(m.byEntry[left], -1)
			}
			pass(g)
		}
		for ; left < s.to; left++ {
			i := left
			if m.byEntry != nil {
				i = m.byEntry[left]
			}
			take(i, -1)
		}
	}
}
