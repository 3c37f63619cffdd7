package run

import (
	"context"

	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/stats"
)

// TiesResults are results with one handling of tied events.
type TiesResults struct {
	Ties    string
	Results *result.Results
}

// OtherTies computes the Cox models of a study again with each handling of ties
// that the plan does not choose, in the order of Efron, Breslow and exact; one
// that a model cannot have is left out. Results hold the analyses with a Cox
// model alone.
func OtherTies(ctx context.Context, dir string) ([]TiesResults, error) {
	var out []TiesResults
	for _, ties := range []string{stats.TiesEfron, stats.TiesBreslow, stats.TiesExact} {
		s, err := Read(dir)
		if err != nil {
			return nil, err
		}
		var analyses []plan.Analysis
		var jobs []job
		for _, a := range s.Plan.Analyses {
			chosen := tiesOf(a)
			if chosen == nil {
				continue
			}
			before := *chosen
			if before == "" {
				before = stats.TiesEfron
			}
			*chosen = ties
			if j, err := bind(s.model, a); err == nil && before != ties {
				analyses, jobs = append(analyses, a), append(jobs, j)
			}
		}
		if analyses == nil {
			continue
		}
		s.Plan.Analyses, s.jobs = analyses, jobs
		o, err := s.Compute(ctx, "", Watch{})
		if err != nil {
			return nil, err
		}
		out = append(out, TiesResults{ties, o.Results})
	}
	return out, nil
}

// tiesOf is where an analysis chooses the ties of its Cox model; nil without one.
func tiesOf(a plan.Analysis) *string {
	switch a := a.(type) {
	case *plan.TimeToEvent:
		if a.Model != nil {
			return &a.Model.Ties
		}
	case *plan.Recurrence:
		if a.Model != nil {
			return &a.Model.Ties
		}
	}
	return nil
}
