package run

import (
	"fmt"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/codebook/document"
)

// states are the states of a recurrence, checked.
type states struct {
	plan    *plan.States
	onset   bool             // the clock runs from the first onset
	hold    float64          // share that may be in states nobody is under observation in
	cluster *cohort.Variable // nil: the participant
}

// bindStates checks the states of the plan; nil without them.
func (s *recurrence) bindStates(m *cohort.Model) (*states, error) {
	p := s.plan.States
	if p == nil {
		return nil, nil
	}
	fault := func(at document.Position, text string) (*states, error) { return nil, m.Plan.Fault(at, "", text) }
	if s.end == nil {
		return fault(p.Position, "states without the end of a spell, expected end in events: a spell without length is no state")
	}
	for i, t := range p.At {
		if t < 0 || i > 0 && t <= p.At[i-1] {
			return fault(p.Position, fmt.Sprintf("days %v of states, expected ascending days from 0 on", p.At))
		}
	}
	v, err := clusterOf(m, p.Cluster)
	if err != nil {
		return nil, err
	}
	k := &states{plan: p, onset: p.Clock != "start", cluster: v}
	if p.Unobserved != nil {
		k.hold = *p.Unobserved
	}
	return k, nil
}
