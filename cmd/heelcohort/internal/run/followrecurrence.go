package run

import (
	"context"
	"fmt"
	"math"
	"slices"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/codebook/value"
	"heelcohort/stats"
)

// A followedChild is one child's observation, on the clock of the analysis.
type followedChild struct {
	row    int // of the participants
	group  int // level of by; 0 without
	days   float64
	exit   float64
	ended  bool             // for good, at exit
	under  []stats.Interval // under observation
	rows   []countRow
	free   []countRow // rows without the days of a spell and of the gap after it
	spells []placedSpell

	firstTime, laterTime float64 // at risk of a first spell, and of a further one
}

// A countRow is a stretch at risk of the mean cumulative count: after entry, up
// to and including exit.
type countRow struct {
	entry, exit  float64
	event, ended bool
	opened       bool // entry stands just before a first day
}

// A placedSpell is a spell of the child, its days on the clock of the analysis.
type placedSpell struct {
	bout
	counted bool    // it began on a day under observation
	free    float64 // days since the end of the spell before; NaN for the first
}

// counted are the spells that began under observation.
func (f *followedChild) counted() []placedSpell {
	var list []placedSpell
	for _, s := range f.spells {
		if s.counted {
			list = append(list, s)
		}
	}
	return list
}

// recurrenceAccount counts what did not enter, beside what account has.
type recurrenceAccount struct {
	nowhere, ungrouped, ungroupedOnsets                             int
	unstarted, unstartedOnsets, neverAfter, undecidedEnds, reversed int
	joined, unknown, before, outside, earlierKnown, unfinished      int
	beforeTime, unfinishedTime, inSpellTime, ungroupedTime          stats.Sum
}

// follow reads observation and onsets, child by child.
func (s *recurrence) follow(ctx context.Context, c *cohort.Cohort, b *builder) ([]*followedChild, error) {
	children := make([]child, c.Data.Table(s.m.participants).Len())
	a, own := &account{days: !s.amount}, &recurrenceAccount{}
	if err := s.m.intervals(c, b, children, a); err != nil {
		return nil, err
	}
	if err := s.m.occurrences(c, children, a); err != nil {
		return nil, err
	}
	end, err := values(c, s.end)
	if err != nil {
		return nil, err
	}
	over, err := values(c, s.over)
	if err != nil {
		return nil, err
	}
	start, err := values(c, s.start)
	if err != nil {
		return nil, err
	}
	ends, err := values(c, s.ends)
	if err != nil {
		return nil, err
	}
	group, err := values(c, s.group)
	if err != nil {
		return nil, err
	}
	if s.by != nil {
		b.name(*s.by)
	}
	var followed []*followedChild
	for i := range children {
		if i%1000 == 0 {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
		}
		one := &children[i]
		if len(one.rows) == 0 {
			own.nowhere += len(one.events)
			continue
		}
		f := &followedChild{row: i}
		if group != nil {
			level, known := valueLevel(group[i])
			if !known {
				own.ungrouped++
				own.ungroupedOnsets += len(one.events)
				own.ungroupedTime.Add(timeOf(one.rows, a.days))
				continue
			}
			f.group = slices.Index(s.by.Levels(), level)
		}
		zero := 0.0
		if start != nil {
			if start[i].Missing {
				own.unstarted++
				own.unstartedOnsets += len(one.events)
				continue
			}
			zero = start[i].Number
		}
		rows := make([]ill, len(one.events))
		for k, e := range one.events {
			rows[k] = s.ill(e, end, over, zero, own)
		}
		ended := false
		if ends != nil {
			if ends[i].Missing {
				own.undecidedEnds++
			}
			ended = !ends[i].Missing && ends[i].Bool
		}
		if s.place(f, one.rows, rows, zero, ended, own) {
			followed = append(followed, f)
		}
	}
	s.report(b, a, own)
	return followed, nil
}

// ill is the row of an onset on the clock of the analysis.
func (s *recurrence) ill(e event, end, over []value.Value, zero float64, own *recurrenceAccount) ill {
	r := ill{row: e.row, from: e.day - zero, to: e.day - zero, over: true}
	if end == nil {
		return r
	}
	last := end[e.row]
	switch {
	case last.Missing:
		r.over = false
	case last.Number < e.day:
		own.reversed++
		r.over = false
	default:
		r.to = last.Number - zero
		r.over = over == nil || !over[e.row].Missing && over[e.row].Bool
	}
	return r
}

