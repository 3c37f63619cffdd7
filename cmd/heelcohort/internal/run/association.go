package run

import (
	"context"
	"fmt"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/plan"
)

// association is an analysis of kind association.
type association struct {
	table    string
	outcome  cohort.Variable
	exposure term
	adjust   []term
	cluster  *cohort.Variable
	limits   plan.AssociationLimits // of the crude table
	table2k  tableChoices
	robust   robustChoices
	fitting  outcomeModel
	impute   *imputation
	graded   bool // the outcome is a category or a number
}

func bindAssociation(m *cohort.Model, a *plan.Association) (job, error) {
	s := &association{}
	var err error
	if s.table, err = tableOf(m, a.Table); err != nil {
		return nil, err
	}
	if s.outcome, err = m.Variable(s.table, a.Outcome); err != nil {
		return nil, err
	}
	if err := s.bindOutcome(m, a); err != nil {
		return nil, err
	}
	if s.exposure, err = bindTerm(m, s.table, a.Exposure, nil); err != nil {
		return nil, err
	}
	if a.Reference != nil {
		if s.exposure.variable.Levels() == nil {
			return nil, a.Reference.Errorf(1, 1, "", "exposure %q is a number and has no reference level", s.exposure.variable.Name)
		}
		if s.exposure.reference, err = m.Level(s.exposure.variable, *a.Reference); err != nil {
			return nil, err
		}
		s.exposure.written = true
	}
	if a.Limits != nil {
		if s.exposure.variable.Levels() == nil {
			return nil, m.Plan.Fault(a.Limits.Position, "", fmt.Sprintf("limits of risks, but exposure %q is a number and has no risks", s.exposure.variable.Name))
		}
		s.limits = *a.Limits
	}
	if err := s.bindTable(m, a); err != nil {
		return nil, err
	}
	if err := s.bindRobustness(m, a); err != nil {
		return nil, err
	}
	used := map[string]bool{s.outcome.Name: true}
	if used[s.exposure.variable.Name] {
		return nil, a.Exposure.Errorf(1, 1, "", "%q is the outcome, expected another variable", a.Exposure.Value)
	}
	used[s.exposure.variable.Name] = true
	for _, name := range a.Adjust {
		if used[name.Value] {
			return nil, name.Errorf(1, 1, "", "%q is in the model already", name.Value)
		}
		used[name.Value] = true
		t, err := bindTerm(m, s.table, name, nil)
		if err != nil {
			return nil, err
		}
		s.adjust = append(s.adjust, t)
	}
	if a.Cluster != nil {
		v, err := m.Variable(s.table, *a.Cluster)
		if err != nil {
			return nil, err
		}
		s.cluster = &v
	}
	if err := s.bindModel(m, a); err != nil {
		return nil, err
	}
	return s, s.bindImputation(m, a)
}

func (s *association) run(_ context.Context, c *cohort.Cohort, b *builder) error {
	t := c.Data.Table(s.table)
	b.Unit = s.table
	b.name(s.outcome)
	b.set("outcome", s.outcome.Name, true)
	b.set("exposure", s.exposure.variable.Name, true)
	b.setTerms(append([]term{s.exposure}, s.adjust...))
	outcome, exposure := t.Column(s.outcome.Name), t.Column(s.exposure.variable.Name)
	switch {
	case s.exposure.variable.Levels() == nil:
	case !s.graded:
		s.crude(b, t.Len(), outcome, exposure)
		s.pooled(b, t)
	case s.outcome.Levels() != nil:
		s.gradedTable(b, t)
	}
	if s.graded && !s.fitting.written {
		return nil
	}
	if len(s.adjust) > 0 || s.exposure.variable.Levels() == nil || s.cluster != nil || s.fitting.written {
		if err := s.model(b, t); err != nil {
			return err
		}
		s.imputed(b, t)
	}
	return s.robustness(b, t)
}
