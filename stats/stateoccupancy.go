package stats

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// ErrStateJump says that a row begins in another state than the one the row
// before it, without a gap between them, ended in.
var ErrStateJump = errors.New("a row begins in another state than the one before it ended in")

// StayedIn is the To of a row that ended without a change of state.
const StayedIn = -1

// StateTimes are rows of time under observation in one state: in From over
// (Entry, Exit], and at Exit in To, or StayedIn where observation ended or was
// only cut. States are numbered from 0. Slices of equal length; rows of one ID
// must not overlap.
type StateTimes struct {
	ID          []int // who it is, any numbers
	Entry, Exit []float64
	From, To    []int
}

// StateOptions are the choices of StateOccupancy; the zero value is limits of
// 0.95 on the log-log scale, from the earliest entry on, with the states then
// estimated from who is there.
type StateOptions struct {
	Level   float64   // confidence level; 0 means 0.95
	Limits  string    // LimitsLogLog (the meaning of ""), LimitsLog, LimitsPlain or LimitsArcsine
	Weights []float64 // of each row, above 0; nil: 1 each
	Cluster []int     // cluster of each row for the errors, any numbers; nil: ID
	// From is the time at which curves start, nil the earliest entry. What was
	// seen before it does not count.
	From *float64
	// Start is the known share of each state at that time; nil: the shares among
	// the rows under observation then.
	Start []float64
	// Absorbing tells the states that cannot be left, such as having given up the
	// sport; nil: those that nobody was seen to leave after the start.
	Absorbing []bool
	// Hold keeps the curves going after a state that holds some probability has
	// nobody under observation any more, as if nobody left it; otherwise they
	// are NaN from there.
	Hold bool
	// HoldUpTo does so only while the states that nobody is under observation in
	// hold no more than this share together, which is by how much shares are then
	// uncertain; 0: not at all.
	HoldUpTo float64
}

// StateOccupancies are the probabilities of being in each state: slices by
// state, then one entry a time at which somebody changed state, in order.
// Occupancy is Start before Time[0].
type StateOccupancies struct {
	States       []string
	From         float64
	Start        []float64
	Until        float64 // curves are estimable up to then; +Inf where all that can end has ended
	Time         []float64
	AtRisk       [][]int // by state, rows just before Time[i]
	Changes      [][]int // rows from a state to a state, in all
	Occupancy    [][]float64
	SE           [][]float64
	Lower, Upper [][]float64
	Held         float64 // the largest share, up to Until, of states that nobody is under observation in
	N            int     // rows that count
	Clusters     int
	Level        float64
	Method       string // of the limits
	Warnings     []Warning

	source stateWalk
}

