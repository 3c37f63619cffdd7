package run

import (
	"heelcohort/codebook/value"
	"heelcohort/dataset"
	"heelcohort/stats"
)

// model adds the logistic regression.
func (s *association) model(b *builder, t *dataset.Table) error {
	if s.cluster != nil {
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
	return s.fitLogistic(b, t, s.modelPart())
}

// fitLogistic adds the rows of the model of the outcome.
func (s *association) fitLogistic(b *builder, t *dataset.Table, part string) error {
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

// modelPart is the part of the model's rows.
func (s *association) modelPart() string {
	if len(s.adjust) == 0 {
		return "model"
	}
	return "adjusted"
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
