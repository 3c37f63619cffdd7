package run

import (
	"context"
	"fmt"
	"math"
	"regexp"
	"strings"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/codebook/document"
	"heelcohort/stats"
)

// multiplicity is an analysis of kind multiplicity.
type multiplicity struct {
	patterns []string
	ids      []*regexp.Regexp
	method   chosen[stats.Multiplicity]
	written  bool
}

var multiplicityMethods = []chosen[stats.Multiplicity]{
	{"holm", stats.Holm, "Holm", "by Holm's method, which bounds the chance of any false finding", []string{"Holm 1979"}},
	{"bonferroni", stats.Bonferroni, "Bonferroni", "by Bonferroni's method, which bounds the chance of any false finding", []string{"Dunn 1961"}},
	{"hochberg", stats.Hochberg, "Hochberg", "by Hochberg's method, which bounds the chance of any false finding where tests are independent", []string{"Hochberg 1988"}},
	{"benjamini-hochberg", stats.BenjaminiHochberg, "Benjamini-Hochberg", "by Benjamini and Hochberg's method, which bounds the expected share of false findings", []string{"Benjamini 1995"}},
	{"benjamini-yekutieli", stats.BenjaminiYekutieli, "Benjamini-Yekutieli", "by Benjamini and Yekutieli's method, which bounds the expected share of false findings whatever the dependence", []string{"Benjamini 2001"}},
}

func bindMultiplicity(m *cohort.Model, a *plan.Multiplicity) (job, error) {
	s := &multiplicity{method: choose(multiplicityMethods, a.Method), written: a.Method != ""}
	var above []string
	for _, other := range m.Plan.Analyses {
		if other.Common() == a.Common() {
			break
		}
		above = append(above, other.Common().ID.Value)
	}
	for _, pattern := range a.Rows {
		of, _, ok := strings.Cut(pattern.Value, "/")
		known := false
		for _, id := range above {
			known = known || id == of
		}
		switch {
		case !ok:
			return nil, pattern.Errorf(1, 1, "", "found %q, expected the id of a row, such as table-3/adjusted/arch:*/odds ratio", pattern.Value)
		case !known:
			return nil, pattern.Errorf(1, 1, document.Nearest(of, above), "found a row of analysis %q, expected one that stands above: %s", of, strings.Join(above, ", "))
		}
		s.patterns = append(s.patterns, pattern.Value)
		s.ids = append(s.ids, regexp.MustCompile("^"+strings.ReplaceAll(regexp.QuoteMeta(pattern.Value), `\*`, "[^/]*")+"$"))
	}
	return s, nil
}

func (s *multiplicity) run(_ context.Context, _ *cohort.Cohort, b *builder) error {
	b.set("method", s.method.setting, s.written)
	b.set("rows", strings.Join(s.patterns, "; "), true)
	b.Methods = "P values of the declared family are adjusted " + s.method.sentence + "."
	b.cite(s.method.cite...)
	var family []result.Row
	var p []float64
	matched := make([]bool, len(s.ids))
	for _, r := range b.earlier {
		mine := false
		for i, id := range s.ids {
			if id.MatchString(r.Address()) {
				mine, matched[i] = true, true
			}
		}
		if mine {
			family = append(family, r)
			x := float64(r.P)
			if !r.P.Present() {
				x = math.NaN()
			}
			p = append(p, x)
		}
	}
	for i, ok := range matched {
		if !ok {
			b.warn(fmt.Sprintf("No row is named %s.", s.patterns[i]))
		}
	}
	if len(family) == 0 {
		r := b.row("family", "P value")
		r.Reason = "no row has any of the names"
		b.add(r)
		return nil
	}
	adjusted, err := stats.AdjustP(p, s.method.method)
	for i, of := range family {
		r := b.row("family", "P value")
		r.Term = of.Address()
		switch {
		case math.IsNaN(p[i]):
			r.Reason = "the row tests nothing"
			if of.Reason != "" {
				r.Reason = of.Reason
			}
		case err != nil:
			r.Reason = err.Error()
		default:
			r.Estimate, r.P, r.N = of.P, result.Number(adjusted.P[i]), result.Number(adjusted.Family)
			r.Method = "adjusted P by " + s.method.setting
		}
		b.add(r)
	}
	return nil
}
