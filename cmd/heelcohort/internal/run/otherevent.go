package run

import (
	"context"
	"fmt"
	"strings"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/codebook/value"
)

// otherwiseSuffix ends the parts of rows by another definition of the event,
// before its label.
const otherwiseSuffix = " by "

// bindOtherwise makes the analysis again for each other definition of the event,
// of what is compared between definitions: groups, curve and Cox model.
func (s *timeToEvent) bindOtherwise(m *cohort.Model) error {
	for i := range s.plan.Otherwise {
		p := &s.plan.Otherwise[i]
		for _, other := range s.plan.Otherwise[:i] {
			if other.Label.Value == p.Label.Value {
				return p.Label.Errorf(1, 1, "", "label %q stands twice among the definitions", p.Label.Value)
			}
		}
		own, short := *s, *s.plan
		short.Otherwise, short.Competing, short.Interval, short.Horizon, short.Bands, short.Quantiles, short.Hazard = nil, nil, nil, nil, "", nil, false
		short.Event = plan.EndPoint{Day: p.Day, When: p.When, Position: p.Position}
		own.plan, own.otherwise, own.between, own.competing, own.parametric = &short, nil, nil, nil, nil
		if short.Model != nil {
			model := *short.Model
			model.Ends, model.Incidence, model.Residuals, model.Frailty, model.Adjusted, model.Parametric = false, false, false, false, false, nil
			short.Model = &model
		}
		var err error
		if own.end, err = m.Expression(s.table, p.Day, value.Number); err != nil {
			return err
		}
		if own.when, err = m.Expression(s.table, p.When, value.Bool); err != nil {
			return err
		}
		s.otherwise = append(s.otherwise, &own)
	}
	return nil
}

// byOtherwise adds the numbers of groups, the medians, the curve at the times of
// the plan and the model by each other definition of the event.
func (s *timeToEvent) byOtherwise(ctx context.Context, c *cohort.Cohort, b *builder) error {
	if s.otherwise == nil {
		return nil
	}
	b.Methods += " Beside the event as defined stand the same estimates by other definitions of it; with those, competing ends are censored."
	for i, own := range s.otherwise {
		label := s.plan.Otherwise[i].Label.Value
		b.set("defined otherwise, "+label, own.plan.Event.Day.Value+", when "+own.plan.Event.When.Value, true)
		scratch := &builder{level: b.level}
		scratch.ID, scratch.Line = b.ID, b.Line
		if err := own.run(ctx, c, scratch); err != nil {
			return err
		}
		for _, r := range scratch.rows {
			switch r.Part {
			case "size", "quantile", "at", "model":
				r.Part += otherwiseSuffix + label
				b.add(r)
			}
		}
		for _, removed := range scratch.Accounting {
			b.removed(removed.What, fmt.Sprintf("by %s: %s", label, removed.Reason), float64(removed.N))
		}
		for _, w := range scratch.Warnings {
			if strings.Contains(w, "penalty") || strings.Contains(w, "curve fell") {
				b.warn("By " + label + ": " + w)
			}
		}
		b.found = append(b.found, scratch.found...)
	}
	return nil
}
