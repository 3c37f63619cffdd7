package run

import (
	"fmt"
	"slices"
	"strings"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/codebook/document"
	"heelcohort/stats"
)

// The families of the model of rates, as the plan names them.
const (
	poissonFamily  = "poisson"
	quasiFamily    = "quasi-poisson"
	negativeFamily = "negative-binomial"
)

// modelErrors is the plan's word for errors of the family.
const modelErrors = "model"

// bindFamily checks the family, its errors and their limits against each other,
// and the terms with marginal rates.
func (s *incidence) bindFamily(m *cohort.Model, p *plan.RateModel) error {
	r := s.model
	r.family, r.errors, r.limits = poissonFamily, modelErrors, string(stats.ReferenceNormal)
	if r.dispersion {
		r.family = quasiFamily
	}
	if p.Family != nil {
		r.family = p.Family.Value
		if p.Dispersion != "" && r.family != quasiFamily && (r.dispersion || r.family == negativeFamily) || p.Dispersion == "none" && r.family == quasiFamily {
			return p.Family.Errorf(1, 1, "", "family %s beside dispersion %s, expected the family alone", r.family, p.Dispersion)
		}
		r.dispersion = r.family == quasiFamily
	}
	if p.Cluster != nil {
		r.errors = string(stats.CR1)
	}
	if p.Errors != nil {
		r.errors = p.Errors.Value
		switch {
		case r.errors != modelErrors && p.Cluster == nil:
			return p.Errors.Errorf(1, 1, "", "errors %s without cluster, expected the variable of the clusters", r.errors)
		case r.errors == modelErrors && p.Cluster != nil:
			return p.Errors.Errorf(1, 1, "", "errors of the model beside cluster, expected one of them")
		}
	}
	if p.Limits != nil {
		r.limits = p.Limits.Value
		if p.Cluster == nil && r.limits != string(stats.ReferenceNormal) {
			return p.Limits.Errorf(1, 1, "", "limits %s without cluster, expected the variable of the clusters", r.limits)
		}
	}
	r.test = p.OverdispersionTest
	if s.first && r.family == negativeFamily {
		return p.Family.Errorf(1, 1, "", "family %s of first events, of which a child has at most one, expected episodes: all", r.family)
	}
	if s.first && r.test {
		return m.Plan.Fault(p.Position, "", "overdispersion_test of first events, of which a child has at most one, expected episodes: all")
	}
	r.byChild = p.Cluster != nil || r.family == negativeFamily || r.test
	if err := s.bindShapes(m, p); err != nil {
		return err
	}
	return s.bindMarginal(p)
}

func (s *incidence) bindMarginal(p *plan.RateModel) error {
	for i, name := range p.Marginal {
		at := slices.IndexFunc(s.model.terms, func(t term) bool { return t.variable.Name == name.Value })
		switch {
		case at < 0:
			names := termNames(s.model.terms)
			return name.Errorf(1, 1, document.Nearest(name.Value, names), "marginal rates of %q, expected a term of the model: %s", name.Value, strings.Join(names, ", "))
		case s.model.terms[at].variable.Levels() == nil:
			return name.Errorf(1, 1, "", "marginal rates of %q, which is a number, expected a term with levels", name.Value)
		case slices.ContainsFunc(p.Marginal[:i], func(o document.String) bool { return o.Value == name.Value }):
			return name.Errorf(1, 1, "", "%q stands twice in marginal", name.Value)
		}
		s.model.marginal = append(s.model.marginal, at)
	}
	return nil
}

// termNames are the names of the terms' variables.
func termNames(terms []term) []string {
	var names []string
	for _, t := range terms {
		names = append(names, t.variable.Name)
	}
	return names
}

// familyNames are the names of the models in sentences.
var familyNames = map[string]string{
	poissonFamily:  "Poisson regression",
	quasiFamily:    "Poisson regression",
	negativeFamily: "negative binomial regression",
}

// errorSentences say how robust errors were made.
var errorSentences = map[string]string{
	string(stats.CR0):  " (uncorrected)",
	string(stats.CR1):  "",
	string(stats.CR1S): " (corrected for the numbers of clusters, rows and coefficients)",
	string(stats.CR2):  " (bias-reduced, CR2)",
	string(stats.CR3):  " (jackknife-type, CR3)",
	biasReducedErrors:  " (bias-reduced, Mancl and DeRouen)",
}

// familySettings notes the choices of the family and says them.
func (s *incidence) familySettings(b *builder) {
	m, p := s.model, s.plan.Model
	dispersion := "none"
	if m.dispersion {
		dispersion = "pearson"
	}
	b.set("family", m.family, p.Family != nil || p.Dispersion == "pearson")
	if m.family != negativeFamily {
		b.set("dispersion", dispersion, p.Dispersion != "")
	}
	b.Methods += " Adjusted rate ratios come from " + familyNames[m.family] + " with the logarithm of person-time as offset and Wald limits"
	b.cite("McCullagh 1989")
	if m.family == negativeFamily {
		b.cite("Lawless 1987")
	}
	switch {
	case m.dispersion:
		b.Methods += " from errors scaled by Pearson's chi-square over its degrees of freedom"
	case m.cluster:
		b.Methods += " from errors robust to dependence within clusters" + errorSentences[m.errors]
		b.cite("Liang 1986")
		b.set("cluster", p.Cluster.Value, true)
	}
	b.set("errors", m.errors, p.Errors != nil)
	switch m.errors {
	case string(stats.CR2):
		b.cite("Bell 2002")
	case string(stats.CR3):
		b.cite("Mancl 2001")
	}
	if m.cluster {
		b.set("limits of the model", m.limits, p.Limits != nil)
		switch m.limits {
		case string(stats.ReferenceClusters):
			b.Methods += " and the t distribution with as many degrees of freedom as there are clusters more than coefficients"
		case string(stats.ReferenceSatterthwaite):
			b.Methods += " and the t distribution with Satterthwaite's degrees of freedom"
			b.cite("Bell 2002")
		}
	}
	b.Methods += "."
	if s.count == nil && m.byChild && !m.cluster {
		b.set("rows of the model", "cells of each child", false)
	}
	if m.test {
		b.Methods += " Overdispersion is tested by Dean's score and by Cameron and Trivedi's regressions, one-sided."
		b.cite("Dean 1992", "Cameron 1990")
	}
}

// fitFamily fits the model.
func (m *rateModel) fitFamily(d *design, events, time []float64, opts stats.GLMOptions) (stats.Fit, error) {
	if m.cluster {
		opts.Robust, opts.Reference = stats.RobustForm(m.errors), stats.RobustReference(m.limits)
	}
	if m.family == negativeFamily {
		return stats.FitNegativeBinomial(d.x, d.names(), events, time, opts)
	}
	return stats.FitPoisson(d.x, d.names(), events, time, opts)
}

// overdispersion adds the tests of overdispersion.
func (m *rateModel) overdispersion(b *builder, d *design, events, time []float64) {
	tests, err := stats.OverdispersionTests(d.x, d.names(), events, time)
	if err != nil {
		b.test("model", "score test of overdispersion", stats.Test{}, len(events), fmt.Errorf("tests of overdispersion: %w", err))
		return
	}
	for _, t := range tests {
		b.test("model", t.Name, t, len(events), nil)
	}
}
