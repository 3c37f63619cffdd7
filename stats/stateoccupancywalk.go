package stats

import (
	"fmt"
	"math"
	"slices"
)

// A stateWalk goes through the rows in time, with the probabilities of the
// states and the influence of each cluster on them.
type stateWalk struct {
	times    StateTimes
	weight   []float64
	cluster  []int // of each row, numbered from 0
	rows     []int // that end after the start, by entry
	clusters int
	states   int
	from     float64
	last     float64 // exit, of those rows
	start    []float64
	fixed    bool // the start is known
	starters int  // rows there at the start
	mayHold  float64
	leaves   []bool
}

// A stateStep is one time of changes, after them; slices are used again.
type stateStep struct {
	at        float64
	p         []float64
	atRisk    []int   // just before, by state
	changes   [][]int // by state from and to
	unused    int     // of them, from states without a share
	influence [][]float64
}

// se is the root of the summed squared influences on a state.
func (s stateStep) se(state int) float64 {
	sum := 0.0
	for _, u := range s.influence {
		sum += float64(u[state] * u[state])
	}
	return math.Sqrt(sum)
}

// A lostState is the first time after which states that can be left hold more
// than may be held and have nobody under observation: the one of them that holds
// most, and its share; +Inf and −1 for none. Before it they held as much as held,
// at any time everHeld.
type lostState struct {
	at             float64
	state          int
	share          float64
	held, everHeld float64
}

// look takes the shares of states from a time on in.
func (l *lostState) look(w *stateWalk, at float64, p []float64, atRisk []int) {
	sum, most := 0.0, -1
	for j, v := range p {
		if v <= occupancySlack || !w.leaves[j] || atRisk[j] > 0 {
			continue
		}
		if sum += v; most < 0 || v > p[most] {
			most = j
		}
	}
	l.everHeld = math.Max(l.everHeld, sum)
	switch {
	case l.state >= 0:
	case sum > w.mayHold+occupancySlack:
		l.at, l.state, l.share = at, most, p[most]
	default:
		l.held = math.Max(l.held, sum)
	}
}

func newStateWalk(t StateTimes, states []string, opts StateOptions) (stateWalk, error) {
	k := len(states)
	weight, err := rowWeights(opts.Weights, len(t.Exit))
	if err != nil {
		return stateWalk{}, err
	}
	w := stateWalk{times: t, weight: weight, states: k, from: slices.Min(t.Entry), start: slices.Clone(opts.Start), fixed: opts.Start != nil, leaves: make([]bool, k), last: math.Inf(-1), mayHold: opts.HoldUpTo}
	if opts.From != nil {
		w.from = *opts.From
	}
	groups := t.ID
	if opts.Cluster != nil {
		groups = opts.Cluster
	}
	number := map[int]int{}
	w.cluster = make([]int, len(groups))
	for _, i := range (Times{Entry: t.Entry, Exit: t.Exit}).byEntry() {
		if t.Exit[i] <= w.from {
			continue
		}
		w.rows = append(w.rows, i)
		if _, ok := number[groups[i]]; !ok {
			number[groups[i]] = len(number)
		}
		w.cluster[i] = number[groups[i]]
		w.last = math.Max(w.last, t.Exit[i])
		w.leaves[t.From[i]] = w.leaves[t.From[i]] || t.To[i] != StayedIn
	}
	for j, absorbing := range opts.Absorbing {
		w.leaves[j] = !absorbing
	}
	if w.clusters = len(number); len(w.rows) > 0 && w.clusters < 2 {
		return w, fmt.Errorf("%w: found %d, expected at least 2", ErrTooFewClusters, w.clusters)
	}
	if w.starters, err = w.begin(); err != nil {
		return w, err
	}
	return w, nil
}

// begin estimates the shares at the start, unless they are known.
func (w *stateWalk) begin() (int, error) {
	count, total := 0, 0.0
	shares := make([]float64, w.states)
	for _, i := range w.rows {
		if w.times.Entry[i] <= w.from {
			count++
			total += w.weight[i]
			shares[w.times.From[i]] += w.weight[i]
		}
	}
	if count == 0 {
		return 0, fmt.Errorf("%w: nobody is under observation at %g", ErrNoPersonTime, w.from)
	}
	if !w.fixed {
		for j := range shares {
			shares[j] /= total
		}
		w.start = shares
	}
	return count, nil
}

