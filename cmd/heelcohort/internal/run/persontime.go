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

// persontime holds events and person-time by the levels of by. A piece or an
// event carries its level of each grouping as an index.
type persontime struct {
	calendar bool // person-time is days, which overlapping intervals share
	pieces   []piece
	events   []event
}

// A piece is person-time of one child within one cell.
type piece struct {
	child  int
	at     []int
	from   float64
	to     float64
	amount float64
	row    int // of the table, for tables of counts
}

// An event is a number of events of one child in one cell.
type event struct {
	child int
	at    []int
	n     int
	day   float64
	row   int
}

// counts reads a table of counts: each row has its events and person-time.
func (s *incidence) counts(c *cohort.Cohort, b *builder) (*persontime, error) {
	t := c.Data.Table(s.atRisk)
	count, err := c.Values(s.count)
	if err != nil {
		return nil, err
	}
	amount, err := c.Values(s.amount)
	if err != nil {
		return nil, err
	}
	levels, err := s.levels(c, func(g grouping) *cohort.Formula { return g.atRisk }, t.Len())
	if err != nil {
		return nil, err
	}
	p := &persontime{}
	missing, ungrouped, empty, lost, odd := 0, 0, 0, 0, 0
	for i := range t.Len() {
		switch {
		case count[i].Missing || amount[i].Missing:
			missing++
		case levels[i] == nil:
			ungrouped++
		case count[i].Number < 0 || count[i].Number != math.Trunc(count[i].Number) || amount[i].Number < 0:
			odd++
		case amount[i].Number == 0:
			empty++
			lost += int(count[i].Number)
		default:
			p.pieces = append(p.pieces, piece{child: i, at: levels[i], amount: amount[i].Number, row: i})
			p.events = append(p.events, event{child: i, at: levels[i], n: int(count[i].Number), row: i})
		}
	}
	b.removed("rows", "events or person-time missing", float64(missing))
	b.removed("rows", "a grouping variable missing", float64(ungrouped))
	b.removed("rows", "events or person-time impossible", float64(odd))
	b.removed("rows", "no person-time", float64(empty))
	b.removed("events", "in rows without person-time", float64(lost))
	return p, nil
}

// levels gives each row's levels as indexes, nil where one is missing. Current
// age is filled in later and is -1 here.
func (s *incidence) levels(c *cohort.Cohort, side func(grouping) *cohort.Formula, n int) ([][]int, error) {
	levels := make([][]int, n)
	for i := range levels {
		levels[i] = make([]int, len(s.by))
	}
	for g, by := range s.by {
		f := side(by)
		if f == nil {
			for i := range levels {
				if levels[i] != nil {
					levels[i][g] = -1
				}
			}
			continue
		}
		values, err := c.Values(f)
		if err != nil {
			return nil, err
		}
		for i, v := range values {
			if levels[i] == nil {
				continue
			}
			text, ok := valueLevel(v)
			if !ok {
				levels[i] = nil
				continue
			}
			levels[i][g] = slices.Index(by.variable.Levels(), text)
		}
	}
	return levels, nil
}

// children gives each row's child as an index of the participants, -1 where it
// has none.
func (s *incidence) children(c *cohort.Cohort, table string) ([]int, error) {
	t := c.Data.Table(table)
	if table == s.participants {
		return everyRow(t.Len()), nil
	}
	return c.Data.Parents(t, s.participants)
}

// A child holds one child's intervals and events while they are sorted out.
type child struct {
	pieces []piece
	events []event
}

// follow reads intervals at risk and events with days, child by child.
func (s *incidence) follow(ctx context.Context, c *cohort.Cohort, b *builder) (*persontime, error) {
	children := make([]child, c.Data.Table(s.participants).Len())
	if err := s.intervals(c, b, children); err != nil {
		return nil, err
	}
	if err := s.occurrences(c, b, children); err != nil {
		return nil, err
	}
	var ages []value.Value
	if s.age != nil {
		var err error
		if ages, err = c.Values(s.age); err != nil {
			return nil, err
		}
	}
	p := &persontime{calendar: s.amount == nil}
	a := &account{}
	for i := range children {
		if i%1000 == 0 {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
		}
		one := &children[i]
		if len(one.pieces) == 0 {
			a.nowhere += len(one.events)
			continue
		}
		age := math.NaN()
		if ages != nil {
			if ages[i].Missing {
				a.ageless++
				continue
			}
			age = ages[i].Number
		}
		s.place(one, age, p, a)
	}
	s.report(b, a)
	return p, nil
}

