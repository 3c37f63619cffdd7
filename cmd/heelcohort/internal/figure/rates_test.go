package figure

import (
	"math"
	"slices"
	"strings"
	"testing"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/plots"
)

// Age is the x axis, as its levels are bands of numbers, though sport comes
// first; each cell of the table stands at its place; a suppressed cell and one
// without person-time are gaps that the note counts.
func TestRates(t *testing.T) {
	a, rows := incidence()
	s := from(t, sealed(t, a, rows))
	f, err := s.rates()
	if err != nil {
		t.Fatal(err)
	}
	if f.Title != a.Title || f.XLabel != "Current age (years)" || f.YLabel != "Rate per 1,000 hours (95% CI)" {
		t.Errorf("title %q, x %q, y %q", f.Title, f.XLabel, f.YLabel)
	}
	if !slices.Equal(f.Groups, []string{"6 to 8", "9 to 11"}) || len(f.Series) != 2 {
		t.Fatalf("groups %q, %d series", f.Groups, len(f.Series))
	}
	nan := math.NaN()
	for i, want := range []struct {
		name string
		at   [2][3]float64
	}{
		{"Football", [2][3]float64{{1.25, 0.57, 2.37}, {nan, nan, nan}}},
		{"Swimming", [2][3]float64{{0, 0, 0.92}, {nan, nan, nan}}},
	} {
		if f.Series[i].Name != want.name {
			t.Errorf("series %d is %q, want %q", i, f.Series[i].Name, want.name)
		}
		for j, w := range want.at {
			e := f.Series[i].Estimates[j]
			for k, got := range []float64{e.Value, e.Lower, e.Upper} {
				if got != w[k] && !(math.IsNaN(got) && math.IsNaN(w[k])) {
					t.Errorf("%s, %s: %v, want %v", want.name, f.Groups[j], e, w)
				}
			}
		}
	}
	if want := "Not drawn: 1 suppressed, 1 not estimable."; f.Note != want {
		t.Errorf("note %q, want %q", f.Note, want)
	}
	text := mustDraw(t, f).Text()
	for _, part := range []string{"Football 1.25 (0.57 to 2.37)", "Swimming 0 (0 to 0.92)", "Swimming no estimate", "1 suppressed"} {
		if !strings.Contains(text, part) {
			t.Errorf("text lacks %q: %s", part, text)
		}
	}
}

func mustDraw(t *testing.T, d interface{ Draw() (*plots.Figure, error) }) *plots.Figure {
	t.Helper()
	f, err := d.Draw()
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// By one variable there is one series without name.
func TestRatesByOneVariable(t *testing.T) {
	a, rows := incidence()
	rows = slices.DeleteFunc(rows, func(r result.Row) bool {
		return slices.ContainsFunc(r.Groups, func(g result.Group) bool { return g.Variable == "age" })
	})
	f, err := from(t, sealed(t, a, rows)).rates()
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(f.Groups, []string{"Football", "Swimming"}) || f.XLabel != "Sport" || len(f.Series) != 1 || f.Series[0].Name != "" {
		t.Fatalf("x %q, groups %q, series %v", f.XLabel, f.Groups, f.Series)
	}
	if e := f.Series[0].Estimates; e[0].Value != 1.5 || e[1].Value != 0.5 {
		t.Errorf("estimates %v", e)
	}
	if f.Note != "" {
		t.Errorf("note %q", f.Note)
	}
}

func TestBanded(t *testing.T) {
	for _, c := range []struct {
		levels []result.Level
		want   bool
	}{
		{levels("a", "6 to 7", "b", "8 to 9"), true},
		{levels("a", "< 10", "b", "10 to 12", "c", "≥ 13"), true},
		{levels("[6, 8)", "", "[8, 10)", ""), true},
		{levels("a", "−5 to 0", "b", "1 to 5"), true},
		{levels("a", "Under 10", "b", "10 and over"), true},
		{levels("a", "8 to 9", "b", "6 to 7"), false},
		{levels("football", "Football", "swimming", "Swimming"), false},
		{levels("a", "6 to 7"), false},
		{nil, false},
	} {
		s := &source{Analysis: result.Analysis{Variables: []result.Variable{{Name: "v", Label: "V", Levels: c.levels}}}}
		if got := s.banded("v"); got != c.want {
			t.Errorf("%v: %v, want %v", c.levels, got, c.want)
		}
	}
}
