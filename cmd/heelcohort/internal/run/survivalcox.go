package run

import (
	"slices"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/codebook/value"
	"heelcohort/stats"
)

// cox adds the model.
func (s *timeToEvent) cox(c *cohort.Cohort, b *builder, o *observed) {
	t := c.Data.Table(s.table)
	b.setTerms(s.model)
	b.set("ties", s.ties, s.hasTies)
	words, source := coxTies(s.ties)
	b.Methods += " Hazard ratios come from Cox regression with " + words
	b.cite("Cox 1972")
	if source != "" {
		b.cite(source)
	}
	if s.modelStrata != nil {
		b.name(*s.modelStrata)
		b.set("strata of the model", s.modelStrata.Name, true)
		b.Methods += ", a baseline hazard for each level of " + lowerLabel(*s.modelStrata)
	}
	usable := make([]bool, len(o.row))
	for i := range usable {
		usable[i] = true
	}
	opts := stats.CoxOptions{Level: b.level, Ties: s.ties}
	var ids []int
	if s.cluster != nil {
		all, known := clusters(t.Column(s.cluster.Name), t.Len())
		ids = make([]int, len(o.row))
		for i, row := range o.row {
			ids[i], usable[i] = all[row], known[row]
		}
		b.set("cluster", s.cluster.Name, true)
		b.Methods += " and errors robust to dependence within " + s.cluster.Label
		b.cite("Lin 1989")
	} else {
		b.set("cluster", "none: rows taken as independent", false)
	}
	b.Methods += "."
	var strata []int
	if s.modelStrata != nil {
		column := t.Column(s.modelStrata.Name)
		strata = make([]int, len(o.row))
		for i, row := range o.row {
			level, known := levelText(column, row)
			usable[i] = usable[i] && known
			strata[i] = slices.Index(s.modelStrata.Levels(), level)
		}
	}
	values := make([][]value.Value, len(s.model))
	for k, column := range tableValues(t, s.model) {
		for _, row := range o.row {
			values[k] = append(values[k], column[row])
		}
	}
	d, err := newDesign(s.model, values, usable)
	if err != nil {
		b.fit("model", "hazard ratio", nil, stats.Fit{}, err)
		return
	}
	b.removed("rows", "incomplete: not in the model", float64(len(o.row)-len(d.rows)))
	var rows observed
	for _, i := range d.rows {
		rows.take(o, i)
		if ids != nil {
			opts.Cluster = append(opts.Cluster, ids[i])
		}
		if strata != nil {
			opts.Strata = append(opts.Strata, strata[i])
		}
	}
	splineSettings(b, s.model)
	f, err := stats.FitCox(rows.Times, d.x, d.names(), opts)
	b.fit("model", "hazard ratio", d, f, err)
	s.splines(b, "", "hazard ratio", d, f, err)
	if err == nil && s.ties != stats.TiesExact {
		s.proportionality(b, d, f)
	}
	s.adjusted(c, b, d, &rows, opts, f, err)
	s.causes(b, d, &rows, opts)
}

// causes adds the models of the competing ends, and of cumulative incidences.
func (s *timeToEvent) causes(b *builder, d *design, rows *observed, opts stats.CoxOptions) {
	if s.plan.Model.Ends {
		b.Methods += " Hazard ratios of each competing end censor the other ends."
	}
	if s.plan.Model.Incidence {
		b.Methods += " Subdistribution hazard ratios, which compare cumulative incidences, come from Fine and Gray's model with censoring weights; rows that end at a time count as not at risk of censoring then."
		b.cite("Fine 1999")
	}
	for k, end := range s.ends() {
		cause := k + 1
		if cause > 1 && !s.plan.Model.Ends {
			continue
		}
		of := ""
		if cause > 1 {
			of = " of " + end
			times := rows.Times
			times.Status = make([]bool, len(rows.cause))
			for i, c := range rows.cause {
				times.Status[i] = c == cause
			}
			f, err := stats.FitCox(times, d.x, d.names(), opts)
			b.fit("model"+of, "hazard ratio", d, f, err)
			s.splines(b, of, "hazard ratio", d, f, err)
		}
		if s.plan.Model.Incidence {
			f, err := stats.FitFineGray(stats.CompetingTimes{Entry: rows.Entry, Exit: rows.Exit, Cause: rows.cause}, cause, d.x, d.names(),
				stats.FineGrayOptions{Ties: opts.Ties, Level: opts.Level, Cluster: opts.Cluster})
			b.fit("incidence model"+of, "subdistribution hazard ratio", d, f, err)
			s.splines(b, " of the incidence model"+of, "subdistribution hazard ratio", d, f, err)
		}
	}
}

// coxTies says how tied events are handled, with its source.
func coxTies(ties string) (words, source string) {
	switch ties {
	case stats.TiesBreslow:
		return "Breslow's handling of ties", "Breslow 1974"
	case stats.TiesExact:
		return "the exact conditional handling of ties", ""
	}
	return "Efron's handling of ties", "Efron 1977"
}
