package run

import (
	"fmt"
	"slices"
	"strings"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/codebook/document"
	"heelcohort/codebook/expression"
	"heelcohort/codebook/value"
)

func bindIncidence(m *cohort.Model, a *plan.Incidence) (job, error) {
	s := &incidence{plan: a, participants: m.Participants, per: 1, unit: a.Unit}
	if a.Per != nil {
		s.per = *a.Per
	}
	if err := s.bindTables(m); err != nil {
		return nil, err
	}
	if err := s.bindAge(m); err != nil {
		return nil, err
	}
	if err := s.bindAtRisk(m); err != nil {
		return nil, err
	}
	if len(a.By) > 2 {
		return nil, a.By[2].Name.Errorf(1, 1, "", "a third grouping %q, expected at most two", a.By[2].Name.Value)
	}
	var names []string
	for _, g := range a.By {
		one, err := s.bindGrouping(m, g)
		if err != nil {
			return nil, err
		}
		if slices.Contains(names, one.variable.Name) {
			return nil, g.Name.Errorf(1, 1, "", "%q stands twice in by", one.variable.Name)
		}
		if g.Label != "" {
			one.variable.Label = g.Label
		}
		names = append(names, one.variable.Name)
		s.by = append(s.by, one)
		reference := -1
		if level, ok := a.Reference.Get(one.variable.Name); ok {
			if reference, err = m.Level(one.variable, level); err != nil {
				return nil, err
			}
		}
		s.references = append(s.references, reference)
	}
	if err := checkReferences(m, a.Reference, names); err != nil {
		return nil, err
	}
	if s.age != nil && !slices.ContainsFunc(s.by, func(g grouping) bool { return g.current }) {
		return nil, m.Plan.Fault(a.CurrentAge.Position, "", fmt.Sprintf("current_age defines %q, which by does not use", s.ageName()))
	}
	if c := a.Calendar; c != nil && !slices.Contains(names, c.Name.Value) {
		return nil, m.Plan.Fault(c.Position, "", fmt.Sprintf("calendar defines %q, which by does not use", c.Name.Value))
	}
	if err := s.bindRates(m); err != nil {
		return nil, err
	}
	if err := s.bindFigure(m); err != nil {
		return nil, err
	}
	return s, s.bindModel(m)
}

func (s *incidence) bindTables(m *cohort.Model) error {
	a := s.plan
	events, err := m.Resource(a.Events.Table)
	if err != nil {
		return err
	}
	atRisk, err := m.Resource(a.AtRisk.Table)
	if err != nil {
		return err
	}
	s.events, s.atRisk = events.Name, atRisk.Name
	for _, f := range []struct {
		table string
		from  *plan.Expression
		to    **cohort.Formula
		kind  value.Kind
	}{
		{s.events, a.Events.Day, &s.day, value.Number},
		{s.events, a.Events.When, &s.when, value.Bool},
		{s.events, a.Events.Count, &s.count, value.Number},
		{s.atRisk, a.AtRisk.Amount, &s.amount, value.Number},
		{s.atRisk, a.AtRisk.From, &s.from, value.Number},
		{s.atRisk, a.AtRisk.To, &s.to, value.Number},
	} {
		if f.from == nil {
			continue
		}
		if *f.to, err = m.Expression(f.table, *f.from, f.kind); err != nil {
			return err
		}
	}
	fault := func(at document.Position, text string) error { return m.Plan.Fault(at, "", text) }
	switch {
	case s.count != nil && (s.day != nil || s.when != nil):
		return fault(a.Events.Position, "events have a count and a day or a condition, expected count alone or day with when")
	case s.count == nil && s.day == nil:
		return fault(a.Events.Position, "events have no day and no count, expected one of them")
	case s.count != nil && s.events != s.atRisk:
		return fault(a.Events.Position, fmt.Sprintf("events are counted in table %q and person-time in %q, expected one table for counts", s.events, s.atRisk))
	case s.count != nil && (s.amount == nil || s.from != nil || s.to != nil):
		return fault(a.AtRisk.Position, "counts of events go with an amount of person-time alone, expected amount without from and to")
	case s.count == nil && (s.from == nil || s.to == nil):
		return fault(a.AtRisk.Position, "events with days need intervals at risk, expected from and to")
	case s.count != nil && a.Episodes != "":
		return fault(a.Position, "episodes goes with events that have days, expected none beside a count")
	case s.count != nil && a.CurrentAge != nil:
		return fault(a.CurrentAge.Position, "current_age goes with events that have days, expected none beside a count")
	}
	s.first = s.count == nil && a.Episodes != "all"
	if s.count != nil {
		return nil
	}
	for _, t := range []struct {
		table string
		at    document.String
	}{{s.events, a.Events.Table}, {s.atRisk, a.AtRisk.Table}} {
		if t.table != s.participants && !slices.Contains(m.Package.Scope(m.Package.Resource(t.table)).Tables(), s.participants) {
			return t.at.Errorf(1, 1, "", "table %q has no foreign key to one row of the participants' table %q", t.table, s.participants)
		}
	}
	return nil
}

func (s *incidence) ageName() string {
	if n := s.plan.CurrentAge.Name; n.Value != "" {
		return n.Value
	}
	return "current_age"
}

func (s *incidence) bindAge(m *cohort.Model) error {
	c := s.plan.CurrentAge
	if c == nil {
		return nil
	}
	var err error
	if s.age, err = m.Expression(s.participants, c.AtZero, value.Number); err != nil {
		return err
	}
	s.bands = c.Bands
	if len(s.bands) < 2 {
		return m.Plan.Fault(c.Position, "", "bands of current_age, expected at least two ascending ages")
	}
	for i := range s.bands[1:] {
		if s.bands[i] >= s.bands[i+1] {
			return m.Plan.Fault(c.Position, "", fmt.Sprintf("bands %v of current_age, expected ascending ages", s.bands))
		}
	}
	return nil
}

