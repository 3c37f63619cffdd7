package stats

import (
	"fmt"
	"math"
	"strings"
)

// A coxModel holds the rows that are at risk at some event, sorted once, with
// covariates centred and scaled.
type coxModel struct {
	rows, events int         // as given
	index        []int       // kept rows, as numbered by the caller
	entry, exit  []float64   // of the kept rows
	status       []bool      // of the kept rows
	x            [][]float64 // of the kept rows, centred and scaled
	scale        []float64   // divisor of each column; 0 for a constant one
	byExit       []int       // kept rows, latest exit first
	byEntry      []int       // kept rows, latest entry first
	groups       []coxGroup  // one an event time, latest first
	efron        bool
}

// A coxGroup is an event time: the rows that join the risk set going back in
// time from the event time after it, those that leave, and the rows with the
// event.
type coxGroup struct {
	join, leave int // ends of byExit and byEntry used so far
	events      []int
}

func newCoxModel(t Times, x [][]float64, ties string) *coxModel {
	m := &coxModel{rows: len(x), efron: ties == TiesEfron}
	for i, used := range t.atRiskAtEvent() {
		if used {
			m.index = append(m.index, i)
			m.entry = append(m.entry, t.entry(i))
			m.exit = append(m.exit, t.Exit[i])
			m.status = append(m.status, t.Status[i])
			if t.Status[i] {
				m.events++
			}
		}
	}
	n := len(m.index)
	m.byExit = ordered(n, func(i int) float64 { return -m.exit[i] })
	if t.Entry != nil {
		m.byEntry = ordered(n, func(i int) float64 { return -m.entry[i] })
	}
	join, leave := 0, 0
	for join < n {
		var events []int
		at := m.exit[m.byExit[join]]
		for ; join < n && m.exit[m.byExit[join]] == at; join++ {
			if i := m.byExit[join]; m.status[i] {
				events = append(events, i)
			}
		}
		if events == nil {
			continue
		}
		for leave < len(m.byEntry) && m.entry[m.byEntry[leave]] >= at {
			leave++
		}
		m.groups = append(m.groups, coxGroup{join, leave, events})
	}
	m.standardise(x)
	return m
}

// standardise centres the kept rows of x and divides them by their standard
// deviation.
func (m *coxModel) standardise(x [][]float64) {
	n, p := len(m.index), len(x[0])
	m.scale = make([]float64, p)
	m.x = newMatrix(n, p)
	for j := range p {
		first := x[m.index[0]][j]
		sum := 0.0
		for _, i := range m.index {
			sum += x[i][j] - first
		}
		mean := first + sum/float64(n)
		squares := 0.0
		for k, i := range m.index {
			d := x[i][j] - mean
			m.x[k][j] = d
			squares += float64(d * d)
		}
		sd := math.Sqrt(squares / float64(n))
		if !(sd > 1e-13*math.Abs(mean)) {
			continue
		}
		m.scale[j] = sd
		for k := range n {
			m.x[k][j] /= sd
		}
	}
}

// unscale takes a covariance matrix of scaled coefficients to the caller's.
func (m *coxModel) unscale(c [][]float64) [][]float64 {
	out := newMatrix(len(c), len(c))
	for i := range c {
		for j := range c {
			out[i][j] = c[i][j] / float64(m.scale[i]*m.scale[j])
		}
	}
	return out
}

// A preciseSum adds with the rounding error carried along, so that a row that
// joined a risk set and leaves it again takes out what it put in.
type preciseSum struct{ high, low float64 }

func (s *preciseSum) add(x float64) {
	sum := s.high + x
	part := sum - s.high
	s.low += (s.high - (sum - part)) + (x - part)
	s.high = sum
}

// coxSums are the sums over a set of rows of w, w x and, for j >= k, w x_j x_k,
// in one slice.
type coxSums []preciseSum

func newCoxSums(p int) coxSums { return make(coxSums, 1+p+p*(p+1)/2) }

