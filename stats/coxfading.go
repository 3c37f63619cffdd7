package stats

import "math"

// coxFading are the rows of a model that stay at risk with a weight that falls
// with time: at an event they count with their weight times the factor of the
// event's time. A model with them has one stratum and entries.
type coxFading struct {
	row    []bool    // of the kept rows, whether it fades
	factor []float64 // of each group
}

// class is 1 for a row that fades and 0 for another.
func (m *coxModel) class(i int) int {
	if m.fading != nil && m.fading.row[i] {
		return 1
	}
	return 0
}

// factor is what a class of rows counts at a group's time.
func (m *coxModel) factor(class, group int) float64 {
	if class == 0 {
		return 1
	}
	return m.fading.factor[group]
}

// visitFading is visit with fading rows, whose sums are kept apart and come in
// with the factor of the time.
func (m *coxModel) visitFading(w []float64, moments coxMoments, f func(g coxGroup, risk, tied []float64)) {
	p := len(m.scale)
	sums := [2]coxSums{newCoxSums(p, moments), newCoxSums(p, moments)}
	eventSums := newCoxSums(p, moments)
	risk, faded, tied := make([]float64, len(eventSums)), make([]float64, len(eventSums)), make([]float64, len(eventSums))
	var inside [2]int
	var most [2]float64
	joined, left := 0, 0
	for at, g := range m.groups {
		for ; left < g.leave; left++ {
			i := m.byEntry[left]
			k := m.class(i)
			sums[k].add(-w[i], m.x[i])
			if inside[k]--; inside[k] == 0 {
				clear(sums[k]) // nobody left: start again from exactly 0
				most[k] = 0
			}
		}
		for ; joined < g.join; joined++ {
			k := m.class(joined)
			sums[k].add(w[joined], m.x[joined])
			inside[k]++
		}
		for k, into := range [][]float64{risk, faded} {
			sums[k].read(into)
			if most[k] = math.Max(most[k], into[0]); into[0] < lostDigits*most[k] {
				most[k] = m.sumClassAnew(sums[k], w, g, k)
				sums[k].read(into)
			}
		}
		factor := m.fading.factor[at]
		for j, v := range faded {
			risk[j] += float64(factor * v)
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

// sumClassAnew is sumAnew for the rows of a class.
func (m *coxModel) sumClassAnew(sums coxSums, w []float64, g coxGroup, class int) float64 {
	clear(sums)
	for _, i := range m.atRisk(g, nil) {
		if m.class(i) == class {
			sums.add(w[i], m.x[i])
		}
	}
	return sums[0].high + sums[0].low
}
