package run

import (
	"errors"
	"fmt"
	"math"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/stats"
)

// An account counts the events and adds up the person-time that did not enter,
// each under the first reason that applies, so that what was read is what the
// tables hold plus what is accounted for. Where person-time is days, a child's
// overlapping intervals share them here as in the rates.
type account struct {
	days bool // person-time is days

	// Of children, by reason, and of what has no child or no day.
	time      [reasonCount]stats.Time
	events    [reasonCount]int
	excluded  [reasonCount]int // children, or their heels
	in, at    stats.Time       // read, and at risk
	counted   int
	nobody    int
	undecided int
	undated   int

	impossible, reversed, unfinished, followed, differ int

	doubts []doubted // rows, located in their cells

	nobodyTime            stats.Time
	ageless, calendarless lack
}

// reasonCount is the number of the reasons of stats.
const reasonCount = int(stats.OutsideCalendar) + 1

// A lack is what children have who are left out because a value is missing.
type lack struct {
	children, events int
	time             stats.Time
}

// addTime adds the time of one child that did not enter.
func (a *account) addTime(t stats.RiskTime) {
	a.in.Add(t.In)
	for r := range t.Removed {
		a.time[r].Add(t.Removed[r])
		a.excluded[r] += t.Excluded[r]
	}
	a.differ += t.Differ
}

// addOnsets counts the onsets of one child.
func (a *account) addOnsets(c stats.Child, t stats.RiskTime) {
	for i, o := range t.Onsets {
		if o.Reason == stats.Counted {
			a.counted++
		}
		a.events[o.Reason]++
		e := c.Episodes[i]
		if math.IsNaN(e.End) {
			a.unfinished++
		}
		for _, before := range c.Episodes {
			if o.Reason == stats.WithinEpisode && before.Heel == e.Heel && before.Onset < e.Onset && math.IsNaN(before.End) {
				a.followed++
				break
			}
		}
	}
}

// timeUnit is the word for person-time in the account.
func (s *incidence) timeUnit() string {
	switch {
	case s.unit != "":
		return s.unit
	case s.amount == nil:
		return "days"
	}
	return "person-time"
}

// An accountLine is one reason: the person-time and the events it removes, with
// the words for each. No words: it removes none.
type accountLine struct {
	line, timeWords, eventWords string
	time                        stats.Time
	events                      int
}

// lines lists the reasons in the order in which they apply.
func (s *incidence) lines(a *account) []accountLine {
	reason := func(r stats.Reason, line, timeWords, eventWords string) accountLine {
		return accountLine{line, timeWords, eventWords, a.time[r], a.events[r]}
	}
	gap, heel := "", ""
	if s.end != nil {
		gap = fmt.Sprintf("within %v days after an episode", s.plan.Spells.Gap)
	}
	if s.heel != nil {
		heel = s.heels.Label + " missing"
	}
	shared, prevalent := "on the day of the child's first: counted once", "of children with an episode open at entry"
	if !s.first {
		shared, prevalent = "on the day of another of the same spell: counted once", "before entry, of an episode open at entry: not incident"
	}
	none := stats.Time{}
	return []accountLine{
		{"no row of " + s.participants, "of intervals without a row of " + s.participants, "no row of " + s.participants, a.nobodyTime, a.nobody},
		{"not decided whether an event", "", "not decided whether one", none, a.undecided},
		{"day of the event missing", "", "day missing", none, a.undated},
		{"day of the event impossible", "", "day impossible", none, a.impossible},
		{"end of the episode before its onset", "", "end of the episode before its onset", none, a.reversed},
		reason(stats.OutsideWindow, "outside the study window", "outside the study window", "outside the study window"),
		reason(stats.NoObservation, "no interval of the child", "", "of children without an interval"),
		reason(stats.GroupMissing, "a grouping variable missing", "of intervals with a grouping variable missing", "a grouping variable missing"),
		{ageMissing, "of children whose age on day 0 is missing", "of children whose age on day 0 is missing", a.ageless.time, a.ageless.events},
		{calendarMissing, "of children whose calendar day on day 0 is missing", "of children whose calendar day on day 0 is missing", a.calendarless.time, a.calendarless.events},
		reason(stats.HeelMissing, heel, "", heel),
		reason(stats.PrevalentAtEntry, openAtEntry, "of children with an episode open at entry", prevalent),
		reason(stats.EarlierEpisode, eventBefore, "of children with an event before the first interval", "of children with an event before the first interval"),
		reason(stats.AfterFirst, "after the first event", "after the first event", "after the child's first"),
		reason(stats.SameDay, "on the day of another event", "", shared),
		reason(stats.WithinEpisode, "within an episode", "within an episode", "within an episode: the same spell"),
		reason(stats.WithinGap, gap, gap, gap+": the same spell"),
		reason(stats.OutsideObservation, "on a day without person-time of the same group", "", "on a day without person-time of the same group"),
		reason(stats.OutsideAges, "at ages outside the bands", "at ages outside the bands", "at ages outside the bands"),
		reason(stats.OutsideCalendar, "outside the calendar's bands", "outside the calendar's bands", "outside the calendar's bands"),
	}
}

