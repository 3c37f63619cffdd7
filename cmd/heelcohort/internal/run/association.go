package run

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/codebook/value"
	"heelcohort/dataset"
	"heelcohort/stats"
)

// association is an analysis of kind association.
type association struct {
	table    string
	outcome  cohort.Variable
	exposure term
	adjust   []term
	cluster  *cohort.Variable
	limits   plan.RiskLimits // of the crude table
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
	if s.outcome.Kind != value.Bool {
		return nil, a.Outcome.Errorf(1, 1, "", "outcome %q is a %v, expected a boolean", s.outcome.Name, s.outcome.Kind)
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
	return s, nil
}

func (s *association) run(_ context.Context, c *cohort.Cohort, b *builder) error {
	t := c.Data.Table(s.table)
	b.Unit = s.table
	b.name(s.outcome)
	b.set("outcome", s.outcome.Name, true)
	b.set("exposure", s.exposure.variable.Name, true)
	b.setTerms(append([]term{s.exposure}, s.adjust...))
	outcome, exposure := t.Column(s.outcome.Name), t.Column(s.exposure.variable.Name)
	if s.exposure.variable.Levels() != nil {
		s.crude(b, t.Len(), outcome, exposure)
	}
	if len(s.adjust) > 0 || s.exposure.variable.Levels() == nil || s.cluster != nil {
		return s.model(b, t)
	}
	return nil
}

// crude adds the table of exposure by outcome.
func (s *association) crude(b *builder, rows int, outcome, exposure *dataset.Column) {
	levels := s.exposure.variable.Levels()
	place := map[string]int{}
	for i, level := range levels {
		place[level] = i
	}
	counts := make([][]int, len(levels)) // outcome yes, no
	for i := range counts {
		counts[i] = make([]int, 2)
	}
	n, noOutcome, noExposure := 0, 0, 0
	for i := range rows {
		level, known := levelText(exposure, i)
		had := outcome.Value(i)
		switch {
		case had.Missing:
			noOutcome++
		case !known:
			noExposure++
		default:
			at := 1
			if had.Bool {
				at = 0
			}
			counts[place[level]][at]++
			n++
		}
	}
	b.removed("rows", fmt.Sprintf("%s missing: not in the crude table", s.outcome.Label), float64(noOutcome))
	b.removed("rows", fmt.Sprintf("%s missing: not in the crude table", s.exposure.variable.Label), float64(noExposure))
	b.set("limits of odds ratios", "Woolf; exact conditional where a count is zero", false)
	risk, ratio, difference := b.riskLimits(s.limits)
	b.set("chi-square correction", "none", false)
	b.Methods = fmt.Sprintf("Crude odds ratios have Woolf's limits (the exact conditional estimate and limits where a count is zero), risk ratios %s, risk differences %s, and risks %s. The table is tested by Pearson's chi-square without continuity correction and by Fisher's exact test, two-sided by the probability method.", ratio.sentence, difference.sentence, risk.sentence)
	b.cite("Woolf 1955", "Cornfield 1956")
	b.cite(slices.Concat(ratio.cite, difference.cite, risk.cite)...)
	b.cite("Pearson 1900", "Freeman 1951")
	name := s.exposure.variable.Name
	for i, level := range levels {
		r := b.row("counts", "risk")
		r.Variable, r.Term = name, level
		size := counts[i][0] + counts[i][1]
		r.N, r.Events = result.Number(size), result.Number(counts[i][0])
		e, err := stats.Proportion(counts[i][0], size, stats.ProportionOptions{Level: b.level, Method: risk.method})
		b.add(b.estimate(r, e, err))
	}
	ref := counts[s.exposure.reference]
	opts := stats.LimitOptions{Level: b.level}
	for _, m := range []struct {
		measure string
		compute twoRisks
	}{
		{"odds ratio", oddsRatio}, {"risk ratio", ratio.method}, {"risk difference", difference.method},
	} {
		for i, level := range levels {
			if i == s.exposure.reference {
				continue
			}
			r := b.row("crude", m.measure)
			r.Variable, r.Term = name, level
			r.N = result.Number(counts[i][0] + counts[i][1] + ref[0] + ref[1])
			r.Events = result.Number(counts[i][0] + ref[0])
			e, err := m.compute(counts[i][0], counts[i][1], ref[0], ref[1], opts)
			b.add(b.estimate(r, e, err))
		}
	}
	var filled [][]int
	for i := range counts {
		if counts[i][0]+counts[i][1] > 0 {
			filled = append(filled, counts[i])
		}
	}
	chi, err := stats.ChiSquare(filled)
	b.test("tests", "chi-square", chi, n, err)
	fisher, err := stats.Fisher(filled)
	b.test("tests", "Fisher exact test", fisher, n, err)
}

// oddsRatio is Woolf's odds ratio, or the exact conditional one where a count
// is zero.
func oddsRatio(a, b, c, d int, opts stats.LimitOptions) (stats.Estimate, error) {
	e, err := stats.OddsRatio(a, b, c, d, opts)
	if errors.Is(err, stats.ErrZeroCell) {
		return stats.OddsRatioExact(a, b, c, d, opts)
	}
	return e, err
}

// model adds the logistic regression.
func (s *association) model(b *builder, t *dataset.Table) error {
	terms := append([]term{s.exposure}, s.adjust...)
	usable := make([]bool, t.Len())
	outcome := t.Column(s.outcome.Name)
	for i := range usable {
		usable[i] = !outcome.Value(i).Missing
	}
	opts := stats.GLMOptions{Level: b.level}
	var ids []int
	if s.cluster != nil {
		var known []bool
		ids, known = clusters(t.Column(s.cluster.Name), t.Len())
		for i := range usable {
			usable[i] = usable[i] && known[i]
		}
		b.set("cluster", s.cluster.Name, true)
		b.set("robust errors", "factor G/(G−1)", false)
		b.cite("Liang 1986")
	} else {
		b.set("cluster", "none: rows taken as independent", false)
	}
	if b.Methods != "" {
		b.Methods += " "
	}
	b.Methods += "Odds ratios of the model come from logistic regression by maximum likelihood on rows complete in all its variables, with Wald limits"
	if s.cluster != nil {
		b.Methods += " from errors that are robust to dependence within " + s.cluster.Label
	}
	b.Methods += "."
	b.cite("Hosmer 2000")
	part := "adjusted"
	if len(s.adjust) == 0 {
		part = "model"
	}
	d, err := newDesign(terms, tableValues(t, terms), usable)
	if err != nil {
		b.fit(part, "odds ratio", nil, stats.Fit{}, err)
		return nil
	}
	b.removed("rows", "incomplete: not in the "+part+" model", float64(t.Len()-len(d.rows)))
	y := make([]bool, len(d.rows))
	for r, i := range d.rows {
		y[r] = outcome.Value(i).Bool
		if ids != nil {
			opts.Cluster = append(opts.Cluster, ids[i])
		}
	}
	f, err := stats.FitLogistic(d.x, d.names(), y, opts)
	b.fit(part, "odds ratio", d, f, err)
	return nil
}

// tableValues are the values of each term's variable.
func tableValues(t *dataset.Table, terms []term) [][]value.Value {
	values := make([][]value.Value, len(terms))
	for k, m := range terms {
		c := t.Column(m.variable.Name)
		values[k] = make([]value.Value, t.Len())
		for i := range values[k] {
			values[k][i] = c.Value(i)
		}
	}
	return values
}
