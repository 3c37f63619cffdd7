package run

import (
	"slices"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/codebook/document"
	"heelcohort/stats"
)

// A recurrenceModel is the Cox model of a recurrence, checked.
type recurrenceModel struct {
	terms   []term
	layout  string // a word of the plan
	largest int    // number of a spell; 0: no bound
	frailty bool
	ties    string
	cluster *cohort.Variable // nil: the participant

	hasLayout, hasTies bool
}

// bindModel checks the model of the plan; nil without one.
func (s *recurrence) bindModel(m *cohort.Model) (*recurrenceModel, error) {
	p := s.plan.Model
	if p == nil {
		return nil, nil
	}
	k := &recurrenceModel{layout: plan.LayoutAndersenGill, frailty: p.Frailty, ties: p.Ties, hasTies: p.Ties != ""}
	at := p.Position
	if p.Layout != nil {
		k.layout, k.hasLayout, at = p.Layout.Value, true, p.Layout.Position
	}
	if p.Largest != nil {
		k.largest = *p.Largest
	}
	if k.ties == "" {
		k.ties = stats.TiesEfron
	}
	fault := func(at document.Position, text string) (*recurrenceModel, error) {
		return nil, m.Plan.Fault(at, "", text)
	}
	switch {
	case k.ties == stats.TiesExact:
		return fault(p.Position, "exact ties in a model of spells, which has no robust errors with them, expected efron or breslow")
	case k.layout == plan.LayoutAndersenGill && k.largest > 0:
		return fault(at, "largest beside the layout andersen-gill, which has no numbers of spells, expected total-time, gap-time or marginal")
	case k.layout == plan.LayoutMarginal && k.largest == 0:
		return fault(at, "the layout marginal without largest, expected the number of the last spell modelled")
	case k.layout == plan.LayoutMarginal && k.frailty:
		return fault(at, "frailty beside the layout marginal, which leaves a child's spells to depend as they may, expected one of them")
	case len(p.Terms) == 0:
		return fault(p.Position, "a model without terms, expected at least one")
	}
	var names []string
	for _, name := range p.Terms {
		if slices.Contains(names, name.Value) {
			return nil, name.Errorf(1, 1, "", "%q is in the model already", name.Value)
		}
		names = append(names, name.Value)
		t, err := bindTerm(m, m.Participants, name, p.Reference)
		if err != nil {
			return nil, err
		}
		k.terms = append(k.terms, t)
	}
	if err := checkReferences(m, p.Reference, names); err != nil {
		return nil, err
	}
	var err error
	k.cluster, err = clusterOf(m, p.Cluster)
	return k, err
}

// clusterOf finds a variable of the participants that clusters them; nil for
// none.
func clusterOf(m *cohort.Model, name *document.String) (*cohort.Variable, error) {
	if name == nil {
		return nil, nil
	}
	v, err := m.Variable(m.Participants, *name)
	return &v, err
}

// clustersOf are the clusters of the participants by row, and whether they are
// known: each its own without a variable.
func (s *recurrence) clustersOf(c *cohort.Cohort, v *cohort.Variable) (ids []int, known []bool) {
	t := c.Data.Table(s.m.participants)
	if v != nil {
		return clusters(t.Column(v.Name), t.Len())
	}
	known = make([]bool, t.Len())
	for i := range known {
		known[i] = true
	}
	return everyRow(t.Len()), known
}
