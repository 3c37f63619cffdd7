package run

import (
	"fmt"
	"math"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/stats"
)

// checkAdjusted refuses adjusted curves of a model that has none.
func (s *timeToEvent) checkAdjusted(m *cohort.Model, p *plan.HazardModel) error {
	switch {
	case !p.Adjusted:
		return nil
	case p.Ties == stats.TiesExact:
		return m.Plan.Fault(p.Position, "", "adjusted beside exact ties, whose model has no curves, expected efron or breslow")
	case s.by == nil:
		return m.Plan.Fault(p.Position, "", "adjusted without by: it compares groups, expected by beside the model")
	}
	for _, t := range s.model {
		if t.variable.Name == s.by.variable.Name {
			return nil
		}
	}
	return m.Plan.Fault(p.Position, "", fmt.Sprintf("adjusted, but %q of by is no term of the model, expected it among the terms", s.by.variable.Name))
}

// An adjustment is what the rows of adjusted curves are made of.
type adjustment struct {
	s      *timeToEvent
	b      *builder
	curves stats.AdjustedCurves
	of     []int // the curve of each level of by; -1 without rows in the model
	ends   string
}

// adjusted adds the curves that the model predicts were all its rows in each group.
func (s *timeToEvent) adjusted(c *cohort.Cohort, b *builder, d *design, rows *observed, opts stats.CoxOptions, f stats.Fit, fitErr error) {
	if !s.plan.Model.Adjusted {
		return
	}
	b.set("adjusted curves", "mean over the rows of the model, covariates as sampled", true)
	who := "row"
	if s.cluster != nil {
		who = lowerLabel(*s.cluster)
	}
	b.Methods += fmt.Sprintf(" Adjusted curves are the share without the event that the Cox model predicts were all its rows in one group, averaged over the rows with their other covariates as observed; "+
		"errors are made of the influence of each %s on the coefficients, the baseline hazard and the average, so that covariates count as a sample. Limits are %s, those of differences and restricted means symmetric.", who, s.limits)
	b.cite("Chang 1982", "Reid 1985")
	a := &adjustment{s: s, b: b}
	err := fitErr
	if err == nil {
		err = a.compute(c, d, rows, opts, f)
	}
	if err != nil {
		r := b.row("adjusted", "survival")
		r.Reason = err.Error()
		b.add(r)
		return
	}
	a.steps()
	for _, at := range s.plan.At {
		a.at(at)
	}
	if s.plan.Horizon != nil {
		a.restricted(*s.plan.Horizon)
	}
}

// compute makes the curves.
func (a *adjustment) compute(c *cohort.Cohort, d *design, rows *observed, opts stats.CoxOptions, f stats.Fit) error {
	by := a.s.by.variable
	levels := by.Levels()
	last := make([]float64, len(levels)) // of each group's own rows
	seen := make([]bool, len(levels))
	column := c.Data.Table(a.s.table).Column(by.Name)
	for i, row := range rows.row {
		level, _ := levelText(column, row)
		for g := range levels {
			if levels[g] == level {
				last[g], seen[g] = math.Max(last[g], rows.Exit[i]), true
			}
		}
	}
	if err := a.strata(rows, opts.Strata); err != nil {
		return err
	}
	own := d.columnsOf(by.Name)
	var x [][][]float64
	for g, level := range levels {
		if !seen[g] {
			a.of = append(a.of, -1)
			continue
		}
		a.of = append(a.of, len(x))
		set := make([][]float64, len(d.x))
		for i, row := range d.x {
			set[i] = append([]float64(nil), row...)
			for _, j := range own {
				set[i][j] = 0
				if d.columns[j].level == level {
					set[i][j] = 1
				}
			}
		}
		x = append(x, set)
	}
	var err error
	if a.curves, err = f.AdjustedSurvival(x, stats.AdjustedOptions{Level: a.b.level, Limits: a.s.limits}); err != nil {
		return err
	}
	for _, w := range a.curves.Warnings {
		a.b.warn("Adjusted curves: " + w.Text)
	}
	for g, label := range by.LevelLabels() {
		if seen[g] && last[g] < a.curves.End {
			a.b.warn(fmt.Sprintf("Adjusted curves: in the model %s %s was followed up to %s; later its curve is what the model makes of the other groups.", by.Label, label, shortNumber(last[g])))
		}
	}
	return nil
}