// place makes one child's rows and time at risk; false where nothing of it is
// left on the clock.
func (s *recurrence) place(f *followedChild, pieces []piece, rows []ill, zero float64, ended bool, own *recurrenceAccount) bool {
	spells, unknown := spellsOf(rows, s.gap, false)
	last := math.Inf(1) // the day after which it is not known whether a spell goes on
	if n := len(spells); n > 0 && !spells[n-1].over {
		own.unfinished++
		if !ended { // who ended for good did so within the spell, and has no other
			last = spells[n-1].to
		}
	}
	own.unknown += unknown
	own.joined += len(rows) - len(spells) - unknown
	var kept []piece
	for _, q := range pieces {
		q.from, q.to = q.from-zero, q.to-zero
		iv := q.interval()
		if early, ok := iv.Clip(math.Inf(-1), 0); ok {
			own.beforeTime.Add(early.Total())
		}
		if iv, ok := iv.Clip(0, math.Inf(1)); ok {
			if late, ok := iv.Clip(last, math.Inf(1)); ok {
				own.unfinishedTime.Add(late.Total())
			}
			if iv, ok := iv.Clip(math.Inf(-1), last); ok {
				kept = append(kept, q.within(iv))
			}
		}
	}
	under := union(kept)
	if len(under) == 0 {
		own.neverAfter++
		own.outside += len(spells)
		return false
	}
	for _, iv := range under {
		f.days += iv.Days()
	}
	f.exit = 0
	entry := math.Inf(1)
	for _, q := range kept {
		f.exit, entry = math.Max(f.exit, q.to), math.Min(entry, q.from)
	}
	for i, x := range spells {
		p := placedSpell{bout: x, free: nan}
		if i > 0 {
			p.free = x.from - spells[i-1].to
		}
		p.counted = slices.ContainsFunc(kept, func(q piece) bool { return q.from <= x.from && x.from <= q.to })
		switch {
		case p.counted:
		case x.from < entry:
			own.before++
		default:
			own.outside++
		}
		f.spells = append(f.spells, p)
	}
	if len(spells) > 0 && spells[0].from < entry {
		own.earlierKnown++
	}
	s.timeAtRisk(f, kept, own)
	f.under, f.ended = under, ended
	f.free = f.countRows(s.freeStretches(f, under))
	f.rows = f.free
	if !s.leftOut {
		f.rows = f.countRows(under)
	}
	return true
}

// holes are the days on which no new spell can begin: those of a spell and of
// the gap after it.
func (s *recurrence) holes(f *followedChild) []stats.Interval {
	var holes []stats.Interval
	for _, x := range f.spells {
		to := x.to + s.gap
		if !x.over {
			to = math.MaxFloat64
		}
		holes = append(holes, stats.Interval{From: x.from, To: to, Amount: nan})
	}
	return holes
}

// timeAtRisk adds up the person-time before the first spell and after it.
func (s *recurrence) timeAtRisk(f *followedChild, kept []piece, own *recurrenceAccount) {
	first := math.Inf(1)
	if len(f.spells) > 0 {
		first = f.spells[0].from
	}
	holes := s.holes(f)
	var before, after []piece
	for _, q := range kept {
		for _, iv := range q.interval().Without(holes) {
			// A spell of no length leaves no hole, but ends the time of the first.
			if part, ok := iv.Clip(math.Inf(-1), first); ok {
				before = append(before, q.within(part))
			}
			if part, ok := iv.Clip(first, math.Inf(1)); ok {
				after = append(after, q.within(part))
			}
		}
	}
	f.firstTime, f.laterTime = timeOf(before, !s.amount), timeOf(after, !s.amount)
	own.inSpellTime.Add(math.Max(0, timeOf(kept, !s.amount)-f.firstTime-f.laterTime))
}

// countRows cuts stretches at the counted spells. Observation has its first and
// its last day; a row is open at its entry, so that one begins just before its
// first day unless the row before ended there.
func (f *followedChild) countRows(stretches []stats.Interval) []countRow {
	var rows []countRow
	counted := f.counted()
	at := math.Inf(-1) // the end of the last row
	add := func(from, to float64, event bool) {
		opened := from > at
		if opened {
			from = math.Nextafter(from, math.Inf(-1))
		}
		rows = append(rows, countRow{entry: from, exit: to, event: event, opened: opened})
		at = to
	}
	next := 0
	for _, iv := range stretches {
		for next < len(counted) && counted[next].from < iv.From {
			add(counted[next].from, counted[next].from, true)
			next++
		}
		from := iv.From
		for next < len(counted) && counted[next].from <= iv.To {
			add(from, counted[next].from, true)
			from = counted[next].from
			next++
		}
		if from < iv.To || iv.Days() == 0 && at < iv.To {
			add(from, iv.To, false)
		}
	}
	for ; next < len(counted); next++ {
		add(counted[next].from, counted[next].from, true)
	}
	if n := len(rows); n > 0 && f.ended && rows[n-1].exit == f.exit {
		rows[n-1].ended = true
	}
	return rows
}