// StateOccupancy is the probability p(t) of being in each of several states,
// with changes between any of them in any direction, by the estimator of Aalen
// and Johansen: a row vector of shares, moved at each time s of changes by
//
//	p(s) = p(s−) (I + dA(s)),  dA_jk = d_jk/n_j,  dA_jj = −Σ_k d_jk/n_j
//
// with d_jk the changes from j to k and n_j the rows at risk in j just before s
// (Entry < s <= Exit), sums of their weights where there are any. With two states
// and one change it is the Kaplan-Meier curve, with one state that others end it
// is CumulativeIncidence. Probabilities of states are estimated so whether or not
// changes depend on the past (Datta and Satten), as long as censoring and late
// entry tell nothing of the changes.
//
// Standard errors are the infinitesimal jackknife's: with U_c the derivative of p
// by the weight of cluster c times that weight, the root of Σ_c U_c². Rows of one
// ID, or Cluster, may depend on each other in any way. Where Start is estimated,
// its error is part of it. Limits are those of KaplanMeier on each probability,
// none where it is 0 or 1.
//
// Where a state that can be left holds probability and has nobody under
// observation any more, what becomes of it is unknown: curves are NaN after that
// time, Until, unless Hold or HoldUpTo, and the warning state-unobserved says so;
// what is held until then has the warning state-held. An
// Absorbing state holds for ever; where those are not given, so does one nobody
// was seen to leave, which is safe only where nobody can.
//
// Changes among fewer than 5 rows at risk give the warning small-risk-set, a
// start estimated from as few small-start, few clusters few-clusters. With late
// entry a state can be left by somebody while the curve gives it no share, as
// where all of the few under observation early on had left it: such changes count
// for nothing, and the warning empty-state says so.
//
// It returns ErrNoData, ErrNotFinite, ErrEntryAfterExit and ErrNotPositive for
// rows that cannot be used; ErrOverlap and ErrStateJump where rows of an ID
// contradict each other; ErrNoPersonTime where nobody is under observation at
// the start, or in a state that Start gives a share; ErrTooFewClusters below
// two. No change at all is not an error. A state outside of the list, a row whose
// To is its From, one that leaves an Absorbing state, and a Start that is no
// distribution are the caller's mistake.
//
// Aalen OO, Johansen S. An empirical transition matrix for non-homogeneous
// Markov chains based on censored observations. Scand J Stat 1978;5:141-150.
// Datta S, Satten GA. Validity of the Aalen-Johansen estimators of stage
// occupation probabilities and Nelson-Aalen estimators of integrated transition
// hazards for non-Markov models. Stat Probab Lett 2001;55:403-411. Therneau TM,
// Grambsch PM. Modeling Survival Data. Springer, 2000, sec. 2.3 and 7.2.
func StateOccupancy(t StateTimes, states []string, opts StateOptions) (StateOccupancies, error) {
	const what = "state occupancy"
	limits := CurveOptions{Level: opts.Level, Limits: opts.Limits}.resolve()
	t.checkShape(len(states), opts)
	if err := t.check(); err != nil {
		return StateOccupancies{}, fmt.Errorf("%s: %w", what, err)
	}
	w, err := newStateWalk(t, states, opts)
	if err != nil {
		return StateOccupancies{}, fmt.Errorf("%s: %w", what, err)
	}
	k := len(states)
	o := StateOccupancies{
		States: slices.Clone(states), From: w.from, Start: slices.Clone(w.start), N: len(w.rows), Clusters: w.clusters,
		AtRisk: make([][]int, k), Changes: make([][]int, k), Occupancy: make([][]float64, k), SE: make([][]float64, k),
		Lower: make([][]float64, k), Upper: make([][]float64, k),
		Level: limits.Level, Method: limits.Limits + " limits, " + clusterMethod(false), Warnings: clusterWarnings(w.clusters), source: w,
	}
	for j := range o.Changes {
		o.Changes[j] = make([]int, k)
	}
	small, unused := 0, 0
	lost := w.run(math.Inf(1), func(s stateStep) {
		o.Time = append(o.Time, s.at)
		unused += s.unused
		for j := range k {
			p, se := s.p[j], s.se(j)
			lower, upper := math.NaN(), math.NaN()
			if p > occupancySlack && p < 1-occupancySlack {
				lower, upper = survivalLimits(p, se, limits)
			}
			o.AtRisk[j] = append(o.AtRisk[j], s.atRisk[j])
			o.Occupancy[j], o.SE[j] = append(o.Occupancy[j], p), append(o.SE[j], se)
			o.Lower[j], o.Upper[j] = append(o.Lower[j], lower), append(o.Upper[j], upper)
			for l, d := range s.changes[j] {
				if o.Changes[j][l] += d; d > 0 && s.atRisk[j] < smallRiskSet {
					small += d
				}
			}
		}
	})
	if lost.state >= 0 && lost.at == w.from && !opts.Hold {
		return StateOccupancies{}, fmt.Errorf("%s: %w: nobody is under observation in state %q at %g, which holds %.3g",
			what, ErrNoPersonTime, states[lost.state], lost.at, lost.share)
	}
	o.finish(lost, opts, small)
	if unused > 0 {
		o.Warnings = append(o.Warnings, Warning{"empty-state", fmt.Sprintf(
			"%d changes left a state to which the curves give no share then, all who were under observation in it earlier having left it: they count for nothing.", unused)})
	}
	return o, nil
}

// occupancySlack is how near to 0 or 1 a probability counts as such.
const occupancySlack = 1e-12

