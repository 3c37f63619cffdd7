package run

import (
	"fmt"
	"math"
	"slices"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/stats"
)

// States that spells lead through. The first is there on the clock of the
// analysis alone, the last where the plan has exits for good.
const (
	notYet = iota
	symptomatic
	backInSport
	relapsed
	gaveUp
)

var stateWords = []string{"before the first spell", "symptomatic", "back", "relapsed", "gave up"}

// A stateChange is a day from which a child is in a state.
type stateChange struct {
	day   float64
	state int
}

// path is the states of a child on the clock of the analysis, and the spells of
// no length, which have no time in a state.
func (s *recurrence) path(f *followedChild) (changes []stateChange, noLength int) {
	at := func(day float64, state int) {
		if n := len(changes); n > 0 && changes[n-1].day == day {
			changes[n-1].state = state // the later of one day
			return
		}
		changes = append(changes, stateChange{day, state})
	}
	at(math.Inf(-1), notYet)
	for i, x := range f.spells {
		ill := symptomatic
		if i > 0 {
			ill = relapsed
		}
		if x.over && x.to == x.from {
			noLength++
			at(x.from, backInSport)
			continue
		}
		at(x.from, ill)
		if x.over {
			at(x.to, backInSport)
		}
	}
	if f.ended {
		changes = slices.DeleteFunc(changes, func(c stateChange) bool { return c.day >= f.exit })
		at(f.exit, gaveUp)
	}
	return changes, noLength
}

// stateRows cuts the days under observation at the changes of state, days being
// counted from zero, and adds them. A change on the first day of an interval is
// the state it begins in. It returns false where no day is left.
func (f *followedChild) stateRows(t *stats.StateTimes, changes []stateChange, zero float64) bool {
	before := len(t.ID)
	add := func(from, to float64, state, into int) {
		t.ID = append(t.ID, f.row)
		t.Entry, t.Exit = append(t.Entry, from-zero), append(t.Exit, to-zero)
		t.From, t.To = append(t.From, state), append(t.To, into)
	}
	for _, iv := range f.under {
		from := math.Max(iv.From, zero)
		if from >= iv.To {
			continue
		}
		state := notYet
		for _, c := range changes {
			switch {
			case c.day <= from:
				state = c.state
			case c.day <= iv.To:
				if c.state != state {
					add(from, c.day, state, c.state)
					from, state = c.day, c.state
				}
			}
		}
		if from < iv.To {
			add(from, iv.To, state, stats.StayedIn)
		}
	}
	return len(t.ID) > before
}

// A stateChild is where the rows of a child stand.
type stateChild struct {
	*followedChild
	times   stats.StateTimes
	cluster int
}

// occupy adds the shares of the states, over all and by group.
func (s *recurrence) occupy(c *cohort.Cohort, b *builder, followed []*followedChild, groups [][]result.Group) {
	k := s.states
	if k == nil {
		return
	}
	ids, known := s.clustersOf(c, k.cluster)
	var children []stateChild
	never, timeless, noLength, unclustered := 0, 0, 0, 0
	last := 0.0
	for _, f := range followed {
		zero := 0.0
		if k.onset {
			if len(f.spells) == 0 {
				never++
				continue
			}
			zero = f.spells[0].from
		}
		if !known[f.row] {
			unclustered++
			continue
		}
		one := stateChild{followedChild: f, cluster: ids[f.row]}
		changes, without := s.path(f)
		if !f.stateRows(&one.times, changes, zero) {
			timeless++
			continue
		}
		noLength += without
		children = append(children, one)
		last = math.Max(last, slices.Max(one.times.Exit))
	}
	b.removed("children", "without a spell: no place in the states", float64(never))
	if k.cluster != nil {
		b.removed("children", k.cluster.Label+" missing: no place in the states", float64(unclustered))
	}
	b.removed("children", "no day under observation on the clock of the states", float64(timeless))
	b.removed("spells", "over on the day of their onset: no time in a state", float64(noLength))
	if h := k.plan.Horizon; h != nil {
		last = math.Min(last, *h)
	}
	every, ticks := stateStep(last), roundTimes([]float64{last})
	if k.plan.Every != nil {
		every = *k.plan.Every
	}
	k.settings(b, s, every, ticks)
	for g, group := range groups {
		var own []stateChild
		for _, one := range children {
			if g == 0 || one.group == g-1 {
				own = append(own, one)
			}
		}
		k.curves(b, s, group, own, last, every, ticks)
	}
}

// stateStep is the least of 1, 2, 5, 10, … days that reads a curve at about 100
// days at most.
func stateStep(last float64) float64 {
	for unit := 1.0; ; unit *= 10 {
		for _, m := range []float64{1, 2, 5} {
			if unit*m*100 >= last {
				return unit * m
			}
		}
	}
}

// list are the states of the analysis, as package stats numbers them in it, and
// those that cannot be left.
func (k *states) list(s *recurrence) (list []int, names []string, absorbing []bool) {
	for state, name := range stateWords {
		if state == notYet && k.onset || state == gaveUp && s.ends == nil {
			continue
		}
		list, names, absorbing = append(list, state), append(names, name), append(absorbing, state == gaveUp)
	}
	return list, names, absorbing
}

