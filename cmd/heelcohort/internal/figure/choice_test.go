package figure

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/plots"
)

// choose adds settings to the analysis by sport and age: key, value, …
func choose(pairs ...string) (result.Analysis, []result.Row) {
	a, rows := incidence()
	for i := 0; i < len(pairs); i += 2 {
		a.Settings = append(a.Settings, result.Setting{Key: pairs[i], Value: pairs[i+1]})
	}
	return a, rows
}

// Age stands along the x axis; cells of fewer than 5 events are hatched; a rate
// of 0, one withheld and one without person-time are told apart.
func TestHeatMap(t *testing.T) {
	a, rows := choose(Setting, HeatMap)
	for i := range rows {
		r := &rows[i]
		if slices.Equal(r.Groups, in("sport", "swimming", "age", "[9, 12)")) && r.Part == "rates" {
			r.Events, r.PersonTime = 0, 0
		}
	}
	s := from(t, sealed(t, a, rows))
	f, err := s.heatMap()
	if err != nil {
		t.Fatal(err)
	}
	nan := math.NaN()
	want := plots.HeatMap{
		Title: a.Title, XLabel: "Current age (years)", YLabel: "Sport", Unit: "Rate per 1,000 hours", FewName: "fewer than 5 events",
		Note: "In each cell: the rate, beneath it the number of events.", Columns: []string{"6 to 8", "9 to 11"}, Rows: []string{"Football", "Swimming"},
		Cells: [][]plots.HeatCell{
			{{Value: 1.25, Text: []string{"1.25", "9"}}, {Value: nan, Absent: "suppressed"}},
			{{Value: 0, Text: []string{"0", "0"}, Few: true}, {Value: nan, Absent: "no person-time"}},
		},
	}
	if d := cmp.Diff(want, f, cmpopts.EquateNaNs()); d != "" {
		t.Errorf("heat map (-want +got):\n%s", d)
	}
	drawn, err := Build(sealed(t, a, rows), "a")
	if err != nil {
		t.Fatal(err)
	}
	if !strings.HasPrefix(drawn.Text(), "Heat map:") {
		t.Errorf("text %q", drawn.Text())
	}
}

// The threshold is the plan's; 0 hatches nothing; events without person-time
// are not taken for an empty cell.
func TestHeatMapFew(t *testing.T) {
	for few, want := range map[string][2]bool{"": {false, true}, "10": {true, true}, "9": {false, true}, "0": {false, false}} {
		a, rows := choose(Setting, HeatMap, FewSetting, few)
		f, err := from(t, sealed(t, a, rows)).heatMap()
		if err != nil {
			t.Fatal(err)
		}
		if got := [2]bool{f.Cells[0][0].Few, f.Cells[1][0].Few}; got != want {
			t.Errorf("few %q: hatched %v, want %v", few, got, want)
		}
	}
	r := without("rates", "incidence rate", "events without person-time")
	r.Events, r.PersonTime = 1, 0
	if got := cellAbsent(r); got != "not estimable" {
		t.Errorf("events without person-time: %q", got)
	}
	if got := cellAbsent(result.Row{}); got != "not estimable" {
		t.Errorf("no row: %q", got)
	}
}

// Rows are ages, panels sports, and the line is the rate over all.
func TestDots(t *testing.T) {
	for axis, log := range map[string]bool{"": true, "log": true, "linear": false} {
		a, rows := choose(Setting, Dots, AxisSetting, axis)
		f, err := from(t, sealed(t, a, rows)).dots()
		if err != nil {
			t.Fatal(err)
		}
		if f.Log != log || f.Reference != 1 || f.ReferenceName != "rate over all" || f.Note != "Not drawn: 1 suppressed, 1 not estimable." {
			t.Errorf("axis %q: log %v, reference %v %q, note %q", axis, f.Log, f.Reference, f.ReferenceName, f.Note)
		}
		if !slices.Equal(f.Groups, []string{"6 to 8", "9 to 11"}) || f.GroupLabel != "Current age (years)" || f.XLabel != "Rate per 1,000 hours (95% CI)" {
			t.Errorf("rows %q of %q, axis %q", f.Groups, f.GroupLabel, f.XLabel)
		}
		if len(f.Panels) != 2 || f.Panels[0].Name != "Football" || f.Panels[1].Estimates[0].Upper != 0.92 {
			t.Errorf("panels %v", f.Panels)
		}
		if _, err := Build(sealed(t, a, rows), "a"); err != nil {
			t.Error(err)
		}
	}
}

