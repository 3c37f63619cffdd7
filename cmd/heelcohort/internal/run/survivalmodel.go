package run

import (
	"slices"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/codebook/value"
	"heelcohort/stats"
)

// The distributions of parametric models, as the plan names them.
var lifetimeWords = []chosen[stats.LifetimeDistribution]{
	{"exponential", stats.Exponential, "exponential", "exponential", nil},
	{"weibull", stats.Weibull, "Weibull", "Weibull", nil},
	{"log-normal", stats.LogNormal, "log-normal", "log-normal", nil},
	{"log-logistic", stats.LogLogistic, "log-logistic", "log-logistic", nil},
}

// bindModel checks the model of the hazard, and what stands beside it.
func (s *timeToEvent) bindModel(m *cohort.Model, p *plan.HazardModel) error {
	if err := s.modelRefusals(m, p); err != nil {
		return err
	}
	if p.Strata != nil {
		v, err := levelled(m, s.table, *p.Strata)
		if err != nil {
			return err
		}
		s.modelStrata = &v
	}
	if p.Offset != nil {
		var err error
		if s.offset, err = m.Expression(s.table, *p.Offset, value.Number); err != nil {
			return err
		}
	}
	for _, name := range p.Parametric {
		d := choose(lifetimeWords, name.Value).method
		if slices.Contains(s.parametric, d) {
			return name.Errorf(1, 1, "", "%q stands twice among the distributions", name.Value)
		}
		s.parametric = append(s.parametric, d)
	}
	s.ties, s.hasTies = p.Ties, p.Ties != ""
	if s.ties == "" {
		s.ties = stats.TiesEfron
		if p.Penalty != "" {
			s.ties = stats.TiesBreslow
		}
	}
	var names []string
	for _, name := range p.Terms {
		if slices.Contains(names, name.Value) {
			return name.Errorf(1, 1, "", "%q is in the model already", name.Value)
		}
		names = append(names, name.Value)
		if s.modelStrata != nil && s.modelStrata.Name == name.Value {
			return name.Errorf(1, 1, "", "%q is the variable of the strata, expected another", name.Value)
		}
		t, err := bindTerm(m, s.table, name, p.Reference)
		if err != nil {
			return err
		}
		if s.by != nil && s.by.written && !t.written && t.variable.Name == s.by.variable.Name {
			t.reference, t.written = s.by.reference, true
		}
		s.model = append(s.model, t)
	}
	if err := s.bindLater(m, p, names); err != nil {
		return err
	}
	if len(s.model) == 0 {
		return m.Plan.Fault(p.Position, "", "a model without terms, expected at least one")
	}
	if err := s.bindCurves(m, p); err != nil {
		return err
	}
	return checkReferences(m, p.Reference, names)
}

// modelRefusals refuses what a model cannot have together.
func (s *timeToEvent) modelRefusals(m *cohort.Model, p *plan.HazardModel) error {
	exact, penalised := p.Ties == stats.TiesExact, p.Penalty != ""
	weighted := s.plan.Weights != nil
	for _, c := range []struct {
		wrong bool
		text  string
	}{
		{(p.Ends || p.Incidence) && s.plan.Competing == nil, "ends or incidence of a model without competing ends, expected competing beside it"},
		{p.Incidence && (exact || p.Strata != nil), "incidence beside exact ties or strata: the model of the incidence has neither"},
		{p.Incidence && (p.Later != nil || p.Offset != nil || weighted || penalised), "incidence beside later, offset, weights or penalty: the model of the incidence has none of them"},
		{exact && p.Residuals, "residuals beside exact ties, which have none, expected efron or breslow"},
		{exact && s.cluster != nil, "exact ties beside cluster: they have no robust errors, expected efron or breslow"},
		{exact && weighted, "exact ties beside weights, expected efron or breslow"},
		{penalised && s.cluster != nil, "penalty beside cluster: it takes rows as independent, expected one of them"},
		{penalised && weighted, "penalty beside weights: it takes rows to count once, expected one of them"},
		{penalised && (exact || p.Ties == stats.TiesEfron), "penalty with ties other than breslow, expected breslow"},
		{penalised && p.Residuals, "residuals beside penalty, which has none"},
		{p.Adjusted && (p.Later != nil || penalised), "adjusted beside later or penalty: the curves of those models are not made"},
		{p.Frailty && s.cluster == nil, "frailty without cluster, expected the variable of the children beside it"},
		{p.Frailty && (exact || weighted || p.Offset != nil), "frailty beside exact ties, weights or an offset: its model has none of them"},
		{p.Parametric != nil && (p.Later != nil || p.Strata != nil || p.Offset != nil), "parametric beside later, strata or an offset: those models have none of them"},
	} {
		if c.wrong {
			return m.Plan.Fault(p.Position, "", c.text)
		}
	}
	return nil
}

// bindWeights checks the weights of the rows.
func (s *timeToEvent) bindWeights(m *cohort.Model) error {
	a := s.plan
	if a.Weights == nil {
		return nil
	}
	switch {
	case a.Bands != "":
		return m.Plan.Fault(a.Position, "", "bands beside weights: they have no form for them, expected one of them")
	case a.Competing != nil:
		return m.Plan.Fault(a.Position, "", "competing ends beside weights: cumulative incidences take rows to count once, expected one of them")
	case a.Interval != nil:
		return m.Plan.Fault(a.Position, "", "interval beside weights: the interval-censored curve takes rows to count once, expected one of them")
	case a.Horizon != nil:
		return m.Plan.Fault(a.Position, "", "horizon beside weights: differences of restricted means take rows to count once, expected one of them")
	case a.Tests != nil:
		return a.Tests[0].Errorf(1, 1, "", "tests beside weights: they take rows to count once; the model compares groups with weights")
	case a.Pairs != "":
		return m.Plan.Fault(a.Position, "", "pairs beside weights: tests take rows to count once; the model compares groups with weights")
	}
	var err error
	s.weights, err = m.Expression(s.table, *a.Weights, value.Number)
	return err
}