// curves adds the rows of a group.
func (k *states) curves(b *builder, s *recurrence, g []result.Group, children []stateChild, last, every float64, ticks []float64) {
	list, names, absorbing := k.list(s)
	var t stats.StateTimes
	var cluster []int
	place := func(state int) int { return slices.Index(list, state) }
	for _, one := range children {
		t.ID, t.Entry, t.Exit = append(t.ID, one.times.ID...), append(t.Entry, one.times.Entry...), append(t.Exit, one.times.Exit...)
		for i, from := range one.times.From {
			into := one.times.To[i]
			if into != stats.StayedIn {
				into = place(into)
			}
			t.From, t.To, cluster = append(t.From, place(from)), append(t.To, into), append(cluster, one.cluster)
		}
	}
	size := b.row("states size", "children", g...)
	b.add(number(size, float64(len(children)), ""))
	zero := 0.0
	o, err := stats.StateOccupancy(t, names, stats.StateOptions{
		Level: b.level, Cluster: cluster, From: &zero, Absorbing: absorbing, HoldUpTo: k.hold,
	})
	if err != nil {
		r := b.row("states", "state occupancy", g...)
		r.N, r.Reason = result.Number(len(children)), err.Error()
		b.add(r)
		return
	}
	for _, w := range o.Warnings {
		if w.Code == "state-unobserved" && o.Until >= slices.Max(append([]float64{last}, k.plan.At...)) {
			continue // after all that is read off
		}
		b.warn(b.groupName(g) + "states: " + w.Text)
	}
	unknown := fmt.Sprintf("not known after day %s: nobody was under observation any more in states with more of the children than unobserved lets be", shortNumber(o.Until))
	read := func(part string, state int, at float64) {
		r := b.row(part, "state occupancy", g...)
		r.Term, r.At = names[state], result.Number(at)
		n, came := inState(t, state, at)
		r.N, r.Events = result.Number(n), result.Number(came)
		p := o.At(state, at)
		e := stats.Estimate{Value: p.Occupancy, Lower: p.Lower, Upper: p.Upper, SE: p.SE, Level: o.Level, P: nan, Method: o.Method}
		r = b.estimate(r, e, nil)
		switch {
		case math.IsNaN(p.Occupancy):
			r.Reason = unknown
		case math.IsNaN(p.Lower):
			r.Reason = "a share of 0 or 1 has no limits"
		}
		b.add(r)
	}
	for state := range names {
		for i := 0.0; i*every <= math.Min(last, o.Until); i++ {
			read("states", state, i*every)
		}
		for _, at := range k.plan.At {
			read("states at", state, at)
		}
	}
	for from, row := range o.Changes {
		for into, n := range row {
			if n > 0 {
				r := b.row("states changes", "count", g...)
				r.Term = names[from] + " to " + names[into]
				b.add(number(r, float64(n), ""))
			}
		}
	}
	for _, at := range ticks {
		n := 0
		for state := range names {
			in, _ := inState(t, state, at)
			n += in
		}
		r := b.row("states risk-table", "under observation", g...)
		r.At = result.Number(at)
		b.add(number(r, float64(n), ""))
	}
	if h := k.plan.Horizon; h != nil {
		for state, e := range o.TimeInStates(*h) {
			r := b.row("states mean", "mean days in the state", g...)
			r.Term, r.At, r.N, r.Unit = names[state], result.Number(*h), result.Number(len(children)), "days"
			if r = b.estimate(r, e, nil); math.IsNaN(e.Value) {
				r.Reason = unknown
			}
			r.Warnings = []string{} // the reason has them
			b.add(r)
		}
	}
}

// inState is the number under observation in a state just before a day, on day 0
// from then on, and the changes into it up to and including the day.
func inState(t stats.StateTimes, state int, at float64) (n, came int) {
	for i := range t.ID {
		if t.From[i] == state && (t.Entry[i] < at && at <= t.Exit[i] || at == 0 && t.Entry[i] <= 0 && t.Exit[i] > 0) {
			n++
		}
		if t.To[i] == state && t.Exit[i] <= at {
			came++
		}
	}
	return n, came
}

// settings notes the choices of the states, and says what they are.
func (k *states) settings(b *builder, s *recurrence, every float64, ticks []float64) {
	clock := "onset: the first known onset of each child"
	if !k.onset {
		clock = "start: the clock of the analysis"
	}
	b.set("clock of the states", clock, k.plan.Clock != "")
	b.set("share that may be in states without anybody under observation", shortNumber(k.hold), k.plan.Unobserved != nil)
	b.set("states are read off every", shortNumber(every)+" days", k.plan.Every != nil)
	b.set("ticks of the states", times(ticks), false)
	if h := k.plan.Horizon; h != nil {
		b.set("horizon of the states", shortNumber(*h), true)
	}
	b.set("limits of the states", stats.LimitsLogLog, false)
	who := "children"
	if k.cluster != nil {
		b.name(*k.cluster)
		b.set("cluster of the states", k.cluster.Name, true)
		who = k.cluster.Label
	} else {
		b.set("cluster of the states", "the row of "+s.m.participants, false)
	}
	b.Methods += " The share of children in each state (symptomatic in the first spell, back, relapsed in a later one"
	if s.ends != nil {
		b.Methods += ", having given up"
	}
	if k.onset {
		b.Methods += ") runs from the first known onset; children whose onset was before observation began enter late"
	} else {
		b.Methods += ", before the first spell) runs on the clock of the analysis"
	}
	b.Methods += ". It is the estimate of Aalen and Johansen, with a variance robust to dependence within " + who + " and log-log limits; onsets of a child that belong to one spell, on either heel, are one stay in a state."
	b.cite("Aalen 1978", "Datta 2001", "Therneau 2000")
	if k.hold > 0 {
		b.Methods += fmt.Sprintf(" Where nobody is under observation in a state any more nobody is taken to leave it, while such states hold no more than %s of the children.", shortNumber(k.hold))
	} else {
		b.Methods += " Where nobody is under observation in a state any more that children are in, the curves end."
	}
	if k.plan.Horizon != nil {
		b.Methods += " Mean days in a state are the area under its curve."
	}
	if k.onset {
		b.warn("Shares since the first onset take children whose onset was before observation began to be as those seen from their onset on: it must not depend on how a child fared that it came under observation.")
	}
}
