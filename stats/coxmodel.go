package stats

import (
	"math"
	"slices"
)

// A coxModel holds the rows that are at risk at some event of their stratum,
// sorted once, with covariates centred within strata and scaled.
type coxModel struct {
	rows, events int         // as given
	index        []int       // kept rows, as numbered by the caller, stratum by stratum, latest exit first
	entry, exit  []float64   // of the kept rows
	status       []bool      // of the kept rows
	x            [][]float64 // of the kept rows, centred and scaled
	offset       []float64   // of the kept rows
	weight       []float64   // of the kept rows, so that events weigh 1 on average
	unit         float64     // the caller's weight of a weight of 1
	scale        []float64   // divisor of each column; 0 for a constant one
	byEntry      []int       // kept rows, stratum by stratum, latest entry first; nil without entries
	groups       []coxGroup  // one an event time, stratum by stratum, latest first
	latest       []int       // of the kept rows, the latest group at risk
	before       []int       // and the latest before the entry; -1: none
	strata       []coxStratum
	ties         string
	fading       *coxFading     // nil: no row fades
	null         *coxLikelihood // the likelihood at 0, once it was asked for
	others       Times          // the rows that are not kept
}

// A coxStratum is a stretch of the kept rows, numbered from..to-1, with that of
// the groups.
type coxStratum struct {
	from, to            int
	firstGroup, toGroup int
	number              int       // the caller's
	centre              []float64 // mean of each column, in the caller's unit
	first, last         float64   // earliest entry and latest exit of all its rows
}

// A coxGroup is an event time: the rows that join the risk set going back in
// time from the event time after it, those that leave, and the rows with the
// event.
type coxGroup struct {
	from, join, leave int // rows from..join-1 have joined so far, byEntry from..leave-1 left
	at                float64
	events            []int
}

func newCoxModel(t Times, x [][]float64, opts CoxOptions) *coxModel {
	m := &coxModel{rows: len(x), ties: opts.Ties, unit: 1}
	for _, rows := range stratumRows(opts.Strata, len(x)) {
		number := 0
		if opts.Strata != nil {
			number = opts.Strata[rows[0]]
		}
		m.addStratum(t, rows, number)
	}
	n := len(m.index)
	m.offset, m.weight = make([]float64, n), make([]float64, n)
	for k, i := range m.index {
		m.weight[k] = 1
		if opts.Offset != nil {
			m.offset[k] = opts.Offset[i]
		}
	}
	if opts.Weights != nil {
		m.weigh(opts.Weights)
	}
	m.standardise(x)
	return m
}

// addStratum sorts the rows of a stratum. One without events is left out.
func (m *coxModel) addStratum(t Times, rows []int, number int) {
	s := coxStratum{from: len(m.index), firstGroup: len(m.groups), number: number, first: math.Inf(1), last: math.Inf(-1)}
	for _, i := range rows {
		s.first, s.last = math.Min(s.first, t.entry(i)), math.Max(s.last, t.Exit[i])
	}
	own := t
	if len(rows) < len(t.Exit) {
		own = t.pick(rows)
	}
	used := own.atRiskAtEvent()
	for k, i := range rows {
		if !used[k] {
			m.others.Exit = append(m.others.Exit, t.Exit[i])
			m.others.Entry = append(m.others.Entry, t.entry(i))
		}
	}
	m.index, m.entry = slices.Grow(m.index, len(rows)), slices.Grow(m.entry, len(rows))
	m.exit, m.status = slices.Grow(m.exit, len(rows)), slices.Grow(m.status, len(rows))
	var withEvent []int
	for _, exit := range sorted(len(rows), func(k int) float64 { return -t.Exit[rows[k]] }) {
		i := rows[exit.row]
		if !used[exit.row] {
			continue
		}
		if t.Status[i] {
			withEvent = append(withEvent, len(m.index))
		}
		m.index = append(m.index, i)
		m.entry = append(m.entry, t.entry(i))
		m.exit = append(m.exit, t.Exit[i])
		m.status = append(m.status, t.Status[i])
	}
	s.to = len(m.index)
	m.events += len(withEvent)
	if t.Entry != nil {
		for _, k := range ordered(s.to-s.from, func(k int) float64 { return -m.entry[s.from+k] }) {
			m.byEntry = append(m.byEntry, s.from+k)
		}
	}
	m.latest = slices.Grow(m.latest, s.to-s.from)
	join, leave := s.from, s.from
	for join < s.to {
		at, events := m.exit[join], 0
		for ; join < s.to && m.exit[join] == at; join++ {
			m.latest = append(m.latest, len(m.groups)) // the next event time back
			if m.status[join] {
				events++
			}
		}
		if events == 0 {
			continue
		}
		for leave < len(m.byEntry) && m.entry[m.byEntry[leave]] >= at {
			leave++
		}
		m.groups = append(m.groups, coxGroup{s.from, join, leave, at, withEvent[:events:events]})
		withEvent = withEvent[events:]
	}
	if s.toGroup = len(m.groups); s.to > s.from {
		m.strata = append(m.strata, s)
	}
	m.before = slices.Grow(m.before, s.to-s.from)
	for range s.to - s.from {
		m.before = append(m.before, -1)
	}
	left := s.from
	for g := s.firstGroup; g < s.toGroup; g++ {
		for ; left < m.groups[g].leave; left++ {
			m.before[m.byEntry[left]] = g
		}
	}
}

