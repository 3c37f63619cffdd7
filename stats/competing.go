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

// steps visits the distinct times of exit in order, with the rows that came
// under observation before each.
func (t CompetingTimes) steps(causes int, visit func(s competingStep)) {
	times := Times{t.Entry, t.Exit, nil}
	n := len(t.Exit)
	byExit := ordered(n, func(i int) float64 { return t.Exit[i] })
	byEntry := byExit
	if t.Entry != nil {
		byEntry = ordered(n, times.entry)
	}
	s := competingStep{d: make([]int, causes)}
	entered := 0
	for i := 0; i < n; {
		s.at = t.Exit[byExit[i]]
		from := entered
		if t.Entry == nil {
			entered = n
		}
		for entered < n && times.entry(byEntry[entered]) < s.at {
			entered++
		}
		s.entersFor = byEntry[from:entered]
		s.n = entered - i
		clear(s.d)
		s.all = 0
		first := i
		for ; i < n && t.Exit[byExit[i]] == s.at; i++ {
			if c := t.Cause[byExit[i]]; c > 0 {
				s.d[c-1]++
				s.all++
			}
		}
		s.exits = byExit[first:i]
		visit(s)
	}
}

// happens reports whether any row ends by the cause.
func (t CompetingTimes) happens(cause int) bool { return slices.Contains(t.Cause, cause) }