// freeStretches are the days free of symptoms. One that begins on the very last
// day of observation has no length, but is that day.
func (s *recurrence) freeStretches(f *followedChild, under []stats.Interval) []stats.Interval {
	holes := s.holes(f)
	var list []stats.Interval
	for _, iv := range under {
		list = append(list, iv.Without(holes)...)
		again := false
		for _, hole := range holes {
			again = again || hole.To == iv.To && hole.From < hole.To
		}
		last := stats.Interval{From: iv.To, To: iv.To, Amount: nan}
		if again && len(last.Without(holes)) > 0 {
			list = append(list, last)
		}
	}
	return list
}

// within is the part of the piece that an interval is.
func (q piece) within(iv stats.Interval) piece {
	q.from, q.to, q.amount = iv.From, iv.To, iv.Amount
	return q
}

// union is the days that at least one piece covers.
func union(pieces []piece) []stats.Interval {
	var list []stats.Interval
	for _, q := range pieces {
		list = append(list, stats.Interval{From: q.from, To: q.to, Amount: nan})
	}
	return stats.Union(list)
}

func (s *recurrence) report(b *builder, a *account, own *recurrenceAccount) {
	unit := s.m.timeUnit()
	b.removed(unit, "of intervals without a row of "+s.m.participants, a.nobodyTime.Of(a.days))
	b.removed("onsets", "no row of "+s.m.participants, float64(a.nobody))
	b.removed("onsets", "not decided whether one", float64(a.undecided))
	b.removed("onsets", "day missing", float64(a.undated))
	b.removed("onsets", "day impossible", float64(a.impossible))
	b.removed("onsets", "of children without a day under observation", float64(own.nowhere))
	if lost := a.nobody + a.undecided + a.undated + a.impossible; lost > 0 {
		b.warn(fmt.Sprintf("%d onsets could not be placed; the counts are too low by them.", lost))
	}
	if s.by != nil {
		b.removed("children", s.by.Label+" missing", float64(own.ungrouped))
		b.removed("onsets", "of children whose "+s.by.Label+" is missing", float64(own.ungroupedOnsets))
		b.removed(unit, "of children whose "+s.by.Label+" is missing", own.ungroupedTime.Total())
	}
	b.removed("children", "the start missing", float64(own.unstarted))
	b.removed("onsets", "of children whose start is missing", float64(own.unstartedOnsets))
	b.removed("children", "no day under observation after the start", float64(own.neverAfter))
	b.removed(unit, "before the start", own.beforeTime.Total())
	b.removed(unit, "after a spell that was not seen to be over", own.unfinishedTime.Total())
	b.removed(unit, "of a spell or within the gap after it: not in the rates", own.inSpellTime.Total())
	b.removed("onsets", "within a spell or the gap after it: the same spell", float64(own.joined))
	b.removed("onsets", "after a spell that was not seen to be over: not known whether a new one", float64(own.unknown))
	b.removed("spells", "before observation began: the child's next is a recurrence", float64(own.before))
	b.removed("spells", "on a day not under observation", float64(own.outside))
	b.removed("exits", "not decided whether for good: censored", float64(own.undecidedEnds))
	if own.unfinished > 0 {
		text := fmt.Sprintf("%d spells were not seen to be over; observation of their children ends there", own.unfinished)
		if s.ends != nil {
			text += ", but for those who ended for good, whose spell is taken to last until then"
		}
		b.warn(text + ".")
	}
	if own.unknown > 0 {
		b.warn(fmt.Sprintf("%d onsets come after a spell that was not seen to be over and are not counted: the counts are too low by those that were new spells.", own.unknown))
	}
	if own.reversed > 0 {
		b.warn(fmt.Sprintf("%d spells end before their onset: their end is taken as not known. Look at their days.", own.reversed))
	}
	if own.outside > 0 {
		b.warn(fmt.Sprintf("%d spells begin on days not under observation and are not counted.", own.outside))
	}
}
