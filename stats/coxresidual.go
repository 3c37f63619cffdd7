package stats

// scoreResiduals returns one row for each row given: its contribution to the
// gradient of the log partial likelihood at scaled coefficients,
//
//	event (x - x̄(Exit)) - w ∫ (x - x̄(u)) dΛ(u) over Entry < u <= Exit,
//
// Λ the estimated cumulative hazard and x̄ the weighted mean over the risk
// set, both with the model's handling of ties. They add up to the gradient.
// Rows never at risk at an event contribute 0.
func (m *coxModel) scoreResiduals(beta []float64) [][]float64 {
	p := len(beta)
	_, w := m.weights(beta)
	kept := newMatrix(len(m.x), p)
	// Jumps of the integrals of dΛ and x̄ dΛ, latest first.
	jumps := make([]float64, len(m.groups))
	meanJumps := newMatrix(len(m.groups), p)
	at := 0
	averageMean, sparedMean := make([]float64, p), make([]float64, p)
	m.visit(w, func(g coxGroup, risk, tied []float64) {
		d := len(g.events)
		spared := 0.0 // the part of the jump that a tied event is spared
		clear(averageMean)
		clear(sparedMean)
		for k := range d {
			part := m.share(k, d)
			s0 := risk[0] - float64(part*tied[0])
			jumps[at] += 1 / s0
			spared += part / s0
			for j := range p {
				mean := (risk[1+j] - float64(part*tied[1+j])) / s0
				meanJumps[at][j] += mean / s0
				averageMean[j] += mean / float64(d)
				sparedMean[j] += part * mean / s0
			}
		}
		for _, i := range g.events {
			for j, x := range m.x[i] {
				kept[i][j] += x - averageMean[j] + float64(w[i]*(float64(x*spared)-sparedMean[j]))
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
	// Sums from the latest event on: after[g] holds the jumps of groups < g.
	p := len(m.scale)
	after := make([]float64, len(jumps)+1)
	meanAfter := newMatrix(len(jumps)+1, p)
	for g, jump := range jumps {
		after[g+1] = after[g] + jump
		for j := range p {
			meanAfter[g+1][j] = meanAfter[g][j] + meanJumps[g][j]
		}
	}
	take := func(i, g int, sign float64) {
		for j, x := range m.x[i] {
			residuals[i][j] += float64(sign*w[i]) * (float64(x*after[g]) - meanAfter[g][j])
		}
	}
	joined, left := 0, 0
	for g, group := range m.groups {
		for ; joined < group.join; joined++ {
			take(m.byExit[joined], g, 1) // at risk from group g back
		}
		for ; left < group.leave; left++ {
			take(m.byEntry[left], g, -1) // and up to group g-1
		}
	}
	for ; left < len(m.byEntry); left++ {
		take(m.byEntry[left], len(jumps), -1)
	}
	if m.byEntry == nil {
		for i := range m.x {
			take(i, len(jumps), -1)
		}
	}
}
