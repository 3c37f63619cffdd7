package run

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/stats"
)

// shared is why groups that share days are not compared as independent.
const shared = "days that several intervals of a child cover count in more than one level of %s, so that the levels share person-time: give an amount of person-time, such as hours"

// apart reports whether the levels of the grouping have person-time of their
// own. Days of overlapping intervals with different levels they share; amounts
// never. At -1 it asks for the cells of all groupings.
func (s *incidence) apart(p *persontime, g int) bool {
	if !p.calendar {
		return true
	}
	all := make([]int, len(s.by))
	for i := range all {
		all[i] = -1
	}
	var parts stats.Sum
	for _, at := range s.margins() {
		within := 0
		for i, l := range at {
			if l >= 0 && (g < 0 || i == g) {
				within++
			}
		}
		if g < 0 && within == len(s.by) || g >= 0 && within == 1 && (len(s.by) == 1 || at[1-g] < 0) {
			parts.Add(p.sum(at).time)
		}
	}
	total := p.sum(all).time
	return parts.Total() <= total*(1+1e-9)
}

// rateTests adds the tests of homogeneity and trend between the levels of each
// grouping.
func (s *incidence) rateTests(b *builder, p *persontime) {
	if !s.choices.homogeneity && !s.choices.trend {
		return
	}
	for g, by := range s.by {
		v := by.variable
		var scores []float64
		if s.choices.trend {
			scores = s.choices.scores[g]
		}
		if scores != nil {
			var said []string
			for _, x := range scores {
				said = append(said, strconv.FormatFloat(x, 'g', -1, 64))
			}
			b.set("trend scores."+v.Name, strings.Join(said, ", "), s.choices.written[g])
		}
		var events []int
		var times, used []float64
		var empty []string
		for l, level := range v.Levels() {
			at := slices.Repeat([]int{-1}, len(s.by))
			at[g] = l
			c := p.sum(at)
			if c.time == 0 && c.events == 0 {
				empty = append(empty, level)
				continue
			}
			events, times = append(events, c.events), append(times, c.time)
			if scores != nil {
				used = append(used, scores[l])
			}
		}
		add := func(measure string, t stats.Test, err error) {
			if !s.apart(p, g) {
				t, err = stats.Test{}, fmt.Errorf(shared, v.Label)
			}
			r := b.testRow("tests", measure, t, err)
			r.Variable = v.Name
			n := 0
			for _, k := range events {
				n += k
			}
			r.Events = result.Number(n)
			if len(empty) > 0 {
				r.Warnings = append(r.Warnings, "Left out, being without person-time: "+strings.Join(empty, ", ")+".")
			}
			b.add(r)
		}
		if s.choices.homogeneity {
			t, err := stats.RateHomogeneity(events, times)
			add("homogeneity of rates", t, err)
		}
		if scores != nil {
			t, err := stats.RateTrend(events, times, used)
			add("trend of rates", t, err)
		}
	}
	if s.choices.homogeneity {
		b.Methods += " Homogeneity of rates is tested by Pearson's chi-square given all events."
		b.cite("Breslow 1987")
	}
	if s.choices.trend {
		b.Methods += " Trend of rates is the score test of a log-linear trend in the scores of the levels."
		b.cite("Armitage 1955", "Breslow 1987")
	}
}

// testRow is a row of a test, or of the reason why there is none.
func (b *builder) testRow(part, measure string, t stats.Test, err error) result.Row {
	r := b.row(part, measure)
	if err != nil {
		r.Reason = err.Error()
		return r
	}
	r.Statistic, r.DF, r.P, r.Method = result.Number(t.Statistic), result.Number(t.DF), result.Number(t.P), t.Method
	for _, w := range t.Warnings {
		r.Warnings = append(r.Warnings, w.Text)
	}
	return r
}