func (s *incidence) bindGrouping(m *cohort.Model, g plan.Grouping) (grouping, error) {
	if s.age != nil && g.Name.Value == s.ageName() {
		label := s.plan.CurrentAge.Label
		if label == "" {
			label = "Current age"
		}
		words := expression.BandLabels(s.bands)
		return grouping{current: true, variable: cohort.Variable{
			Name: g.Name.Value, Label: label, Unit: "years", Kind: value.Text, Words: words, Labels: words, Ordered: true,
		}}, nil
	}
	if s.calendar != nil && g.Name.Value == s.calendar.variable.Name {
		return *s.calendar, nil
	}
	out := grouping{}
	var err error
	if out.atRisk, out.variable, err = s.groupFormula(m, s.atRisk, g.AtRisk); err != nil {
		if own := s.nearestOwn(g.Name.Value); own != "" {
			return out, g.Name.Errorf(1, 1, own, "by has %q, no variable of table %q", g.Name.Value, s.atRisk)
		}
		return out, err
	}
	if s.count == nil {
		var events cohort.Variable
		if out.events, events, err = s.groupFormula(m, s.events, g.Events); err != nil {
			return out, err
		}
		for _, level := range events.Levels() {
			if !slices.Contains(out.variable.Levels(), level) {
				return out, g.Events.Errorf(1, 1, document.Nearest(level, out.variable.Levels()),
					"events have the level %q of %q, which person-time cannot have (%s)", level, g.Name.Value, strings.Join(out.variable.Levels(), ", "))
			}
		}
	}
	out.variable.Name = g.Name.Value
	return out, nil
}

// groupFormula finds a grouping variable in a table or, failing that, among
// the participants that the table links to.
func (s *incidence) groupFormula(m *cohort.Model, table string, name document.String) (*cohort.Formula, cohort.Variable, error) {
	of := name
	v, err := m.Variable(table, name)
	if err != nil && table != s.participants && s.count == nil {
		if linked, linkedErr := m.Variable(s.participants, name); linkedErr == nil {
			v, err = linked, nil
			of.Value = s.participants + "." + name.Value
		}
	}
	if err != nil {
		return nil, v, err
	}
	if v.Levels() == nil {
		return nil, v, name.Errorf(1, 1, "", "%q is a %v without categories, expected a boolean or a variable with categories", v.Name, v.Kind)
	}
	f, err := m.Expression(table, plan.Expression{String: of}, v.Kind)
	return f, v, err
}

func (s *incidence) bindModel(m *cohort.Model) error {
	p := s.plan.Model
	if p == nil {
		return nil
	}
	s.model = &rateModel{dispersion: p.Dispersion == "pearson"}
	var names []string
	for _, name := range p.Terms {
		if slices.Contains(names, name.Value) {
			return name.Errorf(1, 1, "", "%q is in the model already", name.Value)
		}
		names = append(names, name.Value)
		if s.count != nil {
			t, err := bindTerm(m, s.atRisk, name, p.Reference)
			if err != nil {
				return err
			}
			s.model.terms = append(s.model.terms, s.inherit(t))
			continue
		}
		at := slices.IndexFunc(s.by, func(g grouping) bool { return g.variable.Name == name.Value })
		if season, ok := p.Season.Get(name.Value); ok && season.AtZero != nil {
			if at >= 0 {
				return name.Errorf(1, 1, "", "season %q with at_zero is in by too, expected another name", name.Value)
			}
			t, err := s.bindFineSeason(m, name, season)
			if err != nil {
				return err
			}
			s.model.terms = append(s.model.terms, t)
			continue
		}
		if at < 0 {
			var known []string
			for _, g := range s.by {
				known = append(known, g.variable.Name)
			}
			return name.Errorf(1, 1, document.Nearest(name.Value, known), "model term %q is not in by, expected one of %s", name.Value, strings.Join(known, ", "))
		}
		t := term{variable: s.by[at].variable}
		if level, ok := p.Reference.Get(name.Value); ok {
			var err error
			t.written = true
			if t.reference, err = m.Level(t.variable, level); err != nil {
				return err
			}
		}
		s.model.terms = append(s.model.terms, s.inherit(t))
	}
	if len(names) == 0 {
		return m.Plan.Fault(p.Position, "", "a model without terms, expected at least one")
	}
	if err := checkReferences(m, p.Reference, names); err != nil {
		return err
	}
	if err := s.bindFamily(m, p); err != nil {
		return err
	}
	if p.Cluster == nil {
		return nil
	}
	if s.model.dispersion {
		return p.Cluster.Errorf(1, 1, "", "cluster beside dispersion, expected one of them")
	}
	s.model.cluster = true
	if s.count != nil {
		v, err := m.Variable(s.atRisk, *p.Cluster)
		s.model.variable = v.Name
		return err
	}
	key := m.Package.Resource(s.participants).Schema.PrimaryKey
	if len(key) != 1 || p.Cluster.Value != key[0] {
		return p.Cluster.Errorf(1, 1, strings.Join(key, ", "), "cluster %q, expected the key of table %q", p.Cluster.Value, s.participants)
	}
	return nil
}

// inherit takes the analysis's reference for a term that has none of its own.
func (s *incidence) inherit(t term) term {
	for i, g := range s.by {
		if !t.written && g.variable.Name == t.variable.Name && s.references[i] >= 0 {
			t.reference, t.written = s.references[i], true
		}
	}
	return t
}
