package run

import (
	"math"
	"slices"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/stats"
)

// proportionality adds the tests of hazard ratios being constant in time, the
// concordance and, where asked, how each ratio seems to change.
func (s *timeToEvent) proportionality(b *builder, d *design, f stats.Fit) {
	b.proportionality(s.model, d, f)
	c, err := f.Concordance(b.level)
	r := b.row("model", "concordance")
	r.N, r.Events = result.Number(f.N), result.Number(f.Events)
	b.add(b.estimate(r, c.Concordance, err))
	if s.plan.Model.Residuals {
		s.overTime(b, d, f)
	}
}

// proportionality adds the tests of each term of a Cox model, and of all.
func (b *builder) proportionality(model []term, d *design, f stats.Fit) {
	b.Methods += " Hazard ratios are tested for being constant in time by the exact score test against the Kaplan–Meier scale of time."
	b.cite("Grambsch 1994", "Therneau 2000")
	var terms []stats.TermColumns
	for _, t := range model {
		if columns := d.columnsOf(t.variable.Name); columns != nil {
			terms = append(terms, stats.TermColumns{Name: t.variable.Name, Columns: columns})
		}
	}
	tests, err := f.ProportionalHazards(stats.ProportionalHazardsOptions{Terms: terms})
	row := func(variable string, t stats.Test) {
		r := b.testRow("proportionality", "test of proportional hazards", t, err)
		r.Variable, r.N = variable, result.Number(f.N)
		if err == nil && math.IsNaN(t.P) && len(t.Warnings) > 0 {
			r.Reason = t.Warnings[0].Text
		}
		b.add(r)
	}
	if err != nil {
		row("", stats.Test{})
		return
	}
	for i, t := range terms {
		row(t.Name, tests.Terms[i])
	}
	row("", tests.Global)
}

// overTime adds the smooth of the scaled residuals of each coefficient: the
// hazard ratio as it seems to run in time.
func (s *timeToEvent) overTime(b *builder, d *design, f stats.Fit) {
	b.set("residuals", "scaled Schoenfeld, natural spline of the Kaplan-Meier scale of time", true)
	residuals, err := f.ScaledSchoenfeld(stats.TimeKaplanMeier)
	row := func(j int) result.Row {
		r := b.row("over time", "hazard ratio")
		c := d.columns[j]
		for _, t := range s.model {
			if t.variable.Name == c.variable {
				r.Term = t.variable.Label
				if c.level != "" {
					r.Term += ": " + t.variable.LevelLabels()[slices.Index(t.variable.Levels(), c.level)]
				}
			}
		}
		return r
	}
	for j := range d.columns {
		if slices.Contains(d.shaped, j) {
			continue // columns of a spline have no ratio one by one
		}
		var curve stats.CoefficientCurve
		own := err
		if own == nil {
			curve, own = residuals.Smooth(j, stats.SmoothOptions{Level: b.level})
		}
		if own != nil {
			r := row(j)
			r.Reason = own.Error()
			b.add(r)
			continue
		}
		for i, at := range curve.Time {
			if i > 0 && at == curve.Time[i-1] {
				continue
			}
			r := row(j)
			r.At = result.Number(at)
			b.add(b.estimate(r, stats.Estimate{
				Value: math.Exp(curve.Smooth[i]), Lower: math.Exp(curve.Lower[i]), Upper: math.Exp(curve.Upper[i]),
				SE: curve.SE[i], Level: curve.Level, P: nan, Method: curve.Method,
			}, nil))
		}
	}
}
