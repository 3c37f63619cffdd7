package run

import (
	"math"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/stats"
)

// row starts a row of the analysis.
func (b *builder) row(part, measure string, groups ...result.Group) result.Row {
	r := result.NewRow(b.ID, part, measure)
	r.Groups = groups
	r.Line = b.Line
	return r
}

// add adds a row.
func (b *builder) add(r result.Row) { b.rows = append(b.rows, r) }

// estimate fills a row from an estimate, or gives the reason why there is none.
func (b *builder) estimate(r result.Row, e stats.Estimate, err error) result.Row {
	if err != nil {
		r.Reason = err.Error()
		return r
	}
	r.Estimate, r.Lower, r.Upper = result.Number(e.Value), result.Number(e.Lower), result.Number(e.Upper)
	r.SE, r.Level, r.P, r.Method = result.Number(e.SE), result.Number(e.Level), result.Number(e.P), e.Method
	for _, w := range e.Warnings {
		r.Warnings = append(r.Warnings, w.Text)
	}
	switch {
	case math.IsNaN(e.Value):
		r.Reason = "not estimable"
		if len(e.Warnings) > 0 {
			r.Reason = e.Warnings[0].Text
		}
	case math.IsNaN(e.Lower) || math.IsNaN(e.Upper):
		r.Reason = "a limit is not estimable"
		if len(e.Warnings) > 0 {
			r.Reason = e.Warnings[0].Text
		}
	}
	return r
}

// number fills a row with a plain number.
func number(r result.Row, x float64, reason string) result.Row {
	r.Estimate = result.Number(x)
	if math.IsNaN(x) {
		r.Reason = reason
	}
	return r
}

// test adds a row for a test.
func (b *builder) test(part, measure string, t stats.Test, n int, err error) {
	r := b.row(part, measure)
	r.N = result.Number(n)
	if err != nil {
		r.Reason = err.Error()
		b.add(r)
		return
	}
	r.Statistic, r.DF, r.P, r.Method = result.Number(t.Statistic), result.Number(t.DF), result.Number(t.P), t.Method
	for _, w := range t.Warnings {
		r.Warnings = append(r.Warnings, w.Text)
	}
	if math.IsNaN(t.Statistic) && math.IsNaN(t.P) {
		r.Reason = "not defined for these data"
		if len(t.Warnings) > 0 {
			r.Reason = t.Warnings[0].Text
		}
	}
	b.add(r)
}

// group is a variable held at a level.
func group(variable, level string) result.Group {
	return result.Group{Variable: variable, Level: level}
}
