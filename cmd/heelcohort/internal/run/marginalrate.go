package run

import (
	"slices"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/stats"
)

// marginals adds the marginal rates of the terms that the plan names, and their
// ratios and differences against the reference.
func (s *incidence) marginals(b *builder, d *design, f stats.Fit, time []float64, fitErr error) {
	m := s.model
	if len(m.marginal) == 0 {
		return
	}
	b.Methods += " Marginal rates are those that the model predicts were everybody at the level, averaged over the other terms as observed, " +
		"weighted by person-time, with limits by the delta method (on the log scale for rates and ratios)."
	b.cite("Lane 1982")
	opts := stats.MarginalOptions{Level: b.level, Per: s.per}
	for _, k := range m.marginal {
		t := m.terms[k]
		levels := t.variable.Levels()
		row := func(measure, term string) result.Row {
			r := b.row("marginal", measure)
			r.Variable, r.Term = t.variable.Name, term
			return r
		}
		rated := func(measure, term string) result.Row {
			r := row(measure, term)
			r.Unit = s.perUnit()
			return r
		}
		b.set("weights of marginal rates of "+t.variable.Name, "person-time", false)
		if fitErr != nil {
			r := rated("marginal rate", levels[t.reference])
			r.Reason = fitErr.Error()
			b.add(r)
			continue
		}
		reference := d.everybodyAt(t, t.reference)
		for l, level := range levels {
			if l != t.reference && !slices.Contains(d.columns, coefficient{t.variable.Name, level}) {
				continue // no row has it
			}
			everybody := d.everybodyAt(t, l)
			e, err := stats.MarginalRate(f, everybody, time, opts)
			b.add(b.estimate(rated("marginal rate", level), e, err))
			if l == t.reference {
				continue
			}
			against := level + " vs " + levels[t.reference]
			e, err = stats.MarginalRatio(f, everybody, reference, time, opts)
			b.add(b.estimate(row("marginal rate ratio", against), e, err))
			e, err = stats.MarginalDifference(f, everybody, reference, time, opts)
			b.add(b.estimate(rated("marginal rate difference", against), e, err))
		}
	}
}

// everybodyAt is the design with every row at one level of a term.
func (d *design) everybodyAt(t term, level int) [][]float64 {
	word := t.variable.Levels()[level]
	x := make([][]float64, len(d.x))
	for i, row := range d.x {
		x[i] = slices.Clone(row)
		for j, c := range d.columns {
			if c.variable != t.variable.Name {
				continue
			}
			x[i][j] = 0
			if c.level == word {
				x[i][j] = 1
			}
		}
		for _, c := range d.crossed {
			x[i][c[0]] = x[i][c[1]] * x[i][c[2]]
		}
	}
	return x
}
