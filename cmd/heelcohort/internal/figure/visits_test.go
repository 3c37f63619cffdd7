package figure

import (
	"errors"
	"slices"
	"testing"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/plots"
)

// change is an analysis by sex with rows over all, which a figure by sex leaves
// out; girls have a mean withheld, and one group has no value at all.
func change() (result.Analysis, []result.Row) {
	a := result.Analysis{Kind: "change", Title: "Pain", Variables: []result.Variable{
		{Name: "pain", Label: "Pain in sport", Unit: "mm"},
		{Name: "planned", Label: "Planned week", Levels: levels("w0", "Week 0", "w4", "Week 4")},
		{Name: "sex", Label: "Sex", Levels: levels("female", "Girls", "male", "Boys", "other", "Others")},
	}}
	var rows []result.Row
	for i, visit := range []string{"w0", "w4"} {
		r := of("visits", "median day", []result.Number{0, 29}[i], none, none)
		r.Groups, r.Level = in("planned", visit), none
		rows = append(rows, r)
	}
	for _, g := range [][]result.Group{in(), in("sex", "female"), in("sex", "male"), in("sex", "other")} {
		for i, visit := range []string{"w0", "w4"} {
			r := of("values", "mean", []result.Number{50, 30}[i], []result.Number{45, 22}[i], []result.Number{55, 38}[i])
			r.Groups, r.Variable, r.N = append(slices.Clone(g), in("planned", visit)...), "pain", 40
			switch {
			case len(g) > 0 && g[0].Level == "female" && i == 1:
				r = of("values", "mean", none, none, none)
				r.Groups, r.Variable, r.Reason, r.N, r.Level = append(slices.Clone(g), in("planned", visit)...), "pain", "suppressed: few", none, none
			case len(g) > 0 && g[0].Level == "other":
				r = of("values", "mean", none, none, none)
				r.Groups, r.Variable, r.Reason, r.N, r.Level = append(slices.Clone(g), in("planned", visit)...), "pain", "no observations", 0, none
			}
			rows = append(rows, r)
		}
	}
	test := of("model", "test of group by visit", none, none, none)
	test.P, test.Statistic, test.DF, test.Level, test.Reason = 0.0004, 12, 1, none, "a test"
	return a, append(rows, test)
}

func TestVisits(t *testing.T) {
	a, rows := change()
	f, err := from(t, sealed(t, a, rows)).visits()
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(f.Visits, []string{"Week 0", "Week 4"}) || !same(f.Days, []float64{0, 29}) || len(f.Series) != 2 ||
		f.Series[0].Name != "Girls" || f.Series[1].Name != "Boys" {
		t.Fatalf("%+v", f)
	}
	girls, boys := f.Series[0], f.Series[1]
	if !slices.Equal(girls.Counts, []int{40, -1}) || girls.Estimates[1].Value == girls.Estimates[1].Value || boys.Estimates[1].Lower != 22 {
		t.Errorf("girls %+v, boys %+v", girls, boys)
	}
	if want := "Pain in sport, mean in mm (95% CI)"; f.YLabel != want {
		t.Errorf("label %q, want %q", f.YLabel, want)
	}
	if want := "Not drawn: 1 suppressed, 2 not estimable. Group by visit, adjusted for the baseline: P < 0.001."; f.Note != want {
		t.Errorf("note %q, want %q", f.Note, want)
	}
	if _, err := f.Draw(); err != nil {
		t.Error(err)
	}
	if _, err := from(t, sealed(t, a, rows[:2])).visits(); !errors.Is(err, plots.ErrNoData) {
		t.Errorf("without means: %v", err)
	}
}
