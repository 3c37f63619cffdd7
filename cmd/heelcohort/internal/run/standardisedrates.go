package run

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/stats"
)

// A column of strata holds one group's events and person-time in the levels
// that are standardised over.
type strataColumn struct {
	events []int
	times  []float64
}

// total adds up the events and person-time of the strata that are used.
func (c strataColumn) total(used func(i int) bool) (events int, time float64) {
	var sum stats.Sum
	for i := range c.events {
		if used(i) {
			events += c.events[i]
			sum.Add(c.times[i])
		}
	}
	return events, sum.Total()
}

// column is a level of the other grouping, or all of it at -1.
func (s *incidence) column(p *persontime, over, level int) strataColumn {
	var c strataColumn
	for x := range s.by[over].variable.Levels() {
		at := make([]int, len(s.by))
		at[over] = x
		if len(s.by) == 2 {
			at[1-over] = level
		}
		one := p.sum(at)
		c.events, c.times = append(c.events, one.events), append(c.times, one.time)
	}
	return c
}

// standardised adds the standard, the standardised rates and what compares
// them.
func (s *incidence) standardised(b *builder, p *persontime) {
	std := s.choices.standard
	if std == nil {
		return
	}
	v := s.by[std.over].variable
	b.set("standardise over", v.Name, true)
	apart := s.apart(p, -1)
	if std.to != "" {
		s.direct(b, p, std, apart)
	}
	if std.indirect {
		s.indirect(b, p, std, apart)
	}
}

// direct adds the weights, the rate of all and of each level of the other
// grouping, and the ratios to its reference.
func (s *incidence) direct(b *builder, p *persontime, std *standard, apart bool) {
	over := s.by[std.over].variable
	weights, to, said := std.weights, "weights", "the weights of the plan"
	switch std.to {
	case "study":
		weights, to, said = s.column(p, std.over, -1).times, "the study's person-time", "the person-time of the whole study"
	case "group":
		other := s.by[1-std.over].variable
		level := other.Levels()[std.group]
		weights, to = s.column(p, std.over, std.group).times, "person-time of "+other.Name+"="+level
		said = fmt.Sprintf("the person-time of %s (%s)", other.LevelLabels()[std.group], lowerLabel(other))
	}
	b.set("standard", to, true)
	b.set("limits of standardised rates", std.limits.setting, std.written)
	b.Methods += fmt.Sprintf(" Rates are standardised directly over %s to %s, with %s", lowerLabel(over), said, std.limits.sentence)
	b.cite(std.limits.cite...)
	compares := len(s.by) == 2 && s.references[1-std.over] >= 0
	if compares {
		b.Methods += "; their ratios have limits on the log scale"
		b.cite("Breslow 1987")
	}
	b.Methods += "."
	var sum stats.Sum
	for _, w := range weights {
		sum.Add(w)
	}
	for i, level := range over.Levels() {
		r := b.row("standard", "weight", group(over.Name, level))
		b.add(number(r, weights[i]/sum.Total(), "the standard has no person-time"))
	}
	columns := []int{-1}
	if len(s.by) == 2 {
		for l := range s.by[1-std.over].variable.Levels() {
			columns = append(columns, l)
		}
	}
	weighted := func(i int) bool { return weights[i] > 0 }
	for _, l := range columns {
		c := s.column(p, std.over, l)
		r := b.row("standardised", "standardised rate", s.otherGroup(std.over, l)...)
		events, time := c.total(weighted)
		r.Events, r.PersonTime, r.Unit = result.Number(events), result.Number(time), s.perUnit()
		e, err := stats.DirectStandardisation(c.events, c.times, weights, stats.StandardOptions{Level: b.level, Per: s.per, Method: std.limits.method})
		if lacking := s.withoutTime(std.over, c, weighted); err != nil && lacking != "" {
			err = fmt.Errorf("no person-time in %s, which has weight in the standard", lacking)
		}
		r = b.estimate(r, e, s.unlessShared(apart, std.over, err))
		if lost, _ := c.total(func(i int) bool { return weights[i] == 0 }); lost > 0 {
			r.Warnings = append(r.Warnings, fmt.Sprintf("Events in levels of %s without weight, which do not count: %d.", over.Label, lost))
		}
		b.add(r)
	}
	if !compares {
		return
	}
	other, reference := s.by[1-std.over].variable, s.references[1-std.over]
	for l, level := range other.Levels() {
		if l == reference {
			continue
		}
		r := b.row("standardised", "standardised rate ratio")
		r.Variable, r.Term = other.Name, level+" vs "+other.Levels()[reference]
		one, _ := s.column(p, std.over, l).total(weighted)
		zero, _ := s.column(p, std.over, reference).total(weighted)
		r.Events = result.Number(one + zero)
		e, err := stats.StandardisedRateRatio(s.strata(p, std.over, l, reference), weights, stats.LimitOptions{Level: b.level})
		if err != nil {
			for _, side := range []int{l, reference} {
				if lacking := s.withoutTime(std.over, s.column(p, std.over, side), weighted); lacking != "" {
					err = fmt.Errorf("%s has no person-time in %s, which has weight in the standard", other.LevelLabels()[side], lacking)
					break
				}
			}
		}
		b.add(b.estimate(r, e, s.unlessShared(apart, std.over, err)))
	}
}

