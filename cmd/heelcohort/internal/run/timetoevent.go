package run

import (
	"context"
	"fmt"
	"slices"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/codebook/value"
	"heelcohort/stats"
)

// timeToEvent is an analysis of kind time-to-event.
type timeToEvent struct {
	plan              *plan.TimeToEvent
	table             string
	start, entry      *cohort.Formula // nil: 0 and the start
	end, when         *cohort.Formula
	by                *term
	cluster           *cohort.Variable
	model             []term
	limits, ties      string
	unit              string
	hasModel, hasTies bool
	competing         []*cohort.Formula
	tests             []string
	strata            *cohort.Variable
	between           *seenBetween
	modelStrata       *cohort.Variable
}

func bindTimeToEvent(m *cohort.Model, a *plan.TimeToEvent) (job, error) {
	s := &timeToEvent{plan: a, limits: a.Limits, unit: a.Unit, hasModel: a.Model != nil}
	var err error
	if s.table, err = tableOf(m, a.Table); err != nil {
		return nil, err
	}
	for _, f := range []struct {
		from *plan.Expression
		to   **cohort.Formula
		kind value.Kind
	}{
		{a.Start, &s.start, value.Number},
		{a.Entry, &s.entry, value.Number},
		{&a.Event.Day, &s.end, value.Number},
		{&a.Event.When, &s.when, value.Bool},
	} {
		if f.from == nil {
			continue
		}
		if *f.to, err = m.Expression(s.table, *f.from, f.kind); err != nil {
			return nil, err
		}
	}
	for i := range a.Competing {
		f, err := m.Expression(s.table, a.Competing[i].When, value.Bool)
		if err != nil {
			return nil, err
		}
		s.competing = append(s.competing, f)
		for _, other := range a.Competing[:i] {
			if other.Label.Value == a.Competing[i].Label.Value {
				return nil, a.Competing[i].Label.Errorf(1, 1, "", "label %q stands twice among the competing ends", other.Label.Value)
			}
		}
		if a.Competing[i].Label.Value == eventTerm {
			return nil, a.Competing[i].Label.Errorf(1, 1, "", "label %q is the event's own, expected another", eventTerm)
		}
	}
	if s.limits == "" {
		s.limits = stats.LimitsLogLog
	}
	if s.unit == "" {
		s.unit = "days"
	}
	if a.By != nil {
		v, err := levelled(m, s.table, *a.By)
		if err != nil {
			return nil, err
		}
		s.by = &term{variable: v}
		if a.Reference != nil {
			if s.by.reference, err = m.Level(v, *a.Reference); err != nil {
				return nil, err
			}
			s.by.written = true
		}
	} else if a.Reference != nil {
		return nil, a.Reference.Errorf(1, 1, "", "a reference without by, expected by beside it")
	}
	s.tests = []string{"log-rank"}
	if a.Tests != nil {
		s.tests = nil
		for _, name := range a.Tests {
			if slices.Contains(s.tests, name.Value) {
				return nil, name.Errorf(1, 1, "", "%q stands twice among the tests", name.Value)
			}
			s.tests = append(s.tests, name.Value)
		}
		if s.by == nil {
			return nil, a.Tests[0].Errorf(1, 1, "", "tests of groups, but by names none, expected a grouping variable")
		}
	}
	if a.Stratify != nil {
		v, err := levelled(m, s.table, *a.Stratify)
		switch {
		case err != nil:
			return nil, err
		case s.by == nil || v.Name == s.by.variable.Name:
			return nil, a.Stratify.Errorf(1, 1, "", "strata of %q, expected a variable other than that of by", v.Name)
		}
		s.strata = &v
	}
	for _, list := range [][]float64{a.At, a.Ticks} {
		for i, t := range list {
			if t < 0 || i > 0 && t <= list[i-1] {
				return nil, m.Plan.Fault(a.Common().Position, "", fmt.Sprintf("times %v of analysis %q, expected ascending times from 0 on", list, a.ID.Value))
			}
		}
	}
	if a.Cluster != nil {
		v, err := m.Variable(s.table, *a.Cluster)
		if err != nil {
			return nil, err
		}
		s.cluster = &v
	}
	switch {
	case a.Bands != "" && s.cluster != nil:
		return nil, m.Plan.Fault(a.Common().Position, "", "bands beside cluster: they have no form for dependent rows, expected one of them")
	case a.Limits == stats.LimitsArcsine && a.Competing != nil:
		return nil, m.Plan.Fault(a.Common().Position, "", "limits arcsine beside competing ends, expected log-log, log or plain")
	}
	if s.between, err = bindBetween(m, s.table, a); err != nil {
		return nil, err
	}
	if a.Model == nil {
		return s, nil
	}
	if a.Model.Strata != nil {
		v, err := levelled(m, s.table, *a.Model.Strata)
		if err != nil {
			return nil, err
		}
		s.modelStrata = &v
	}
	if (a.Model.Ends || a.Model.Incidence) && a.Competing == nil {
		return nil, m.Plan.Fault(a.Model.Position, "", "ends or incidence of a model without competing ends, expected competing beside it")
	}
	if a.Model.Incidence && (a.Model.Ties == stats.TiesExact || a.Model.Strata != nil) {
		return nil, m.Plan.Fault(a.Model.Position, "", "incidence beside exact ties or strata: the model of the incidence has neither")
	}
	if a.Model.Ties == stats.TiesExact && a.Model.Residuals {
		return nil, m.Plan.Fault(a.Model.Position, "", "residuals beside exact ties, which have none, expected efron or breslow")
	}
	if a.Model.Ties == stats.TiesExact && s.cluster != nil {
		return nil, m.Plan.Fault(a.Model.Position, "", "exact ties beside cluster: they have no robust errors, expected efron or breslow")
	}
	s.ties, s.hasTies = a.Model.Ties, a.Model.Ties != ""
	if s.ties == "" {
		s.ties = stats.TiesEfron
	}
	var names []string
	for _, name := range a.Model.Terms {
		if slices.Contains(names, name.Value) {
			return nil, name.Errorf(1, 1, "", "%q is in the model already", name.Value)
		}
		names = append(names, name.Value)
		if s.modelStrata != nil && s.modelStrata.Name == name.Value {
			return nil, name.Errorf(1, 1, "", "%q is the variable of the strata, expected another", name.Value)
		}
		t, err := bindTerm(m, s.table, name, a.Model.Reference)
		if err != nil {
			return nil, err
		}
		if s.by != nil && s.by.written && !t.written && t.variable.Name == s.by.variable.Name {
			t.reference, t.written = s.by.reference, true
		}
		s.model = append(s.model, t)
	}
	if len(names) == 0 {
		return nil, m.Plan.Fault(a.Model.Position, "", "a model without terms, expected at least one")
	}
	if err := s.bindCurves(m, a.Model); err != nil {
		return nil, err
	}
	return s, checkReferences(m, a.Model.Reference, names)
}

