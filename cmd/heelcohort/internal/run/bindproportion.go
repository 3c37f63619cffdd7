package run

import (
	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/codebook/value"
)

func bindProportion(m *cohort.Model, a *plan.Proportion) (job, error) {
	s := &proportion{plan: a, participants: m.Participants}
	var err error
	if s.table, err = tableOf(m, a.Table); err != nil {
		return nil, err
	}
	if a.Among != nil {
		if s.among, err = m.Expression(s.table, *a.Among, value.Bool); err != nil {
			return nil, err
		}
	}
	if len(a.Conditions) == 0 {
		return nil, m.Plan.Fault(a.Position, "", "no conditions, expected at least one yes-or-no variable or expression")
	}
	used := map[string]bool{}
	for _, c := range a.Conditions {
		one, err := s.bindCondition(m, c)
		if err != nil {
			return nil, err
		}
		if used[one.variable.Name] {
			return nil, c.Name.Errorf(1, 1, "", "%q stands twice among conditions and by", one.variable.Name)
		}
		used[one.variable.Name] = true
		s.conditions = append(s.conditions, one)
	}
	var names []string
	compared := false
	for _, name := range a.By {
		v, err := levelled(m, s.table, name)
		if err != nil {
			return nil, err
		}
		if used[v.Name] {
			return nil, name.Errorf(1, 1, "", "%q stands twice among conditions and by", v.Name)
		}
		used[v.Name] = true
		names = append(names, v.Name)
		reference := -1
		if level, ok := a.Reference.Get(v.Name); ok {
			compared = true
			if reference, err = m.Level(v, level); err != nil {
				return nil, err
			}
		}
		s.by, s.references = append(s.by, v), append(s.references, reference)
	}
	if err := checkReferences(m, a.Reference, names); err != nil {
		return nil, err
	}
	if a.Limits != nil {
		s.limits = *a.Limits
		if !compared && (s.limits.Difference != "" || s.limits.Ratio != "") {
			return nil, m.Plan.Fault(a.Limits.Position, "", "limits of differences or ratios, but nothing is compared: expected by and reference")
		}
	}
	return s, nil
}

func (s *proportion) bindCondition(m *cohort.Model, c plan.Condition) (condition, error) {
	if c.When == nil {
		v, err := m.Variable(s.table, c.Name)
		if err != nil {
			return condition{}, err
		}
		if v.Kind != value.Bool {
			return condition{}, c.Name.Errorf(1, 1, "", "condition %q is a %v, expected a boolean, or a name with when", v.Name, v.Kind)
		}
		f, err := m.Expression(s.table, plan.Expression{String: c.Name}, value.Bool)
		return condition{v, f, c.Name.Value}, err
	}
	f, err := m.Expression(s.table, *c.When, value.Bool)
	if err != nil {
		return condition{}, err
	}
	if _, err := m.Variable(s.table, c.Name); err == nil {
		return condition{}, c.Name.Errorf(1, 1, "", "table %q has a variable %q, expected another name for the condition", s.table, c.Name.Value)
	}
	v := cohort.Variable{Table: s.table, Name: c.Name.Value, Label: c.Label, Kind: value.Bool}
	if v.Label == "" {
		v.Label = v.Name
	}
	return condition{v, f, c.When.Value}, nil
}
