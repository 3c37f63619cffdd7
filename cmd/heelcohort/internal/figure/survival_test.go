package figure

import (
	"math"
	"slices"
	"strings"
	"testing"

	"heelcohort/cmd/heelcohort/internal/result"
)

// same compares numbers, of which NaN is one.
func same(a, b []float64) bool {
	return slices.EqualFunc(a, b, func(x, y float64) bool { return x == y || math.IsNaN(x) && math.IsNaN(y) })
}

// Curves come in the order of the levels, each by time; what is withheld in
// the table is negative, which is drawn as a dash.
func TestSurvival(t *testing.T) {
	a, rows := survival()
	f, err := from(t, sealed(t, a, rows)).survival()
	if err != nil {
		t.Fatal(err)
	}
	if f.XLabel != "Time (days)" || !slices.Equal(f.Ticks, []float64{0, 14, 28}) || len(f.Curves) != 2 {
		t.Fatalf("x %q, ticks %v, %d curves", f.XLabel, f.Ticks, len(f.Curves))
	}
	nan := math.NaN()
	n, p := f.Curves[0], f.Curves[1]
	if n.Name != "Normal" || !same(n.Curve.Time, []float64{14, 28}) || !same(n.Curve.Survival, []float64{0.75, 0.5}) ||
		!slices.Equal(n.Curve.Censored, []int{0, 4}) {
		t.Errorf("first curve %+v", n)
	}
	if p.Name != "Pronated ≥ 6" || !same(p.Curve.Time, []float64{7, 21, 30}) || !same(p.Curve.Survival, []float64{0.5, 0.25, 0}) ||
		!same(p.Curve.Lower, []float64{0.06, nan, nan}) || !same(p.Curve.Upper, []float64{0.84, nan, nan}) {
		t.Errorf("second curve %+v", p)
	}
	if !slices.Equal(n.AtRisk, []int{8, 8, 6}) || !slices.Equal(n.Events, []int{0, 2, 4}) || !slices.Equal(n.Censored, []int{0, 0, 4}) {
		t.Errorf("first table %v %v %v", n.AtRisk, n.Events, n.Censored)
	}
	if !slices.Equal(p.AtRisk, []int{4, -1, 1}) || !slices.Equal(p.Events, []int{0, -1, 3}) || !slices.Equal(p.Censored, []int{0, -1, 0}) {
		t.Errorf("second table %v %v %v", p.AtRisk, p.Events, p.Censored)
	}
	if want := "Bands: pointwise 95% CI. Log-rank test: statistic 1.23, 1 df, P = 0.27."; f.Note != want {
		t.Errorf("note %q, want %q", f.Note, want)
	}
	if text := mustDraw(t, f).Text(); !strings.Contains(text, "Normal at 0: 100.0% with 8 at risk, 14: 75.0% with 8 at risk, 28: 50.0%") {
		t.Errorf("text %s", text)
	}
}

// A withheld step is a gap, and the note counts it.
func TestSurvivalSuppressed(t *testing.T) {
	a, rows := survival()
	for i := range rows {
		if r := &rows[i]; r.Part == "curve" && r.At == 21 {
			r.Estimate, r.Reason = none, "suppressed: fewer than 5 at risk"
		}
	}
	f, err := from(t, sealed(t, a, rows)).survival()
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(f.Note, "Not drawn: 1 suppressed.") || !math.IsNaN(f.Curves[1].Curve.Survival[1]) {
		t.Errorf("note %q, curve %v", f.Note, f.Curves[1].Curve.Survival)
	}
	mustDraw(t, f)
}

// A tick at which a group has no row is a dash, never a 0.
func TestRiskTableWithoutRow(t *testing.T) {
	a, rows := survival()
	rows = slices.DeleteFunc(rows, func(r result.Row) bool {
		return r.Part == "risk-table" && r.At == 28 && r.Groups[0].Level == "pronated"
	})
	f, err := from(t, sealed(t, a, rows)).survival()
	if err != nil {
		t.Fatal(err)
	}
	c := f.Curves[1]
	if c.AtRisk[2] != -1 || c.Events[2] != -1 || c.Censored[2] != -1 {
		t.Errorf("table %v %v %v, want −1 at the last tick", c.AtRisk, c.Events, c.Censored)
	}
}

// Without the table the figure still stands, with round ticks; without groups
// the curve has no name.
func TestSurvivalWithoutTableOrGroups(t *testing.T) {
	a, rows := survival()
	rows = slices.DeleteFunc(rows, func(r result.Row) bool {
		return r.Part == "risk-table" || len(r.Groups) > 0 && r.Groups[0].Level == "pronated"
	})
	for i := range rows {
		rows[i].Groups = nil
	}
	f, err := from(t, sealed(t, a, rows)).survival()
	if err != nil {
		t.Fatal(err)
	}
	if len(f.Curves) != 1 || f.Curves[0].Name != "" || f.Curves[0].AtRisk != nil || !slices.Equal(f.Ticks, []float64{0, 5, 10, 15, 20, 25}) {
		t.Errorf("ticks %v, curves %+v", f.Ticks, f.Curves)
	}
	mustDraw(t, f)
}

// Ticks that stand too close give way together with their numbers.
func TestTicksGiveWay(t *testing.T) {
	a, rows := survival()
	for i := range 200 {
		for _, level := range []string{"normal", "pronated"} {
			r := result.NewRow("a", "risk-table", "at risk")
			r.Groups, r.At, r.Estimate, r.N = in("arch", level), result.Number(29+i), 0, 0
			rows = append(rows, r)
		}
	}
	if _, err := Build(sealed(t, a, rows), "a"); err != nil {
		t.Error(err)
	}
}

func TestRoundTicks(t *testing.T) {
	for _, c := range []struct{ times, want []float64 }{
		{nil, []float64{0}},
		{[]float64{0}, []float64{0}},
		{[]float64{3, 30}, []float64{0, 5, 10, 15, 20, 25, 30}},
		{[]float64{365}, []float64{0, 100, 200, 300}},
		{[]float64{1}, []float64{0, 0.2, 0.4, 0.6, 0.8, 1}},
	} {
		got := roundTicks(c.times)
		if !slices.EqualFunc(got, c.want, func(a, b float64) bool { return math.Abs(a-b) < 1e-9 }) {
			t.Errorf("%v: %v, want %v", c.times, got, c.want)
		}
	}
}
