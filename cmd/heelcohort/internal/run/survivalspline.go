package run

import (
	"slices"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/stats"
)

// bindCurves gives the model's numbers their splines, and checks what else has
// curves.
func (s *timeToEvent) bindCurves(m *cohort.Model, p *plan.HazardModel) error {
	var terms []*term
	for i := range s.model {
		terms = append(terms, &s.model[i])
	}
	if err := bindSplines(m, terms, p.Spline); err != nil {
		return err
	}
	return s.checkAdjusted(m, p)
}

// splines adds what the splines of a model say: ratios of the knots against the
// reference, tests, and of the model of the event the ratio all along.
func (s *timeToEvent) splines(b *builder, of, ratio string, d *design, f stats.Fit, fitErr error) {
	shapeRows(b, "shapes"+of, s.model, ratio, d, f, fitErr)
	if of != "" || fitErr != nil {
		return
	}
	said := false
	for _, t := range s.model {
		if t.shape == nil {
			continue
		}
		if !said {
			b.Methods += " Curves along a number are hazard ratios against its reference, with pointwise limits; they run over the values that occur."
			said = true
		}
		columns, zero := d.coefficients(f, t.variable.Name), t.shape.row(t.shape.reference)
		grid := t.shape.grid()
		if h := t.shape; h.least <= h.reference && h.reference <= h.most && !slices.Contains(grid, h.reference) {
			grid = append(grid, h.reference)
			slices.Sort(grid)
		}
		for _, x := range grid {
			combination := make([]float64, len(f.Coefficients))
			for j, v := range t.shape.row(x) {
				combination[columns[j]] = v - zero[j]
			}
			e := f.Ratio("", combination, b.level)
			e.P = nan
			r := b.row("smooth", ratio)
			r.Variable, r.At = t.variable.Name, result.Number(x)
			b.add(b.estimate(r, e, nil))
		}
	}
}