// banded is an incidence analysis by age in bands, as a run writes them.
func banded() (result.Analysis, []result.Row) {
	a := result.Analysis{
		Kind: "incidence", Title: "By age", Settings: []result.Setting{{Key: Setting, Value: Curve}},
		Variables: []result.Variable{
			{Name: "sport", Label: "Sport", Levels: levels("judo", "")},
			{Name: "age", Label: "Age", Unit: "years", Levels: levels("6 to <8", "", "8 to <10.5", "", "10.5 to <17", "")},
		},
	}
	rate := func(level string, r result.Row) result.Row {
		r.Groups, r.Unit = in("age", level), "per 1,000 hours"
		return r
	}
	all := of("rates", "incidence rate", 9, 8, 10)
	sport := of("rates", "incidence rate", 7, 6, 8)
	sport.Groups = in("sport", "judo")
	return a, []result.Row{
		all, sport,
		rate("10.5 to <17", of("rates", "incidence rate", 3, 2, 5)),
		rate("6 to <8", of("rates", "incidence rate", 1, 0.5, inf)),
		rate("8 to <10.5", without("rates", "incidence rate", "no person-time")),
	}
}

// The steps run over the bands in order, and end where the last band does.
func TestBandCurve(t *testing.T) {
	a, rows := banded()
	f, err := from(t, sealed(t, a, rows)).bandCurve()
	if err != nil {
		t.Fatal(err)
	}
	nan := math.NaN()
	want := plots.Curves{
		Title: "By age", XLabel: "Age (years)", YLabel: "Rate per 1,000 hours (95% CI)", Ticks: []float64{6, 8, 10.5, 17}, Note: "Not drawn: 1 not estimable.",
		Curves: []plots.BandCurve{{
			X: []float64{6, 8, 10.5}, Estimate: []float64{1, nan, 3}, Lower: []float64{0.5, nan, 2}, Upper: []float64{math.Inf(1), nan, 5}, Form: plots.Steps, End: 17,
		}},
	}
	if d := cmp.Diff(want, f, cmpopts.EquateNaNs()); d != "" {
		t.Errorf("curve (-want +got):\n%s", d)
	}
	if _, err := Build(sealed(t, a, rows), "a"); err != nil {
		t.Error(err)
	}
	a.Variables[1].Levels[0].Value = "under 8"
	if _, err := from(t, sealed(t, a, rows)).bandCurve(); !errors.Is(err, plots.ErrNoData) {
		t.Errorf("without bands: %v, want ErrNoData", err)
	}
}

func TestBandBounds(t *testing.T) {
	for _, c := range []struct {
		levels []string
		want   []float64
	}{
		{[]string{"6 to <8", "8 to <10.5"}, []float64{6, 8, 10.5}},
		{[]string{"-1.5 to <0"}, []float64{-1.5, 0}},
		{[]string{"6 to <8", "9 to <10"}, nil}, // a hole
		{[]string{"8 to <6"}, nil},
		{[]string{"6 to 8", "8 to 10"}, nil}, // could be read two ways
		{[]string{"<6", "6 to <8"}, nil},
		{[]string{"6 to <8", "8 or more"}, nil},
		{nil, nil},
	} {
		got, ok := BandBounds(c.levels)
		if ok != (c.want != nil) || !slices.Equal(got, c.want) {
			t.Errorf("%q: %v %v, want %v", c.levels, got, ok, c.want)
		}
	}
}