// An account counts what did not enter.
type account struct {
	nowhere, ageless, prevalent, repeated, outside, otherAge int
	prevalentTime, afterTime, otherAgeTime                   float64
	shared, differ                                           int
}

func (s *incidence) report(b *builder, a *account) {
	unit := s.unit
	if unit == "" {
		unit = "person-time"
	}
	b.removed("children", "age on day 0 missing", float64(a.ageless))
	b.removed("children", "an event before the first interval: not at risk of a first one", float64(a.prevalent))
	b.removed(unit, "of children with an event before the first interval", a.prevalentTime)
	b.removed(unit, "after the first event", a.afterTime)
	b.removed(unit, "at ages outside the bands", a.otherAgeTime)
	b.removed("events", "after the child's first", float64(a.repeated))
	b.removed("events", "on the day of the child's first: counted once", float64(a.shared))
	b.removed("events", "of children without an interval", float64(a.nowhere))
	b.removed("events", "on a day without person-time of the same group", float64(a.outside))
	b.removed("events", "at ages outside the bands", float64(a.otherAge))
	if a.outside+a.nowhere > 0 {
		b.warn(fmt.Sprintf("%d events fall on days without person-time of their group and are not counted.", a.outside+a.nowhere))
	}
	if a.differ > 0 {
		b.warn(fmt.Sprintf("%d children have first events of different groups on one day; the first row's group is taken.", a.differ))
	}
}

func (s *incidence) intervals(c *cohort.Cohort, b *builder, children []child) error {
	t := c.Data.Table(s.atRisk)
	owner, err := s.children(c, s.atRisk)
	if err != nil {
		return err
	}
	var amounts []value.Value
	if s.amount != nil {
		if amounts, err = c.Values(s.amount); err != nil {
			return err
		}
	}
	from, err := c.Values(s.from)
	if err != nil {
		return err
	}
	to, err := c.Values(s.to)
	if err != nil {
		return err
	}
	levels, err := s.levels(c, func(g grouping) *cohort.Formula { return g.atRisk }, t.Len())
	if err != nil {
		return err
	}
	nobody, missing, ungrouped, reversed, negative := 0, 0, 0, 0, 0
	for i := range t.Len() {
		amount := math.NaN()
		if amounts != nil {
			amount = amounts[i].Number
		}
		switch {
		case owner[i] < 0:
			nobody++
		case from[i].Missing || to[i].Missing || amounts != nil && amounts[i].Missing:
			missing++
		case levels[i] == nil:
			ungrouped++
		case to[i].Number < from[i].Number:
			reversed++
		case amount < 0:
			negative++
		default:
			one := &children[owner[i]]
			one.pieces = append(one.pieces, piece{child: owner[i], at: levels[i], from: from[i].Number, to: to[i].Number, amount: amount})
		}
	}
	b.removed("intervals", "no row of "+s.participants, float64(nobody))
	b.removed("intervals", "days or amount missing", float64(missing))
	b.removed("intervals", "a grouping variable missing", float64(ungrouped))
	b.removed("intervals", "end before begin", float64(reversed))
	b.removed("intervals", "negative amount", float64(negative))
	return nil
}