// firstInfluence is that of each cluster on the estimated start.
func (w *stateWalk) firstInfluence() [][]float64 {
	u := newMatrix(w.clusters, w.states)
	if w.fixed {
		return u
	}
	total := 0.0
	for _, i := range w.rows {
		if w.times.Entry[i] <= w.from {
			total += w.weight[i]
		}
	}
	for _, i := range w.rows {
		if w.times.Entry[i] > w.from {
			continue
		}
		share := w.weight[i] / total
		for j, p := range w.start {
			u[w.cluster[i]][j] -= float64(share * p)
		}
		u[w.cluster[i]][w.times.From[i]] += share
	}
	return u
}

// points are the times after the start, up to the horizon, at which a row begins
// or ends.
func (w *stateWalk) points(horizon float64) []float64 {
	var out []float64
	for _, i := range w.rows {
		for _, at := range []float64{w.times.Entry[i], w.times.Exit[i]} {
			if at > w.from && at <= horizon {
				out = append(out, at)
			}
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// run visits the times of changes up to the horizon.
func (w *stateWalk) run(horizon float64, visit func(stateStep)) lostState {
	t := w.times
	s := stateStep{p: slices.Clone(w.start), atRisk: make([]int, w.states), influence: w.firstInfluence()}
	lost := lostState{at: math.Inf(1), state: -1}
	var active []int
	next := 0
	admit := func(at float64) {
		for ; next < len(w.rows) && t.Entry[w.rows[next]] <= at; next++ {
			active = append(active, w.rows[next])
			s.atRisk[t.From[w.rows[next]]]++
		}
		lost.look(w, at, s.p, s.atRisk)
	}
	admit(w.from)
	for _, at := range w.points(horizon) {
		ends := false
		for _, i := range active {
			ends = ends || t.Exit[i] == at && t.To[i] != StayedIn
		}
		if ends {
			s.at = at
			before := slices.Clone(s.atRisk)
			w.change(&s, active)
			visit(s)
			s.atRisk = before
		}
		active = slices.DeleteFunc(active, func(i int) bool {
			if t.Exit[i] == at {
				s.atRisk[t.From[i]]--
			}
			return t.Exit[i] == at
		})
		admit(at)
	}
	return lost
}

// change moves probabilities and influences over one time.
func (w *stateWalk) change(s *stateStep, active []int) {
	t, k := w.times, w.states
	n, d := make([]float64, k), newMatrix(k, k)
	s.unused = 0
	s.changes = make([][]int, k)
	for j := range s.changes {
		s.changes[j] = make([]int, k)
	}
	moves := make([]bool, k)
	for _, i := range active {
		j := t.From[i]
		n[j] += w.weight[i]
		if to := t.To[i]; to != StayedIn && t.Exit[i] == s.at {
			d[j][to] += w.weight[i]
			s.changes[j][to]++
			moves[j] = true
			if s.p[j] <= occupancySlack {
				s.unused++
			}
		}
	}
	h := newMatrix(k, k) // I + dA
	for j := range h {
		h[j][j] = 1
		if !moves[j] {
			continue
		}
		left := n[j]
		for l := range h {
			if l != j {
				h[j][l] = d[j][l] / n[j]
				left -= d[j][l]
			}
		}
		if stays := s.atRisk[j] - sumInts(s.changes[j]); stays == 0 {
			left = 0
		}
		h[j][j] = left / n[j]
	}
	moved := make([]float64, k)
	through := func(row []float64) {
		clear(moved)
		for j, v := range row {
			if v == 0 {
				continue
			}
			for l := range moved {
				moved[l] += float64(v * h[j][l])
			}
		}
		copy(row, moved)
	}
	for _, u := range s.influence {
		through(u)
	}
	for _, i := range active {
		j := t.From[i]
		if !moves[j] {
			continue
		}
		u, part := s.influence[w.cluster[i]], w.weight[i]*s.p[j]/n[j]
		to := j
		if t.To[i] != StayedIn && t.Exit[i] == s.at {
			to = t.To[i]
		}
		for l := range u {
			u[l] -= float64(part * h[j][l])
		}
		u[to] += part
	}
	through(s.p)
}

func sumInts(values []int) int {
	sum := 0
	for _, v := range values {
		sum += v
	}
	return sum
}