func (s *incidence) report(b *builder, a *account) {
	unit, clocks := s.timeUnit(), "children"
	if s.heel != nil {
		clocks += " by " + s.heels.Name
	}
	lines := s.lines(a)
	for _, l := range lines {
		switch l.line {
		case ageMissing:
			b.removed("children", l.line, float64(a.ageless.children))
		case calendarMissing:
			b.removed("children", l.line, float64(a.calendarless.children))
		case openAtEntry:
			b.removed(clocks, l.line+": not at risk of a first one", float64(a.excluded[stats.PrevalentAtEntry]))
		case eventBefore:
			b.removed(clocks, l.line+": not at risk of a first one", float64(a.excluded[stats.EarlierEpisode]))
		}
		b.removed(unit, l.timeWords, l.time.Of(a.days))
	}
	for _, l := range lines {
		b.removed("events", l.eventWords, float64(l.events))
	}
	if lost := a.nobody + a.undecided + a.undated + a.impossible + a.reversed + a.events[stats.GroupMissing] + a.events[stats.HeelMissing]; lost > 0 {
		b.warn(fmt.Sprintf("%d events could not be placed; the rates are too low by them.", lost))
	}
	if n := a.events[stats.OutsideObservation] + a.events[stats.NoObservation]; n > 0 {
		b.warn(fmt.Sprintf("%d events fall on days without person-time of their group and are not counted.", n))
	}
	if a.differ > 0 && s.first {
		b.warn(fmt.Sprintf("%d children have first events of different groups on one day; the group of the first row that can be counted is taken.", a.differ))
	} else if a.differ > 0 {
		b.warn(fmt.Sprintf("%d spells begin in different groups on one day; the group of the first row that can be counted is taken.", a.differ))
	}
	if s.end == nil {
		return
	}
	if a.unfinished > 0 {
		b.warn(fmt.Sprintf("%d episodes have no end and are taken to last to the end of observation.", a.unfinished))
	}
	if a.followed > 0 {
		b.warn(fmt.Sprintf("%d onsets follow an episode that has no end and are taken for the same spell; an end may be missing.", a.followed))
	}
	if n := a.events[stats.HeelMissing] + a.reversed; n > 0 {
		b.warn(fmt.Sprintf("%d episodes cannot be laid out in time; the time within them stays at risk.", n))
	}
}

// reconcile writes the account as rows: what was read, what each reason
// removes, what is at risk and counted. That they add up is checked: days to
// the last digit.
func (s *incidence) reconcile(b *builder, p *persontime) error {
	a := p.account
	sum, events := a.at, a.counted
	add := func(line string, time stats.Time, events int) {
		r := b.row("account", "person-time")
		r.Term, r.Unit = line, s.timeUnit()
		r.Estimate, r.Events = result.Number(time.Of(a.days)), result.Number(events)
		b.add(r)
	}
	lines := s.lines(a)
	for _, l := range lines {
		sum.Add(l.time)
		events += l.events
	}
	add(accountRead, a.in, events)
	for _, l := range lines {
		if l.events > 0 || l.time.Of(a.days) > 0 {
			add(l.line, l.time, l.events)
		}
	}
	add(accountCounted, a.at, a.counted)
	in := a.in.Of(false)
	if sum.Days != a.in.Days || math.Abs(sum.Of(false)-in) > 1e-9*math.Max(1, math.Abs(in)) {
		return errUnaccounted
	}
	if len(p.events) != a.counted {
		return errUnaccounted
	}
	return nil
}

// Lines of the account, the first and the last among them.
const (
	ageMissing      = "age on day 0 missing"
	calendarMissing = "calendar day on day 0 missing"
	openAtEntry     = "an episode open at entry"
	eventBefore     = "an event before the first interval"
	accountRead     = "read"
	accountCounted  = "at risk and counted"
)

var errUnaccounted = errors.New("run: person-time read is not what is at risk and what is accounted for")
