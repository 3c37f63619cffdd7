package run

import (
	"math"
	"strings"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/stats"
)

// eventTerm is the term of the event among the ends.
const eventTerm = "event"

// ends are the terms of the ends by cause: the event, then the competing ones.
func (s *timeToEvent) ends() []string {
	terms := []string{eventTerm}
	for _, c := range s.plan.Competing {
		terms = append(terms, c.Label.Value)
	}
	return terms
}

// competingWords are the competing ends as a setting.
func (s *timeToEvent) competingWords() string {
	var words []string
	for _, c := range s.plan.Competing {
		words = append(words, c.Label.Value+": "+c.When.Value)
	}
	return strings.Join(words, "; ")
}

// incidence adds one group's cumulative incidences.
func (s *timeToEvent) incidence(b *builder, g []result.Group, o *observed) {
	if len(s.competing) == 0 {
		return
	}
	ends := s.ends()
	c, err := stats.CumulativeIncidence(stats.CompetingTimes{Entry: o.Entry, Exit: o.Exit, Cause: o.cause}, len(ends),
		stats.IncidenceOptions{Level: b.level, Limits: s.limits, Cluster: o.cluster})
	row := func(part, term string) result.Row {
		r := b.row(part, "cumulative incidence", g...)
		r.Term = term
		return r
	}
	if err != nil {
		r := row("incidence", eventTerm)
		r.Reason = err.Error()
		b.add(r)
		return
	}
	point := func(r result.Row, at float64, value, se, lower, upper float64) {
		r.At = result.Number(at)
		b.add(b.estimate(r, stats.Estimate{
			Value: value, SE: se, Lower: lower, Upper: upper, Level: c.Level, P: nan, Method: c.Method,
			Warnings: incidenceWarning(value, lower),
		}, nil))
	}
	for k, term := range ends {
		for i, at := range c.Time {
			r := row("incidence", term)
			r.N, r.Events = result.Number(c.AtRisk[i]), result.Number(c.Events[k][i])
			point(r, at, c.Incidence[k][i], c.SE[k][i], c.Lower[k][i], c.Upper[k][i])
		}
		for _, at := range s.plan.At {
			p := c.At(k+1, at)
			point(row("incidence at", term), at, p.Incidence, p.SE, p.Lower, p.Upper)
		}
	}
}

// gray adds Gray's test of each end.
func (s *timeToEvent) gray(b *builder, o *observed, groups []int, k int) {
	if len(s.competing) == 0 {
		return
	}
	b.Methods += " Cumulative incidences are compared by Gray's test."
	b.cite("Gray 1988")
	times := stats.CompetingTimes{Entry: o.Entry, Exit: o.Exit, Cause: o.cause}
	for cause, term := range s.ends() {
		test, err := stats.GrayTest(times, cause+1, groups, k, stats.GrayOptions{})
		r := b.testRow("tests", "Gray's test", test.Test, err)
		r.Term, r.N = term, result.Number(len(o.row))
		b.add(r)
	}
}

// incidenceWarning is the reason for absent limits of an incidence, or for no
// value.
func incidenceWarning(value, lower float64) []stats.Warning {
	if value == 0 && math.IsNaN(lower) {
		return []stats.Warning{{Code: "limit-not-estimable", Text: "No such end had come yet: there are no limits."}}
	}
	return limitWarning(value, lower)
}