// finish marks where the curves end, and what is doubtful of them.
func (o *StateOccupancies) finish(lost lostState, opts StateOptions, small int) {
	o.Until, o.Held = lost.at, lost.held
	if lost.state >= 0 {
		text := fmt.Sprintf("From %g on nobody is under observation in state %q, which holds %.3g then: ", lost.at, o.States[lost.state], lost.share)
		if lost.held > occupancySlack {
			text = fmt.Sprintf("From %g on more than %g is in states in which nobody is under observation, %.3g of it in %q: ", lost.at, opts.HoldUpTo, lost.share, o.States[lost.state])
		}
		switch {
		case opts.Hold:
			o.Until = math.Max(lost.at, o.source.last)
			text += "it is taken to stay there."
			o.Held = lost.everHeld
		default:
			text += "curves are not estimable after that."
		}
		if opts.Hold || len(o.Time) > 0 && o.Time[len(o.Time)-1] > lost.at {
			o.Warnings = append(o.Warnings, Warning{"state-unobserved", text})
		}
	}
	for i, at := range o.Time {
		if at <= o.Until {
			continue
		}
		for j := range o.States {
			for _, values := range [][]float64{o.Occupancy[j], o.SE[j], o.Lower[j], o.Upper[j]} {
				values[i] = math.NaN()
			}
		}
	}
	if opts.HoldUpTo > 0 && !opts.Hold && o.Held > occupancySlack {
		o.Warnings = append(o.Warnings, Warning{"state-held", fmt.Sprintf(
			"Up to %.3g is in states in which nobody is under observation any more and is taken to stay there: every share is uncertain by as much.", o.Held)})
	}
	if small > 0 {
		o.Warnings = append(o.Warnings, Warning{"small-risk-set", fmt.Sprintf(
			"%d changes happened with fewer than %d rows under observation in the state left.", small, smallRiskSet)})
	}
	if opts.Start == nil && o.source.starters < smallRiskSet {
		o.Warnings = append(o.Warnings, Warning{"small-start", fmt.Sprintf(
			"The states at %g are those of %d rows only.", o.From, o.source.starters)})
	}
}

func (t StateTimes) checkShape(states int, opts StateOptions) {
	n := len(t.Exit)
	if len(t.ID) != n || len(t.Entry) != n || len(t.From) != n || len(t.To) != n ||
		opts.Cluster != nil && len(opts.Cluster) != n || opts.Weights != nil && len(opts.Weights) != n {
		panic(fmt.Sprintf("stats: %d exits, %d entries, %d ids, %d states from, %d to, %d clusters, %d weights",
			n, len(t.Entry), len(t.ID), len(t.From), len(t.To), len(opts.Cluster), len(opts.Weights)))
	}
	if opts.Absorbing != nil && len(opts.Absorbing) != states {
		panic(fmt.Sprintf("stats: %d entries of absorbing states, expected %d", len(opts.Absorbing), states))
	}
	if !(opts.HoldUpTo >= 0 && opts.HoldUpTo < 1) {
		panic(fmt.Sprintf("stats: a share of %v held, expected one from 0 to below 1", opts.HoldUpTo))
	}
	for i, from := range t.From {
		if to := t.To[i]; from < 0 || from >= states || to != StayedIn && (to < 0 || to >= states) || from == to {
			panic(fmt.Sprintf("stats: row %d goes from state %d to %d, expected two of 0 to %d, or %d for none", i+1, from, to, states-1, StayedIn))
		}
	}
	for i, from := range t.From {
		if opts.Absorbing != nil && opts.Absorbing[from] && t.To[i] != StayedIn {
			panic(fmt.Sprintf("stats: row %d leaves state %d, which is absorbing", i+1, from))
		}
	}
	if opts.Start != nil {
		sum := 0.0
		for _, p := range opts.Start {
			if !(p >= 0) {
				sum = math.NaN()
			}
			sum += p
		}
		if len(opts.Start) != states || !(math.Abs(sum-1) < 1e-9) {
			panic(fmt.Sprintf("stats: start %v, expected %d shares that sum to 1", opts.Start, states))
		}
	}
	if opts.From != nil && !finite(*opts.From) {
		panic(fmt.Sprintf("stats: curves from %v, expected a finite time", *opts.From))
	}
}

// check refuses rows that no occupancy can be made of.
func (t StateTimes) check() error {
	times := Times{t.Entry, t.Exit, make([]bool, len(t.Exit))}
	if _, _, err := checkChildren("rows", times, t.ID, make([]bool, len(t.Exit))); err != nil {
		return err
	}
	previous := map[int]int{}
	var jumps []int
	for _, i := range times.byEntry() {
		if k, ok := previous[t.ID[i]]; ok && t.Exit[k] == t.Entry[i] {
			state := t.To[k]
			if state == StayedIn {
				state = t.From[k]
			}
			if state != t.From[i] {
				jumps = append(jumps, i)
			}
		}
		previous[t.ID[i]] = i
	}
	if jumps != nil {
		return fmt.Errorf("rows: %w: %d of %d rows (%s)", ErrStateJump, len(jumps), len(t.ID), firstRows(jumps))
	}
	return nil
}