// weigh takes over case weights, divided by their mean over the events so that
// what counts as flat or as converged does not depend on their unit.
func (m *coxModel) weigh(weights []float64) {
	sum := 0.0
	for k, i := range m.index {
		if m.status[k] {
			sum += weights[i] / float64(m.events)
		}
	}
	m.unit = sum
	for k, i := range m.index {
		m.weight[k] = weights[i] / m.unit
	}
}

// rescaled takes a log partial likelihood to the caller's weights. With weights
// c times as large it is c times as large, less the events' weight times log c
// because risk sets weigh more.
func (m *coxModel) rescaled(logLik float64) float64 {
	if m.unit == 1 {
		return logLik
	}
	return m.unit * (logLik - float64(float64(m.events)*math.Log(m.unit)))
}

// standardise centres the kept rows of x within each stratum, which the
// likelihood does not see, and divides them by their standard deviation within
// strata.
func (m *coxModel) standardise(x [][]float64) {
	n, p := len(m.index), len(x[0])
	m.scale = make([]float64, p)
	m.x = newMatrix(n, p)
	m.gather(x)
	squares, largest := make([]float64, p), make([]float64, p)
	for h := range m.strata {
		s := &m.strata[h]
		first := x[m.index[s.from]]
		s.centre = make([]float64, p)
		for _, row := range m.x[s.from:s.to] {
			for j, v := range row {
				s.centre[j] += v - first[j]
			}
		}
		for j, sum := range s.centre {
			s.centre[j] = first[j] + sum/float64(s.to-s.from)
			largest[j] = math.Max(largest[j], math.Abs(s.centre[j]))
		}
		for _, row := range m.x[s.from:s.to] {
			for j := range row {
				row[j] -= s.centre[j]
				squares[j] += float64(row[j] * row[j])
			}
		}
	}
	for j := range p {
		if sd := math.Sqrt(squares[j] / float64(n)); sd > 1e-13*largest[j] {
			m.scale[j] = sd
		}
	}
	inChunks(n, func(_, from, to int) {
		for _, row := range m.x[from:to] {
			for j, sd := range m.scale {
				if sd > 0 {
					row[j] /= sd
				}
			}
		}
	})
}

// gather copies the kept rows of x, in the caller's order: rows are written all
// over memory faster than they are read all over it.
func (m *coxModel) gather(x [][]float64) {
	kept := make([]int, len(x)) // the number of the kept row plus 1
	for k, i := range m.index {
		kept[i] = k + 1
	}
	inChunks(len(x), func(_, from, to int) {
		for i := from; i < to; i++ {
			if kept[i] > 0 {
				copy(m.x[kept[i]-1], x[i])
			}
		}
	})
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
