package run

import (
	"cmp"
	"math"
	"slices"

	"heelcohort/stats"
)

// place puts one child's person-time and events into their cells.
func (s *incidence) place(one *child, age float64, p *persontime, a *account) {
	if !s.first || len(one.events) == 0 {
		for _, e := range one.events {
			s.countEvent(one, e, age, p, a)
		}
		s.cut(one.pieces, age, p, a)
		return
	}
	slices.SortStableFunc(one.events, func(x, y event) int { return cmp.Compare(x.day, y.day) })
	entry := math.Inf(1)
	for _, q := range one.pieces {
		entry = min(entry, q.from)
	}
	day := one.events[0].day
	if day < entry {
		a.prevalent++
		a.prevalentEvents += len(one.events)
		a.prevalentTime.Add(a.total(one.pieces))
		return
	}
	s.countEvent(one, s.firstEvent(one, a), age, p, a)
	var before, after []piece
	for _, q := range one.pieces {
		iv := q.interval()
		if kept, ok := iv.Clip(math.Inf(-1), day); ok {
			before = append(before, q.within(kept))
		}
		if rest, ok := iv.Clip(day, math.Inf(1)); ok {
			after = append(after, q.within(rest))
		}
	}
	a.afterTime.Add(a.total(after))
	s.cut(before, age, p, a)
}

// firstEvent is the first of a child's events in order of their days. Of
// several on that day it is the first row that can be counted.
func (s *incidence) firstEvent(one *child, a *account) event {
	same := one.events
	for i, e := range one.events {
		if e.day > one.events[0].day {
			same = one.events[:i]
			break
		}
	}
	a.repeated += len(one.events) - len(same)
	a.shared += len(same) - 1
	first := same[max(0, slices.IndexFunc(same, one.covers))]
	for _, e := range same {
		if !slices.Equal(e.at, first.at) {
			a.differ++
			break
		}
	}
	return first
}

// interval is the piece as an interval.
func (q piece) interval() stats.Interval {
	return stats.Interval{From: q.from, To: q.to, Amount: q.amount}
}

// within is the part of the piece that an interval is.
func (q piece) within(iv stats.Interval) piece {
	q.from, q.to, q.amount = iv.From, iv.To, iv.Amount
	return q
}

// cut adds a child's pieces, split at birthdays where by has current age.
func (s *incidence) cut(pieces []piece, age float64, p *persontime, a *account) {
	var other []piece
	for _, q := range pieces {
		if s.age == nil {
			q.amount = q.interval().Total()
			p.pieces = append(p.pieces, q)
			continue
		}
		for _, part := range stats.SplitByAge(q.interval(), age, s.bands) {
			one := piece{child: q.child, at: q.at, from: part.From, to: part.To, amount: part.Amount}
			if part.Band == stats.BelowBands || part.Band == len(s.bands)-1 {
				other = append(other, one)
				continue
			}
			one.at = s.withBand(q.at, part.Band)
			p.pieces = append(p.pieces, one)
		}
	}
	a.otherAgeTime.Add(a.total(other))
}

// withBand fills in the band of current age.
func (s *incidence) withBand(at []int, band int) []int {
	out := slices.Clone(at)
	for g := range s.by {
		if s.by[g].current {
			out[g] = band
		}
	}
	return out
}

// covers reports whether the child has an interval of the event's group that
// day: an interval holds its first day and, as the last day of observation, the
// day on which it ends.
func (one *child) covers(e event) bool {
	return e.at != nil && slices.ContainsFunc(one.pieces, func(q piece) bool {
		return slices.Equal(q.at, e.at) && q.from <= e.day && e.day <= q.to
	})
}

// countEvent counts an event if the child has person-time of its group that
// day.
func (s *incidence) countEvent(one *child, e event, age float64, p *persontime, a *account) {
	switch {
	case e.at == nil:
		a.ungrouped++
		return
	case !one.covers(e):
		a.outside++
		return
	}
	if s.age != nil {
		band := stats.BelowBands
		for i, bound := range s.bands {
			if e.day >= stats.AgeDay(bound, age) {
				band = i
			}
		}
		if band == stats.BelowBands || band == len(s.bands)-1 {
			a.otherAge++
			return
		}
		e.at = s.withBand(e.at, band)
	}
	p.events = append(p.events, e)
}
