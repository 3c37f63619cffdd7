package run

import (
	"fmt"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/codebook/document"
	"heelcohort/codebook/value"
)

// recurrence is an analysis of kind recurrence.
type recurrence struct {
	plan            *plan.Recurrence
	m               *incidence // reads intervals and onsets; without groups
	gap, per        float64
	end, over       *cohort.Formula // of the onsets: nil is the onset, and always
	start           *cohort.Formula // of the participants
	ends            *cohort.Formula
	by              *cohort.Variable
	group           *cohort.Formula
	leftOut, amount bool
	model           *recurrenceModel // nil: none
	states          *states          // nil: none
}

func bindRecurrence(m *cohort.Model, a *plan.Recurrence) (job, error) {
	s := &recurrence{plan: a, gap: *a.Gap, per: 1, leftOut: a.During == "left-out"}
	if a.Per != nil {
		s.per = *a.Per
	}
	atRisk, err := s.observation(m)
	if err != nil {
		return nil, err
	}
	s.amount = atRisk.Amount != nil
	s.m = &incidence{participants: m.Participants, per: s.per, unit: a.Unit, plan: &plan.Incidence{
		Head: a.Head, AtRisk: atRisk, Episodes: "all", Unit: a.Unit,
		Events: plan.Events{Table: a.Events.Table, Day: &a.Events.Day, When: a.Events.When, Position: a.Events.Position},
	}}
	if err := s.m.bindTables(m); err != nil {
		return nil, err
	}
	var end, over, ends *plan.Expression
	if e := a.Events.End; e != nil {
		end, over = &e.Day, e.When
	}
	if a.Ends != nil {
		ends = &a.Ends.When
	}
	for _, f := range []struct {
		table string
		from  *plan.Expression
		to    **cohort.Formula
		kind  value.Kind
	}{
		{s.m.events, end, &s.end, value.Number},
		{s.m.events, over, &s.over, value.Bool},
		{m.Participants, a.Start, &s.start, value.Number},
		{m.Participants, ends, &s.ends, value.Bool},
	} {
		if f.from == nil {
			continue
		}
		if *f.to, err = m.Expression(f.table, *f.from, f.kind); err != nil {
			return nil, err
		}
	}
	if a.By != nil {
		v, err := levelled(m, m.Participants, *a.By)
		if err != nil {
			return nil, err
		}
		s.by = &v
		if s.group, err = m.Expression(m.Participants, plan.Expression{String: *a.By}, v.Kind); err != nil {
			return nil, err
		}
	}
	for _, list := range [][]float64{a.At, a.Ticks} {
		for i, t := range list {
			if t < 0 || i > 0 && t <= list[i-1] {
				return nil, m.Plan.Fault(a.Common().Position, "", fmt.Sprintf("times %v of analysis %q, expected ascending times from 0 on", list, a.ID.Value))
			}
		}
	}
	if s.model, err = s.bindModel(m); err != nil {
		return nil, err
	}
	if s.states, err = s.bindStates(m); err != nil {
		return nil, err
	}
	return s, nil
}

// observation is where the days under observation stand: intervals of a table,
// or one interval a participant.
func (s *recurrence) observation(m *cohort.Model) (plan.AtRisk, error) {
	a := s.plan
	fault := func(at document.Position, text string) (plan.AtRisk, error) {
		return plan.AtRisk{}, m.Plan.Fault(at, "", text)
	}
	switch {
	case a.AtRisk != nil && a.Exit != nil:
		return fault(a.Exit.Position, "exit beside at_risk, expected one of them")
	case a.AtRisk != nil && a.Entry != nil:
		return fault(a.Entry.Position, "entry beside at_risk, expected one of them")
	case a.AtRisk != nil:
		return *a.AtRisk, nil
	case a.Exit == nil:
		return fault(a.Position, fmt.Sprintf("analysis %q has no at_risk and no exit, expected one of them to say which days are under observation", a.ID.Value))
	}
	from := a.Entry
	if from == nil {
		from = &plan.Expression{String: document.String{Value: "0", Position: a.Exit.Position}}
	}
	return plan.AtRisk{
		Table: document.String{Value: m.Participants, Position: a.Exit.Position}, From: from, To: a.Exit, Position: a.Exit.Position,
	}, nil
}
