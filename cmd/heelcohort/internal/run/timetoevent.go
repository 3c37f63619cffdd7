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
	among             *cohort.Formula // nil: all rows
	together          []cohort.Variable
	start, entry      *cohort.Formula // nil: 0 and the start
	end, when         *cohort.Formula
	by                *term
	cluster           *cohort.Variable
	model             []term
	limits, ties      string
	unit              string
	hasModel, hasTies bool
	competing         []*cohort.Formula
	comparing         *curveComparison // nil: no groups
	between           *seenBetween
	modelStrata       *cohort.Variable
	later             []laterTerm
	offset, weights   *cohort.Formula
	otherwise         []*timeToEvent // the same by other definitions of the event
	parametric        []stats.LifetimeDistribution
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
		{a.Among, &s.among, value.Bool},
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
	if s.comparing, err = bindCurveTests(m, s.table, a, s.by); err != nil {
		return nil, err
	}
	for _, list := range [][]float64{a.At, a.Ticks} {
		for i, t := range list {
			if t < 0 || i > 0 && t <= list[i-1] {
				return nil, m.Plan.Fault(a.Common().Position, "", fmt.Sprintf("times %v of analysis %q, expected ascending times from 0 on", list, a.ID.Value))
			}
		}
	}
	for i, p := range a.Quantiles {
		if p <= 0 || p >= 1 || p == 0.5 || i > 0 && p <= a.Quantiles[i-1] {
			return nil, m.Plan.Fault(a.Common().Position, "", fmt.Sprintf("quantiles %v of analysis %q, expected ascending shares above 0 and below 1, without 0.5, which the median is", a.Quantiles, a.ID.Value))
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
	if err := s.bindTogether(m); err != nil {
		return nil, err
	}
	if err := s.bindWeights(m); err != nil {
		return nil, err
	}
	if s.between, err = bindBetween(m, s.table, a); err != nil {
		return nil, err
	}
	if a.Model == nil {
		return s, s.bindOtherwise(m)
	}
	if err := s.bindModel(m, a.Model); err != nil {
		return nil, err
	}
	return s, s.bindOtherwise(m)
}

func (s *timeToEvent) run(ctx context.Context, c *cohort.Cohort, b *builder) error {
	t := c.Data.Table(s.table)
	b.Unit = s.table
	s.settings(b)
	o, err := s.observe(c, b)
	if err != nil {
		return err
	}
	o = s.unite(c, b, o)
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
	if k > 1 && s.weights == nil {
		s.comparing.add(c, b, s.table, o, group0, groups)
		s.gray(b, o, group0, len(groups))
	}
	if s.hasModel {
		if err := s.cox(c, b, o); err != nil {
			return err
		}
	}
	return s.byOtherwise(ctx, c, b)
}

func (s *timeToEvent) settings(b *builder) {
	start, entry := "0", "the start"
	if s.plan.Start != nil {
		start = s.plan.Start.Value
	}
	if s.plan.Entry != nil {
		entry = s.plan.Entry.Value
	}
	if s.among != nil {
		b.set("among", s.plan.Among.Value, true)
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
	if s.weights != nil {
		b.set("weights", s.plan.Weights.Value, true)
		if s.cluster == nil {
			variance = "a robust variance"
		}
		variance += ", of weighted rows,"
	}
	b.Methods = fmt.Sprintf("The share without the event is the Kaplan–Meier estimate with %s and %s limits; the median is the first time at which the curve is at or below one half, with limits by Brookmeyer and Crowley.", variance, s.limits)
	b.cite("Kaplan 1958", "Kalbfleisch 1980", "Brookmeyer 1982")
	if s.plan.Bands != "" {
		choice := choose(bandWords, s.plan.Bands)
		b.set("bands", choice.setting, true)
		b.Methods += " Bands that hold the whole curve are " + choice.sentence + "."
		b.cite(choice.cite...)
	}
	if s.plan.Hazard {
		b.set("limits of the cumulative hazard", s.hazardLimits(), s.plan.Limits != "")
		b.Methods += " Cumulative hazards are Nelson and Aalen's, with " + s.hazardLimits() + " limits."
		b.cite("Aalen 1978a")
	}
	if s.entry != nil {
		b.Methods += " Rows observed only from after their start count as at risk after their day of entry, up to and including the day they end."
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
	if s.cluster != nil && len(s.competing) > 0 && s.by != nil {
		b.warn("Gray's test takes rows as independent; the limits of the curves, the other tests and the model allow for dependence within " + s.cluster.Label + ".")
	}
}