// Rows at places make a curve a group, in the order of the places; a row
// without estimate is a gap, and so is a 0 on a log axis.
func TestCurves(t *testing.T) {
	row := func(sport string, at, estimate, lower, upper result.Number) result.Row {
		r := of("season", "incidence rate", estimate, lower, upper)
		if !estimate.Present() {
			r = without("season", "incidence rate", "suppressed")
		}
		r.Groups, r.At, r.Unit = in("sport", sport), at, "per 1,000 hours"
		return r
	}
	a, _ := incidence()
	loose := of("season", "incidence rate", 9, 8, 10) // stands nowhere
	rows := []result.Row{
		row("swimming", 2, 1, 0.5, 2), row("football", 3, 4, 3, 5), row("football", 1, 2, 1, 3), row("football", 2, none, none, none), row("swimming", 1, 0, 0, 1), loose,
	}
	add := curveFigure{kind: "incidence", suffix: "-season", curveOf: curveOf{
		part: "season", measure: "incidence rate", form: plots.Points, title: ": season", xLabel: "Week", yLabel: "Rate", reference: 2, referenceName: "rate over all",
	}}
	nan := math.NaN()
	want := plots.Curves{
		Title: a.Title + ": season", XLabel: "Week", YLabel: "Rate per 1,000 hours (95% CI)", Reference: 2, ReferenceName: "rate over all", Note: "Not drawn: 1 suppressed.",
		Curves: []plots.BandCurve{
			{Name: "Swimming", X: []float64{1, 2}, Estimate: []float64{0, 1}, Lower: []float64{0, 0.5}, Upper: []float64{1, 2}, Form: plots.Points},
			{Name: "Football", X: []float64{1, 2, 3}, Estimate: []float64{2, nan, 4}, Lower: []float64{1, nan, 3}, Upper: []float64{3, nan, 5}, Form: plots.Points},
		},
	}
	res := sealed(t, a, rows)
	f, err := from(t, res).curves(add.curveOf)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(want, f, cmpopts.EquateNaNs()); d != "" {
		t.Errorf("curves (-want +got):\n%s", d)
	}
	logged := add.curveOf
	logged.log = true
	if f, err = from(t, res).curves(logged); err != nil || !math.IsNaN(f.Curves[0].Estimate[0]) || !strings.Contains(f.Note, "On a log axis 1 of 0") {
		t.Errorf("on a log axis: %v, note %q, %v", f.Curves, f.Note, err)
	}

	// A line of the list is all that a figure needs.
	curveFigures = append(curveFigures, add)
	defer func() { curveFigures = curveFigures[:len(curveFigures)-1] }()
	if ids := IDs(res.Analyses[0], res.Rows); !slices.Equal(ids, []string{"a", "a-season"}) {
		t.Errorf("figures %q", ids)
	}
	if fig, err := Build(res, "a-season"); err != nil || !strings.HasPrefix(fig.Text(), "Curves:") {
		t.Errorf("a-season: %v", err)
	}
	if ids := IDs(result.Analysis{ID: "a", Kind: "describe"}, res.Rows); ids != nil {
		t.Errorf("another kind has figures %q", ids)
	}
}

// The width is the plan's.
func TestWidth(t *testing.T) {
	for _, choice := range []string{Rates, HeatMap, Dots} {
		for text, want := range map[string]float64{"84 mm": 84, "174 mm": 174, "": 174} {
			a, rows := choose(Setting, choice, WidthSetting, text)
			f, err := Build(sealed(t, a, rows), "a")
			if err != nil {
				t.Fatal(err)
			}
			if got := f.Size().Width; math.Abs(got-want) > 1e-6 {
				t.Errorf("%s, width %q: %v mm, want %v", choice, text, got, want)
			}
		}
	}
}

// No figure is none at all; a word that is none, or a setting of another
// shape, is an error and no figure.
func TestChoiceRefused(t *testing.T) {
	a, rows := choose(Setting, None)
	if ids := IDs(a, rows); ids != nil {
		t.Errorf("none: figures %q", ids)
	}
	for _, c := range []struct {
		pairs []string
		says  string
	}{
		{[]string{Setting, "pie"}, `no figure of rates is named "pie"`},
		{[]string{Setting, HeatMap, FewSetting, "several"}, `setting figure.few is "several"`},
		{[]string{Setting, Dots, AxisSetting, "square"}, `setting figure.axis is "square"`},
		{[]string{Setting, Curve}, "no variable has bands"},
		{[]string{WidthSetting, "84"}, `setting figure.width is "84"`},
		{[]string{WidthSetting, "8 mm"}, "width of 8 mm"},
	} {
		a, rows := choose(c.pairs...)
		if f, err := Build(sealed(t, a, rows), "a"); err == nil || f != nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%q: %v, want %q", c.pairs, err, c.says)
		}
	}
	a, rows = choose(Setting, HeatMap)
	rows = slices.DeleteFunc(rows, func(r result.Row) bool { return len(r.Groups) == 2 })
	if _, err := Build(sealed(t, a, rows), "a"); !errors.Is(err, plots.ErrNoData) {
		t.Errorf("heat map by one variable: %v, want ErrNoData", err)
	}
}