func (s *incidence) occurrences(c *cohort.Cohort, b *builder, children []child) error {
	t := c.Data.Table(s.events)
	owner, err := s.children(c, s.events)
	if err != nil {
		return err
	}
	var when []value.Value
	if s.when != nil {
		if when, err = c.Values(s.when); err != nil {
			return err
		}
	}
	day, err := c.Values(s.day)
	if err != nil {
		return err
	}
	levels, err := s.levels(c, func(g grouping) *cohort.Formula { return g.events }, t.Len())
	if err != nil {
		return err
	}
	nobody, undecided, undated, ungrouped := 0, 0, 0, 0
	for i := range t.Len() {
		if when != nil && !when[i].Missing && !when[i].Bool {
			continue
		}
		switch {
		case owner[i] < 0:
			nobody++
		case when != nil && when[i].Missing:
			undecided++
		case day[i].Missing:
			undated++
		default:
			if levels[i] == nil {
				ungrouped++ // it still ends the time at risk of a first event
			}
			one := &children[owner[i]]
			one.events = append(one.events, event{child: owner[i], at: levels[i], n: 1, day: day[i].Number})
		}
	}
	b.removed("events", "no row of "+s.participants, float64(nobody))
	b.removed("events", "not decided whether one", float64(undecided))
	b.removed("events", "day missing", float64(undated))
	b.removed("events", "a grouping variable missing", float64(ungrouped))
	if lost := undecided + undated + ungrouped; lost > 0 {
		b.warn(fmt.Sprintf("%d events could not be placed; the rates are too low by them.", lost))
	}
	return nil
}

// place puts one child's person-time and events into their cells.
func (s *incidence) place(one *child, age float64, p *persontime, a *account) {
	events := one.events
	if s.first && len(events) > 0 {
		slices.SortStableFunc(events, func(x, y event) int {
			switch {
			case x.day < y.day:
				return -1
			case x.day > y.day:
				return 1
			}
			return 0
		})
		entry := math.Inf(1)
		for _, q := range one.pieces {
			entry = min(entry, q.from)
		}
		firstDay := events[0].day
		if firstDay < entry {
			a.prevalent++
			for _, q := range one.pieces {
				a.prevalentTime += q.interval().Total()
			}
			return
		}
		for _, e := range events[1:] {
			if e.day > firstDay {
				a.repeated++
				continue
			}
			a.shared++
			if !slices.Equal(e.at, events[0].at) {
				a.differ++
			}
		}
		events = events[:1]
	}
	for _, e := range events {
		s.count1(one, e, age, p, a)
	}
	for _, q := range one.pieces {
		iv := q.interval()
		if s.first && len(events) > 0 {
			kept, ok := iv.Clip(math.Inf(-1), events[0].day)
			if !ok {
				a.afterTime += iv.Total()
				continue
			}
			a.afterTime += iv.Total() - kept.Total()
			iv = kept
		}
		s.cut(q, iv, age, p, a)
	}
}

// interval is the piece as an interval.
func (q piece) interval() stats.Interval {
	return stats.Interval{From: q.from, To: q.to, Amount: q.amount}
}

// cut splits an interval at birthdays where by has current age.
func (s *incidence) cut(q piece, iv stats.Interval, age float64, p *persontime, a *account) {
	if s.age == nil {
		q.from, q.to, q.amount = iv.From, iv.To, iv.Total()
		p.pieces = append(p.pieces, q)
		return
	}
	for _, part := range stats.SplitByAge(iv, age, s.bands) {
		if part.Band == stats.BelowBands || part.Band == len(s.bands)-1 {
			a.otherAgeTime += part.Amount
			continue
		}
		p.pieces = append(p.pieces, piece{child: q.child, at: s.withBand(q.at, part.Band), from: part.From, to: part.To, amount: part.Amount})
	}
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

// count1 counts an event if the child has person-time of its group that day: an
// interval holds its first day and, unless another one begins then, its last.
func (s *incidence) count1(one *child, e event, age float64, p *persontime, a *account) {
	if e.at == nil {
		return // accounted for where it was read
	}
	covered := slices.ContainsFunc(one.pieces, func(q piece) bool {
		return slices.Equal(q.at, e.at) && q.from <= e.day && e.day <= q.to
	})
	if !covered {
		a.outside++
		return
	}
	if s.age != nil {
		band := -1
		for i, bound := range s.bands {
			if e.day >= stats.AgeDay(bound, age) {
				band = i
			}
		}
		if band < 0 || band == len(s.bands)-1 {
			a.otherAge++
			return
		}
		e.at = s.withBand(e.at, band)
	}
	p.events = append(p.events, e)
}
