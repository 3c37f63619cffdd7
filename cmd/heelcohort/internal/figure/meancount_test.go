package figure

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/plots"
)

// recurrence is an analysis by sex with rows over all, which a figure by sex
// leaves out; boys come first in the rows and second in the levels.
func recurrence() (result.Analysis, []result.Row) {
	a := result.Analysis{
		Kind: "recurrence", Title: "Spells", Variables: []result.Variable{{Name: "sex", Label: "Sex", Levels: levels("female", "Girls", "male", "Boys")}},
	}
	var rows []result.Row
	add := func(part, measure string, g []result.Group, at, value, lower, upper, n, events result.Number) {
		r := of(part, measure, value, lower, upper)
		r.Groups, r.At, r.N, r.Events = g, at, n, events
		if !lower.Present() {
			r.Level, r.Reason = none, "the limits are undefined"
		}
		rows = append(rows, r)
	}
	const count = "mean cumulative count"
	for _, g := range [][]result.Group{in(), in("sex", "male"), in("sex", "female")} {
		add("curve", count, g, 30, 0.75, 0.4, 1.4, 4, 2)
		add("curve", count, g, 10, 0.25, 0.05, 1.2, 4, 1)
		for i, at := range []result.Number{0, 20, 40} {
			r := of("risk-table", "at risk", []result.Number{4, 4, 1}[i], none, none)
			r.Groups, r.At, r.N, r.Events, r.Level = g, at, r.Estimate, []result.Number{0, 1, 3}[i], none
			rows = append(rows, r)
		}
	}
	test := of("tests", "score test", none, none, none)
	test.P, test.Statistic, test.DF, test.Level, test.Reason = 0.27, 1.23, 1, none, "a test"
	return a, append(rows, test)
}

func TestMeanCount(t *testing.T) {
	a, rows := recurrence()
	f, err := from(t, sealed(t, a, rows)).meanCount()
	if err != nil {
		t.Fatal(err)
	}
	if len(f.Curves) != 2 || f.Curves[0].Name != "Girls" || f.Curves[1].Name != "Boys" || !slices.Equal(f.Ticks, []float64{0, 20, 40}) {
		t.Fatalf("%+v", f)
	}
	c := f.Curves[0]
	if !same(c.Curve.Time, []float64{10, 30}) || !same(c.Curve.Count, []float64{0.25, 0.75}) || !same(c.Curve.Upper, []float64{1.2, 1.4}) ||
		!slices.Equal(c.AtRisk, []int{4, 4, 1}) || !slices.Equal(c.Events, []int{0, 1, 3}) || c.End != 40 {
		t.Errorf("curve %+v", c)
	}
	if want := "Bands: pointwise 95% CI. Score test: statistic 1.23, 1 df, P = 0.27."; f.Note != want {
		t.Errorf("note %q, want %q", f.Note, want)
	}
	if f.YLabel != "Mean spells per child" {
		t.Errorf("label %q", f.YLabel)
	}
	figure, err := Build(sealed(t, a, rows), "a")
	if err != nil || !strings.Contains(figure.Text(), "Boys at 0: 0.000 with 4 at risk, 20: 0.250 with 4 at risk, 40: 0.750 with 1 at risk") {
		t.Errorf("%v: %s", err, figure.Text())
	}
	for i := range rows {
		if r := &rows[i]; r.Part == "curve" {
			r.Estimate, r.Lower, r.Upper, r.Reason = none, none, none, "suppressed: fewer than 5 at risk"
		}
	}
	if f, err = from(t, sealed(t, a, rows)).meanCount(); err != nil || !math.IsNaN(f.Curves[0].Curve.Count[0]) || !strings.Contains(f.Note, "suppressed") {
		t.Errorf("suppressed: %v, %+v", err, f)
	}
	if _, err = from(t, sealed(t, a, nil)).meanCount(); !errors.Is(err, plots.ErrNoData) {
		t.Errorf("no rows: %v", err)
	}
}
