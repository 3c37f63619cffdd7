package run

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// setAtRisk notes the choices about time at risk.
func (s *incidence) setAtRisk(b *builder) {
	switch {
	case s.end != nil:
		b.set("end of an episode", s.plan.Spells.End.Value, true)
		b.set("symptom-free gap", days(s.plan.Spells.Gap), true)
		within := "the child"
		if s.heel != nil {
			within = "each " + s.heels.Name + " of the child"
			b.name(s.heels)
		}
		b.set("at risk", within, s.heel != nil)
	case !s.first:
		b.set("time within episodes", "at risk", false)
	}
	if s.plan.Window != nil {
		b.set("window", s.window(), true)
	}
	if c := s.plan.Calendar; c != nil {
		zero := "study days"
		if c.AtZero != nil {
			zero = "day 0 is " + c.AtZero.Value
		}
		b.set("calendar", zero, c.AtZero != nil)
		var starts []string
		for _, day := range s.starts {
			if !math.IsInf(day, 1) {
				starts = append(starts, strconv.FormatFloat(day, 'f', -1, 64))
			}
		}
		b.set("bounds of the calendar", strings.Join(starts, ", "), true)
	}
}

func days(n float64) string {
	if n == 1 {
		return "1 day"
	}
	return strconv.FormatFloat(n, 'f', -1, 64) + " days"
}

// window is the study window in words.
func (s *incidence) window() string {
	r := s.rules().Window
	switch {
	case math.IsInf(r.From, -1):
		return fmt.Sprintf("before study day %v", r.To)
	case math.IsInf(r.To, 1):
		return fmt.Sprintf("from study day %v on", r.From)
	}
	return fmt.Sprintf("from study day %v up to, not including, day %v", r.From, r.To)
}

// describeAtRisk adds the sentences on time at risk to the methods.
func (s *incidence) describeAtRisk(b *builder) {
	if s.plan.Window != nil {
		b.Methods += " Person-time and events are those " + s.window() + "."
	}
	if s.calendar != nil {
		b.Methods += fmt.Sprintf(" Person-time is split where a band of %s starts.", s.calendar.variable.Name)
	}
	if s.end == nil {
		return
	}
	gap := ""
	if g := s.plan.Spells.Gap; g > 0 {
		gap = fmt.Sprintf(", nor within the %s free of symptoms after it that a new spell needs", days(g))
	}
	who := "A child"
	if s.heel != nil {
		who = fmt.Sprintf("Each %s of a child is at risk by itself, and the child's person-time counts for each that is at risk: person-time is that of a %s. A %s", s.heels.Name, s.heels.Name, s.heels.Name)
		b.warn(fmt.Sprintf("Each %s of a child is at risk by itself; they are not independent, though the exact limits take them so.", s.heels.Name))
	}
	if s.first {
		b.Methods += fmt.Sprintf(" %s whose episode was open on the first day of observation is prevalent and left out.", who)
		return
	}
	b.Methods += fmt.Sprintf(" %s is not at risk within an open episode%s; an onset there belongs to the same spell and is not an event. An episode without an end lasts to the end of observation. One that was open on the first day of observation is prevalent and not an event.", who, gap)
}