// indirect adds observed over expected events of each level of the other
// grouping by the rates of its reference.
func (s *incidence) indirect(b *builder, p *persontime, std *standard, apart bool) {
	other, reference := s.by[1-std.over].variable, s.references[1-std.over]
	base := s.column(p, std.over, reference)
	label := other.LevelLabels()[reference]
	known, _ := base.total(func(int) bool { return true })
	b.set("rates of expected events", other.Name+"="+other.Levels()[reference], true)
	b.Methods += fmt.Sprintf(" Standardised incidence ratios are observed events over those expected by the rates of %s in each level of %s, taken as known, with %s.",
		label, lowerLabel(s.by[std.over].variable), choose(rateLimits, s.choices.limits.Rate).sentence)
	b.cite("Breslow 1987")
	b.warn(fmt.Sprintf("Standardised incidence ratios take the rates of %s as known, which rest on %d events: their limits leave out what those leave uncertain. Ratios of different groups are not comparable with one another.", label, known))
	rates := make([]float64, len(base.times))
	for i, t := range base.times {
		if t > 0 {
			rates[i] = float64(base.events[i]) / t
		}
	}
	for l, level := range other.Levels() {
		if l == reference {
			continue
		}
		c := s.column(p, std.over, l)
		var err error
		unknown := strataColumn{events: c.events, times: append([]float64(nil), base.times...)}
		switch lacking := s.withoutTime(std.over, unknown, func(i int) bool { return c.times[i] > 0 || c.events[i] > 0 }); {
		case lacking != "":
			err = fmt.Errorf("%s has no person-time in %s, where %s has: the rate there is not known", label, lacking, other.LevelLabels()[l])
		case known == 0:
			err = fmt.Errorf("%s has no events, so that nothing is expected", label)
		}
		var expected stats.Sum
		for i, t := range c.times {
			expected.Add(t * rates[i])
		}
		observed, time := c.total(func(int) bool { return true })
		finish := func(r result.Row) result.Row {
			r.Variable, r.Term = other.Name, level+" vs "+other.Levels()[reference]
			r.Events, r.PersonTime = result.Number(observed), result.Number(time)
			return r
		}
		err = s.unlessShared(apart, std.over, err)
		r := finish(b.row("standardised", "expected events"))
		if err != nil {
			r.Reason = err.Error()
		} else {
			r.Estimate = result.Number(expected.Total())
		}
		b.add(r)
		var e stats.Estimate
		if err == nil {
			e, err = stats.IndirectStandardisation(observed, c.times, rates, s.rateOptions(b))
		}
		r = finish(b.estimate(b.row("standardised", "standardised incidence ratio"), e, err))
		if lost, _ := c.total(func(i int) bool { return c.times[i] == 0 }); lost > 0 {
			r.Warnings = append(r.Warnings, fmt.Sprintf("Observed events in levels without person-time, where none are expected: %d.", lost))
		}
		b.add(r)
	}
}

// withoutTime names the used strata of a column that have no person-time, "" if
// all have.
func (s *incidence) withoutTime(over int, c strataColumn, used func(i int) bool) string {
	v := s.by[over].variable
	var names []string
	for i, t := range c.times {
		if used(i) && t == 0 {
			names = append(names, v.LevelLabels()[i])
		}
	}
	if len(names) == 0 {
		return ""
	}
	return v.Label + " " + strings.Join(names, ", ")
}

// otherGroup names a level of the grouping beside over, nothing at -1.
func (s *incidence) otherGroup(over, level int) []result.Group {
	if level < 0 {
		return nil
	}
	v := s.by[1-over].variable
	return []result.Group{group(v.Name, v.Levels()[level])}
}

// lowerLabel is a variable's label within a sentence; labels whose second
// letter is a capital, as BMI, stay.
func lowerLabel(v cohort.Variable) string {
	first, size := utf8.DecodeRuneInString(v.Label)
	second, _ := utf8.DecodeRuneInString(v.Label[size:])
	if unicode.IsUpper(second) {
		return v.Label
	}
	return string(unicode.ToLower(first)) + v.Label[size:]
}
