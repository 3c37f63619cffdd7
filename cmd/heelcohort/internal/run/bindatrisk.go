package run

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/codebook/document"
	"heelcohort/codebook/value"
)

// bindAtRisk binds what narrows the time at risk: spells, window and calendar.
func (s *incidence) bindAtRisk(m *cohort.Model) error {
	a := s.plan
	if s.count != nil {
		switch {
		case a.Spells != nil:
			return m.Plan.Fault(a.Spells.Position, "", "spells goes with events that have days, expected none beside a count")
		case a.Window != nil:
			return m.Plan.Fault(a.Window.Position, "", "window goes with events that have days, expected none beside a count")
		case a.Calendar != nil:
			return m.Plan.Fault(a.Calendar.Position, "", "calendar goes with events that have days, expected none beside a count")
		}
		return nil
	}
	if err := s.bindSpells(m); err != nil {
		return err
	}
	if w := a.Window; w != nil {
		switch {
		case w.From == nil && w.To == nil:
			return m.Plan.Fault(w.Position, "", "a window without days, expected from, to or both")
		case w.From != nil && w.To != nil && !(*w.From < *w.To):
			return m.Plan.Fault(w.Position, "", fmt.Sprintf("window from day %v to day %v, expected days in order", *w.From, *w.To))
		}
	}
	return s.bindCalendar(m)
}

func (s *incidence) bindSpells(m *cohort.Model) error {
	spells := s.plan.Spells
	if spells == nil {
		return nil
	}
	var err error
	if s.end, err = m.Expression(s.events, spells.End, value.Number); err != nil {
		return err
	}
	if spells.Within == nil {
		return nil
	}
	s.heel, s.heels, err = s.groupFormula(m, s.events, *spells.Within)
	return err
}

func (s *incidence) bindCalendar(m *cohort.Model) error {
	c := s.plan.Calendar
	if c == nil {
		return nil
	}
	fault := func(format string, args ...any) error {
		return m.Plan.Fault(c.Position, "", fmt.Sprintf(format, args...))
	}
	if s.age != nil && c.Name.Value == s.ageName() {
		return c.Name.Errorf(1, 1, "", "%q is current_age already, expected another name", c.Name.Value)
	}
	if c.AtZero != nil {
		var err error
		if s.calendarZero, err = m.Expression(s.participants, *c.AtZero, value.Number); err != nil {
			return err
		}
	}
	if len(c.Starts) == 0 {
		return fault("a calendar without starts, expected at least one day")
	}
	s.starts = append(slices.Clone(c.Starts), math.Inf(1))
	if c.Until != nil {
		s.starts[len(c.Starts)] = *c.Until
	}
	for i := range s.starts[1:] {
		if s.starts[i] >= s.starts[i+1] {
			return fault("days %v of the calendar, expected ascending days", s.starts)
		}
	}
	words := c.Labels
	if words == nil {
		for i, from := range c.Starts {
			day := func(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
			word := "day " + day(from) + " on"
			if to := s.starts[i+1]; !math.IsInf(to, 1) {
				word = "day " + day(from) + " to <" + day(to)
			}
			words = append(words, word)
		}
	}
	if len(words) != len(c.Starts) {
		return fault("%d labels for %d bands of the calendar, expected one for each", len(words), len(c.Starts))
	}
	for i, word := range words {
		if word == "" || slices.Contains(words[:i], word) {
			return fault("label %q of the calendar, expected a different one for each band", word)
		}
	}
	label := c.Label
	if label == "" {
		label = c.Name.Value
	}
	s.calendar = &grouping{current: true, calendar: true, variable: cohort.Variable{
		Name: c.Name.Value, Label: label, Kind: value.Text, Words: words, Labels: words, Ordered: true,
	}}
	return nil
}

// nearestOwn is the nearest name among the bands that the analysis itself
// defines.
func (s *incidence) nearestOwn(name string) string {
	var own []string
	if s.age != nil {
		own = append(own, s.ageName())
	}
	if s.calendar != nil {
		own = append(own, s.calendar.variable.Name)
	}
	return document.Nearest(name, own)
}