func (s *timeToEvent) run(_ context.Context, c *cohort.Cohort, b *builder) error {
	t := c.Data.Table(s.table)
	b.Unit = s.table
	s.settings(b)
	o, err := s.observe(c, b)
	if err != nil {
		return err
	}
	if err := s.observeBetween(c, b, o); err != nil {
		return err
	}
	s.withClusters(c, o)
	groups := [][]result.Group{nil}
	group0 := make([]int, len(o.row))
	k := 1
	if s.by != nil {
		b.name(s.by.variable)
		column := t.Column(s.by.variable.Name)
		groups = nil
		levels := s.by.variable.Levels()
		for _, level := range levels {
			groups = append(groups, []result.Group{group(s.by.variable.Name, level)})
		}
		k = len(levels)
		var kept observed
		group0 = nil
		for i, row := range o.row {
			level, known := levelText(column, row)
			if !known {
				continue
			}
			kept.take(o, i)
			group0 = append(group0, slices.Index(levels, level))
		}
		b.removed("rows", s.by.variable.Label+" missing", float64(len(o.row)-len(kept.row)))
		o = &kept
	}
	ticks := s.plan.Ticks
	if ticks == nil {
		ticks = roundTimes(o.Exit)
		b.set("ticks", times(ticks), false)
	} else {
		b.set("ticks", times(ticks), true)
	}
	for g := range groups {
		var rows observed
		for i := range o.row {
			if group0[i] == g {
				rows.take(o, i)
			}
		}
		s.curve(b, groups[g], &rows, ticks)
		s.incidence(b, groups[g], &rows)
		if err := s.seenBetween(b, groups[g], &rows); err != nil {
			return err
		}
	}
	if s.plan.Horizon != nil {
		s.restricted(b, o, group0, groups)
	}
	if k > 1 {
		s.compare(c, b, o, group0, groups)
		s.gray(b, o, group0, len(groups))
	}
	if s.hasModel {
		s.cox(c, b, o)
	}
	return nil
}

func (s *timeToEvent) settings(b *builder) {
	start, entry := "0", "the start"
	if s.plan.Start != nil {
		start = s.plan.Start.Value
	}
	if s.plan.Entry != nil {
		entry = s.plan.Entry.Value
	}
	b.set("start", start, s.plan.Start != nil)
	b.set("entry", entry, s.plan.Entry != nil)
	b.set("event", s.plan.Event.When.Value, true)
	b.set("event day", s.plan.Event.Day.Value, true)
	b.set("limits of the curve", s.limits, s.plan.Limits != "")
	b.set("unit of time", s.unit, s.plan.Unit != "")
	variance := "Greenwood's variance"
	if s.cluster != nil {
		variance = "a variance robust to dependence within " + s.cluster.Label
	}
	b.Methods = fmt.Sprintf("The share without the event is the Kaplan–Meier estimate with %s and %s limits; the median is the first time at which the curve is at or below one half, with limits by Brookmeyer and Crowley.", variance, s.limits)
	b.cite("Kaplan 1958", "Kalbfleisch 1980", "Brookmeyer 1982")
	if s.plan.Bands != "" {
		choice := choose(bandWords, s.plan.Bands)
		b.set("bands", choice.setting, true)
		b.Methods += " Bands that hold the whole curve are " + choice.sentence + "."
		b.cite(choice.cite...)
	}
	if s.entry != nil {
		b.Methods += " Rows observed only from after their start count as at risk from their entry on."
	}
	b.Methods += " Rows that end otherwise than by the event are censored there."
	switch {
	case len(s.competing) > 0:
		b.warn("The survival curve censors competing ends: one minus it is not the share that have the event, which the cumulative incidence is.")
		b.set("competing ends", s.competingWords(), true)
		b.Methods += " Cumulative incidences with competing ends are Aalen and Johansen's, with " + map[bool]string{false: "a variance of Greenwood's type", true: variance}[s.cluster != nil] + "."
		b.cite("Aalen 1978")
	default:
		b.warn("Ends other than the event are censored. Where such an end makes the event impossible (giving up the sport), one minus this curve overstates how many have the event.")
	}
	if s.cluster != nil {
		b.warn("The log-rank test takes rows as independent; the limits of the curves and the model allow for dependence within " + s.cluster.Label + ".")
	}
}
