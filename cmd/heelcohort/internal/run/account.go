package run

import (
	"fmt"

	"heelcohort/stats"
)

// An account counts the events and adds up the person-time that did not enter,
// each under the first reason that applies, so that what the tables hold is
// what entered plus what is accounted for. Where person-time is days, a child's
// overlapping intervals share them here as in the rates.
type account struct {
	calendar bool

	// Events.
	nobody, undecided, undated, ungrouped, nowhere, agelessEvents, prevalentEvents int
	repeated, shared, outside, otherAge                                            int

	// Children.
	ageless, prevalent, differ int

	// Person-time.
	nobodyTime, ungroupedTime, agelessTime, prevalentTime, afterTime, otherAgeTime stats.Sum
}

// total is the person-time of one child's pieces.
func (a *account) total(pieces []piece) float64 { return timeOf(pieces, a.calendar) }

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

func (s *incidence) report(b *builder, a *account) {
	unit := s.timeUnit()
	b.removed(unit, "of intervals without a row of "+s.participants, a.nobodyTime.Total())
	b.removed(unit, "of intervals with a grouping variable missing", a.ungroupedTime.Total())
	b.removed("children", "age on day 0 missing", float64(a.ageless))
	b.removed(unit, "of children whose age on day 0 is missing", a.agelessTime.Total())
	b.removed("children", "an event before the first interval: not at risk of a first one", float64(a.prevalent))
	b.removed(unit, "of children with an event before the first interval", a.prevalentTime.Total())
	b.removed(unit, "after the first event", a.afterTime.Total())
	b.removed(unit, "at ages outside the bands", a.otherAgeTime.Total())
	b.removed("events", "no row of "+s.participants, float64(a.nobody))
	b.removed("events", "not decided whether one", float64(a.undecided))
	b.removed("events", "day missing", float64(a.undated))
	b.removed("events", "of children without an interval", float64(a.nowhere))
	b.removed("events", "of children whose age on day 0 is missing", float64(a.agelessEvents))
	b.removed("events", "of children with an event before the first interval", float64(a.prevalentEvents))
	b.removed("events", "after the child's first", float64(a.repeated))
	b.removed("events", "on the day of the child's first: counted once", float64(a.shared))
	b.removed("events", "a grouping variable missing", float64(a.ungrouped))
	b.removed("events", "on a day without person-time of the same group", float64(a.outside))
	b.removed("events", "at ages outside the bands", float64(a.otherAge))
	if lost := a.nobody + a.undecided + a.undated + a.ungrouped; lost > 0 {
		b.warn(fmt.Sprintf("%d events could not be placed; the rates are too low by them.", lost))
	}
	if a.outside+a.nowhere > 0 {
		b.warn(fmt.Sprintf("%d events fall on days without person-time of their group and are not counted.", a.outside+a.nowhere))
	}
	if a.differ > 0 {
		b.warn(fmt.Sprintf("%d children have first events of different groups on one day; the group of the first row that can be counted is taken.", a.differ))
	}
}
