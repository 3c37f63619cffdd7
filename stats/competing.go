package stats

import (
	"fmt"
	"slices"
)

// CompetingTimes are rows that end in one of several ways, of which the first
// to come shuts out the others: a return to sport, giving it up. A row is at
// risk at t when Entry < t <= Exit; Times says more of the times.
type CompetingTimes struct {
	Entry []float64 // start of observation; nil: the origin
	Exit  []float64 // the first end, or the end of observation
	Cause []int     // of the end, from 1; 0: none came, the row is censored
}

// times are the rows with any end as the event.
func (t CompetingTimes) times() Times {
	status := make([]bool, len(t.Cause))
	for i, c := range t.Cause {
		status[i] = c > 0
	}
	return Times{t.Entry, t.Exit, status}
}

// check panics on slices of unequal length and on causes outside 0 to causes,
// and returns an error for rows that cannot be analysed.
func (t CompetingTimes) check(causes int) error {
	if causes < 1 {
		panic(fmt.Sprintf("stats: %d causes, expected at least 1", causes))
	}
	for i, c := range t.Cause {
		if c < 0 || c > causes {
			panic(fmt.Sprintf("stats: cause %d of row %d, expected 0 to %d", c, i+1, causes))
		}
	}
	return t.times().check()
}

// A competingStep is one distinct time of exit.
type competingStep struct {
	at        float64
	n         int   // at risk just before
	d         []int // ends by cause, of index cause−1
	all       int   // ends of any cause
	exits     []int // rows that leave, those censored included
	entersFor []int // rows that entered since the step before, up to before this one
}

// A competingOrder is the rows in the order of their ends.
type competingOrder struct {
	at       []float64 // of the ends
	cause    []int
	byExit   []int     // rows
	byEntry  []int     // rows in order of their entry; nil without entries
	entries  []float64 // in order; nil without
	distinct int       // times of exit
}

// order sorts the rows.
func (t CompetingTimes) order() competingOrder {
	n := len(t.Exit)
	o := competingOrder{at: make([]float64, n), cause: make([]int, n), byExit: make([]int, n)}
	for i, exit := range sorted(n, func(i int) float64 { return t.Exit[i] }) {
		o.at[i], o.byExit[i] = exit.value(), exit.row
		if i == 0 || exit.value() != o.at[i-1] {
			o.distinct++
		}
	}
	inChunks(n, func(_, from, to int) {
		for i := from; i < to; i++ {
			o.cause[i] = t.Cause[o.byExit[i]]
		}
	})
	if t.Entry != nil {
		o.byEntry, o.entries = make([]int, n), make([]float64, n)
		for i, entry := range sorted(n, func(i int) float64 { return t.Entry[i] }) {
			o.byEntry[i], o.entries[i] = entry.row, entry.value()
		}
	}
	return o
}

// steps visits the distinct times of exit in order, with the rows that came
// under observation before each.
func (o competingOrder) steps(causes int, visit func(s competingStep)) {
	n := len(o.at)
	byEntry := o.byEntry
	if o.entries == nil {
		byEntry = o.byExit
	}
	s := competingStep{d: make([]int, causes)}
	entered := 0
	for i := 0; i < n; {
		s.at = o.at[i]
		from := entered
		if o.entries == nil {
			entered = n
		}
		for entered < n && o.entries[entered] < s.at {
			entered++
		}
		s.entersFor = byEntry[from:entered]
		s.n = entered - i
		clear(s.d)
		s.all = 0
		first := i
		for ; i < n && o.at[i] == s.at; i++ {
			if c := o.cause[i]; c > 0 {
				s.d[c-1]++
				s.all++
			}
		}
		s.exits = o.byExit[first:i]
		visit(s)
	}
}

// happens reports whether any row ends by the cause.
func (t CompetingTimes) happens(cause int) bool { return slices.Contains(t.Cause, cause) }