func (s coxSums) add(w float64, x []float64) {
	s[0].add(w)
	at := 1 + len(x)
	for j, xj := range x {
		wx := float64(w * xj)
		s[1+j].add(wx)
		for _, xk := range x[:j+1] {
			s[at].add(float64(wx * xk))
			at++
		}
	}
}

func (s coxSums) read(into []float64) {
	for i := range s {
		into[i] = s[i].high + s[i].low
	}
}

// weights returns the linear predictor of every kept row and its exponential.
// The predictor is shifted so that the largest is 0, which cancels in the
// likelihood.
func (m *coxModel) weights(beta []float64) (eta, w []float64) {
	eta, w = make([]float64, len(m.x)), make([]float64, len(m.x))
	largest := math.Inf(-1)
	for i, row := range m.x {
		eta[i] = dot(row, beta)
		largest = math.Max(largest, eta[i])
	}
	for i := range eta {
		eta[i] -= largest
		w[i] = math.Exp(eta[i])
	}
	return eta, w
}

// visit calls f for every event time, latest first, with the sums over the
// rows at risk and, for Efron's ties, over those with the event. A row that
// leaves has joined before, because every kept row is at risk at some event.
func (m *coxModel) visit(w []float64, f func(g coxGroup, risk, tied []float64)) {
	sums := newCoxSums(len(m.scale))
	eventSums := newCoxSums(len(m.scale))
	risk, tied := make([]float64, len(sums)), make([]float64, len(sums))
	joined, left := 0, 0
	for _, g := range m.groups {
		for ; left < g.leave; left++ {
			i := m.byEntry[left]
			sums.add(-w[i], m.x[i])
		}
		if joined == left {
			clear(sums) // an empty risk set: start again from exactly 0
		}
		for ; joined < g.join; joined++ {
			i := m.byExit[joined]
			sums.add(w[i], m.x[i])
		}
		sums.read(risk)
		if m.efron && len(g.events) > 1 {
			clear(eventSums)
			for _, i := range g.events {
				eventSums.add(w[i], m.x[i])
			}
			eventSums.read(tied)
		}
		f(g, risk, tied)
	}
}

// likelihood returns the log partial likelihood at scaled coefficients, its
// gradient and its information matrix.
func (m *coxModel) likelihood(beta []float64) (logLik float64, gradient []float64, information [][]float64) {
	p := len(beta)
	gradient = make([]float64, p)
	information = newMatrix(p, p)
	eta, w := m.weights(beta)
	mean := make([]float64, p)
	m.visit(w, func(g coxGroup, risk, tied []float64) {
		for _, i := range g.events {
			logLik += eta[i]
			for j, x := range m.x[i] {
				gradient[j] += x
			}
		}
		d := len(g.events)
		for k := range d {
			part := m.share(k, d)
			s0 := risk[0] - float64(part*tied[0])
			logLik -= math.Log(s0)
			for j := range mean {
				mean[j] = (risk[1+j] - float64(part*tied[1+j])) / s0
				gradient[j] -= mean[j]
			}
			at := 1 + p
			for j := range p {
				for h := range j + 1 {
					s2 := risk[at] - float64(part*tied[at])
					information[j][h] += s2/s0 - float64(mean[j]*mean[h])
					at++
				}
			}
		}
	})
	for j := range p {
		for h := range j {
			information[h][j] = information[j][h]
		}
	}
	return logLik, gradient, information
}

// share is the part of the tied events taken out of the risk set for the k-th
// of d.
func (m *coxModel) share(k, d int) float64 {
	if !m.efron {
		return 0
	}
	return float64(k) / float64(d)
}

// quotedList writes names as "a", "b" and "c".
func quotedList(names []string) string {
	var b strings.Builder
	for i, name := range names {
		switch {
		case i == 0:
		case i == len(names)-1:
			b.WriteString(" and ")
		default:
			b.WriteString(", ")
		}
		fmt.Fprintf(&b, "%q", name)
	}
	return b.String()
}