// strata refuses a stratum without events, and says where follow-up ends first.
func (a *adjustment) strata(rows *observed, strata []int) error {
	if strata == nil {
		a.ends = "follow-up"
		return nil
	}
	v := a.s.modelStrata
	first := math.Inf(1)
	for h, label := range v.LevelLabels() {
		end, events, any := math.Inf(-1), 0, false
		for i, k := range strata {
			if k == h {
				any, end = true, math.Max(end, rows.Exit[i])
				if rows.Status[i] {
					events++
				}
			}
		}
		switch {
		case any && events == 0:
			return fmt.Errorf("%w in %s %s, whose baseline hazard is not known", stats.ErrNoEvents, v.Label, label)
		case any && end < first:
			first, a.ends = end, "follow-up of "+v.Label+" "+label
		}
	}
	return nil
}

// steps adds the curves.
func (a *adjustment) steps() {
	for g, k := range a.of {
		if k < 0 {
			r := a.row("adjusted curve", "survival", g)
			r.Reason = "no row of the model is of this group"
			a.b.add(r)
			continue
		}
		curve := a.curves.Curves[k]
		for i, at := range a.curves.Time {
			r := a.row("adjusted curve", "survival", g)
			r.At = result.Number(at)
			a.b.add(a.b.estimate(r, stats.Estimate{
				Value: curve.Survival[i], Lower: curve.Lower[i], Upper: curve.Upper[i], SE: curve.SE[i], Level: a.curves.Level, P: nan,
				Method: a.s.limits + " limits, " + a.curves.Method, Warnings: limitWarning(curve.Survival[i], curve.Lower[i]),
			}, nil))
		}
	}
}

// at adds survival and its differences at a time of the plan.
func (a *adjustment) at(t float64) {
	values, err := a.curves.At(t)
	a.level("survival", "survival difference", "", t, values, err)
}

// restricted adds the areas under the curves and their differences.
func (a *adjustment) restricted(horizon float64) {
	values, err := a.curves.RestrictedMeans(horizon)
	a.level("restricted mean time", "restricted mean difference", a.s.unit, horizon, values, err)
}

// level adds a number of each group, and its difference from the reference.
func (a *adjustment) level(of, difference, unit string, at float64, values stats.AdjustedValues, err error) {
	if err != nil && at > a.curves.End {
		err = fmt.Errorf("the adjusted curves end at %s, when %s ends", shortNumber(a.curves.End), a.ends)
	}
	put := func(r result.Row, k int, estimate func() (stats.Estimate, error)) {
		r.At, r.Unit = result.Number(at), unit
		if err != nil || k < 0 {
			r.Reason = "no row of the model is of this group"
			if err != nil {
				r.Reason = err.Error()
			}
			a.b.add(r)
			return
		}
		e, own := estimate()
		e.Warnings = nil // said once for all
		if own == nil {
			e.Warnings = limitWarning(e.Value, e.Lower)
		}
		a.b.add(a.b.estimate(r, e, own))
	}
	levels, reference := a.s.by.variable.Levels(), a.s.by.reference
	for g, k := range a.of {
		r := a.row("adjusted", of, g)
		r.N = result.Number(a.curves.N)
		put(r, k, func() (stats.Estimate, error) { return values.Values[k], nil })
	}
	for g, k := range a.of {
		if g == reference {
			continue
		}
		r := a.b.row("adjusted", difference)
		r.Variable, r.Term = a.s.by.variable.Name, levels[g]+" vs "+levels[reference]
		put(r, min(k, a.of[reference]), func() (stats.Estimate, error) { return values.Difference(k, a.of[reference]) })
	}
}

// row starts a row of a group.
func (a *adjustment) row(part, measure string, g int) result.Row {
	v := a.s.by.variable
	return a.b.row(part, measure, group(v.Name, v.Levels()[g]))
}
