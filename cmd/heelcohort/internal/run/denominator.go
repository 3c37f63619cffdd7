package run

import (
	"fmt"
	"slices"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/codebook"
	"heelcohort/dataset"
)

// The ways in which a row does not fit the person-time.
type misfit int

const (
	reversedInterval misfit = iota
	impossibleInterval
	negativeAmount
	crowdedInterval // more hours than its days have
	overlappingInterval
	outsideEvent
	impossibleEvent
	reversedEpisode
)

// A doubted row is one of the person-time's table or of the events', by kind;
// other is the row that it clashes with.
type doubted struct {
	kind       misfit
	row, other int
}

func (a *account) doubt(d doubted) { a.doubts = append(a.doubts, d) }

// ofEvents reports whether the row is one of the events' table.
func (k misfit) ofEvents() bool { return k >= outsideEvent }

// hoursUnit is the word of the plan for person-time in hours, of which a day
// has at most 24.
const hoursUnit = "hours"

// denominators turns what does not fit the person-time into findings, each in
// the cell of its day or amount.
func (s *incidence) denominators(c *cohort.Cohort, b *builder, children []child, a *account) {
	overlaps := s.doubtsOverlaps(c)
	for i := range children {
		s.clashes(children[i].rows, overlaps, a)
	}
	slices.SortFunc(a.doubts, func(x, y doubted) int {
		if x.kind != y.kind {
			return int(x.kind) - int(y.kind)
		}
		return x.row - y.row
	})
	for _, d := range a.doubts {
		t, formula := c.Data.Table(s.atRisk), s.from
		if d.kind.ofEvents() {
			t, formula = c.Data.Table(s.events), s.day
		}
		f := dataset.Finding{Rule: dataset.RuleTimeAtRisk, Severity: dataset.Warning, Table: t.Name}
		switch d.kind {
		case reversedInterval:
			formula = s.to
			f.Expected, f.Message = "a day not before the interval begins", "the interval ends before it begins"
		case impossibleInterval:
			f.Expected, f.Message = "a study day", "the interval has a day that cannot be one"
		case negativeAmount:
			formula = s.amount
			f.Expected, f.Message = "0 or more", "the amount of person-time is negative"
		case crowdedInterval:
			formula = s.amount
			f.Expected, f.Message = "at most 24 hours a day", "the interval has more hours than its days hold"
		case overlappingInterval:
			f.Expected = "no day twice in one group"
			f.Message = fmt.Sprintf("the interval overlaps the one of row %d, of the same child and group: its amount counts twice on those days", t.Rows[d.other])
			f.Others = []int{t.Rows[d.other]}
		case outsideEvent:
			f.Expected = "a day within an interval at risk of the child, in the group of the event"
			f.Message = "the event falls on a day without person-time of its group and is not counted"
		case impossibleEvent:
			f.Expected, f.Message = "a study day", "the event has a day that cannot be one"
		case reversedEpisode:
			formula = s.end
			f.Expected, f.Message = "a day not before the onset", "the episode ends before its onset"
		}
		b.found = append(b.found, locate(f, t, d.row, formula))
	}
}

// doubtsOverlaps reports whether overlaps of one child and group are doubtful.
// They are not where by has no variable of the table's own, for intervals of
// several sports rightly share days, nor where the codebook itself says which
// of the table's intervals may not overlap: its rule has found those that do.
func (s *incidence) doubtsOverlaps(c *cohort.Cohort) bool {
	declared := slices.ContainsFunc(c.Data.Table(s.atRisk).Resource.Schema.Rules, func(r codebook.Rule) bool { return r.NoOverlap != nil })
	return !declared && slices.ContainsFunc(s.by, func(g grouping) bool { return g.atRisk != nil && len(g.atRisk.Own()) > 0 })
}

// clashes finds intervals of a child that hold more hours than their days, or,
// where that is asked for, whose amounts overlap in one group.
func (s *incidence) clashes(rows []piece, overlaps bool, a *account) {
	if s.amount == nil {
		return // days that rows share count once
	}
	sorted := slices.Clone(rows)
	slices.SortStableFunc(sorted, func(x, y piece) int {
		switch {
		case x.from < y.from:
			return -1
		case x.from > y.from:
			return 1
		}
		return 0
	})
	for i, q := range sorted {
		if s.unit == hoursUnit && q.amount > 24*(q.to-q.from) && q.to > q.from {
			a.doubt(doubted{crowdedInterval, q.row, 0})
		}
		if !overlaps || q.at == nil || !(q.amount > 0) {
			continue
		}
		for j := i - 1; j >= 0; j-- {
			before := sorted[j]
			if before.to > q.from && q.to > q.from && before.amount > 0 && before.at != nil && s.code(before.at) == s.code(q.at) {
				a.doubt(doubted{overlappingInterval, q.row, before.row})
				break
			}
		}
	}
}

// before reports whether a day is before all of the child's intervals: an event
// then is history, and no fault.
func (k *child) before(day float64) bool {
	return !slices.ContainsFunc(k.rows, func(q piece) bool { return q.from <= day })
}

// locate places a finding in the cell of the first variable that a formula
// reads, or in the row where that is derived.
func locate(f dataset.Finding, t *dataset.Table, row int, formula *cohort.Formula) dataset.Finding {
	f.Where = t.Origin(row, nil)
	if formula == nil {
		return f
	}
	for _, name := range formula.Own() {
		if c := t.Column(name); c != nil && c.HasSource() {
			f.Variable, f.Where, f.Found = name, t.Origin(row, c), c.Source(row)
			f.Fields = []string{name}
			return f
		}
	}
	return f
}
