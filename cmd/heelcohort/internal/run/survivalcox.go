package run

import (
	"errors"
	"slices"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/codebook/value"
	"heelcohort/stats"
)

// cox adds the models.
func (s *timeToEvent) cox(c *cohort.Cohort, b *builder, o *observed) error {
	s.describeModel(b)
	fitted, err := s.modelRows(c, b, o)
	if err != nil {
		return err
	}
	d := fitted.design
	if d == nil {
		b.fit("model", "hazard ratio", nil, stats.Fit{}, fitted.err)
		return nil
	}
	splineSettings(b, s.model)
	f, err := s.fitHazard(fitted, fitted.Times)
	f = fitted.add(b, "model", "hazard ratio", f, err)
	s.splines(b, "", "hazard ratio", d, f, err)
	switch {
	case errors.Is(err, stats.ErrSeparation) && s.plan.Model.Penalty == "":
		b.warn("The likelihood of the Cox model has no maximum, as where a group has no event: penalty: firth, without cluster, gives estimates and limits that are finite.")
	case err == nil && s.plan.Model.Penalty == "" && s.ties != stats.TiesExact:
		s.proportionality(b, d, f)
		s.influence(b, fitted, f)
	}
	s.adjusted(c, b, d, &fitted.observed, fitted.cox, f, err)
	s.sharedFrailty(b, fitted)
	s.causes(b, fitted)
	s.parametricModels(b, fitted)
	return nil
}

// describeModel says how the model is made, and sets down its choices.
func (s *timeToEvent) describeModel(b *builder) {
	p := s.plan.Model
	b.setTerms(s.model)
	b.set("ties", s.ties, s.hasTies)
	words, source := coxTies(s.ties)
	b.Methods += " Hazard ratios come from Cox regression with " + words
	b.cite("Cox 1972")
	if source != "" {
		b.cite(source)
	}
	if p.Penalty != "" {
		b.set("penalty", p.Penalty, true)
		b.Methods += ", its likelihood penalised by Firth's method, with profile limits and P of the penalised likelihood ratio"
		b.cite("Firth 1993", "Heinze 2001")
	}
	if s.modelStrata != nil {
		b.name(*s.modelStrata)
		b.set("strata of the model", s.modelStrata.Name, true)
		b.Methods += ", a baseline hazard for each level of " + lowerLabel(*s.modelStrata)
	}
	if s.offset != nil {
		b.set("offset", p.Offset.Value, true)
		b.Methods += ", with a known part of the logarithm of the hazard"
	}
	if s.cluster != nil {
		b.set("cluster", s.cluster.Name, true)
		b.Methods += " and errors robust to dependence within " + s.cluster.Label
		b.cite("Lin 1989")
	} else {
		b.set("cluster", "none: rows taken as independent", false)
		if s.weights != nil {
			b.Methods += " and robust errors"
			b.cite("Lin 1989")
		}
	}
	b.Methods += "."
	for _, l := range p.Later {
		how := l.Day.Value
		if l.Never != nil {
			how += ", never where " + l.Never.Value
		}
		b.set("later."+l.Name.Value, how, true)
		b.Methods += " The term " + s.laterLabel(l.Name.Value) + " holds after the day on which it begins; time until then is time without it."
	}
}

// laterLabel is the label of a later term.
func (s *timeToEvent) laterLabel(name string) string {
	for _, l := range s.later {
		if l.variable.Name == name {
			return l.variable.Label
		}
	}
	return name
}

// A fittedRows are the rows of a model: complete in its terms, cut where later
// terms begin.
type fittedRows struct {
	observed
	design *design // nil where there is none
	err    error   // why
	n      int     // rows before they were cut
	cox    stats.CoxOptions
}

// modelRows are the rows of o that are complete in the model, with its matrix.
func (s *timeToEvent) modelRows(c *cohort.Cohort, b *builder, o *observed) (*fittedRows, error) {
	t := c.Data.Table(s.table)
	pieces, of, later, err := s.split(c, b, o)
	if err != nil {
		return nil, err
	}
	usable := make([]bool, len(pieces.row))
	for i := range usable {
		usable[i] = true
	}
	fitted := &fittedRows{cox: stats.CoxOptions{Level: b.level, Ties: s.ties}}
	var ids, strata []int
	if s.cluster != nil {
		all, known := clusters(t.Column(s.cluster.Name), t.Len())
		ids = make([]int, len(pieces.row))
		for i, row := range pieces.row {
			ids[i], usable[i] = all[row], known[row]
		}
	}
	if s.modelStrata != nil {
		column := t.Column(s.modelStrata.Name)
		strata = make([]int, len(pieces.row))
		for i, row := range pieces.row {
			level, known := levelText(column, row)
			usable[i] = usable[i] && known
			strata[i] = slices.Index(s.modelStrata.Levels(), level)
		}
	}
	var offset []value.Value
	if s.offset != nil {
		if offset, err = c.Values(s.offset); err != nil {
			return nil, err
		}
		for i, row := range pieces.row {
			usable[i] = usable[i] && !offset[row].Missing
		}
	}
	ofTable := s.model[:len(s.model)-len(s.later)]
	values := make([][]value.Value, len(ofTable), len(s.model))
	for k, column := range tableValues(t, ofTable) {
		for _, row := range pieces.row {
			values[k] = append(values[k], column[row])
		}
	}
	values = append(values, later...)
	if fitted.design, fitted.err = newDesign(s.model, values, usable); fitted.err != nil {
		return fitted, nil
	}
	last := -1
	for _, i := range fitted.design.rows {
		fitted.take(pieces, i)
		if of[i] != last {
			fitted.n++
		}
		last = of[i]
		if ids != nil {
			fitted.cox.Cluster = append(fitted.cox.Cluster, ids[i])
		}
		if strata != nil {
			fitted.cox.Strata = append(fitted.cox.Strata, strata[i])
		}
		if offset != nil {
			fitted.cox.Offset = append(fitted.cox.Offset, offset[pieces.row[i]].Number)
		}
	}
	fitted.cox.Weights = fitted.weight
	if s.weights != nil && s.later != nil && ids == nil {
		fitted.cox.Cluster = fitted.row // pieces of a row are not independent rows
	}
	b.removed("rows", "incomplete: not in the model", float64(len(o.row)-fitted.n))
	return fitted, nil
}

// add adds the rows of a model of these rows, which count as they were before
// they were cut.
func (rows *fittedRows) add(b *builder, part, ratio string, f stats.Fit, err error) stats.Fit {
	f.N = rows.n
	b.fit(part, ratio, rows.design, f, err)
	if err != nil {
		b.rows[len(b.rows)-1].N = result.Number(rows.n)
	}
	return f
}

// fitHazard fits the model of the hazard of some end, by its status.
func (s *timeToEvent) fitHazard(rows *fittedRows, times stats.Times) (stats.Fit, error) {
	if s.plan.Model.Penalty == "" {
		return stats.FitCox(times, rows.design.x, rows.design.names(), rows.cox)
	}
	return stats.FitFirthCox(times, rows.design.x, rows.design.names(), stats.FirthCoxOptions{
		Level: rows.cox.Level, Strata: rows.cox.Strata, Offset: rows.cox.Offset,
	})
}

// causes adds the models of the competing ends, and of cumulative incidences.
func (s *timeToEvent) causes(b *builder, rows *fittedRows) {
	d, opts := rows.design, rows.cox
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
			f, err := s.fitHazard(rows, times)
			rows.add(b, "model"+of, "hazard ratio", f, err)
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
