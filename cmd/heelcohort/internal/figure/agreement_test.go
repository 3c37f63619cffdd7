package figure

import (
	"errors"
	"strings"
	"testing"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/plots"
)

// twoRaters is an analysis of two raters with two cells of the three that hold
// pairs.
func twoRaters() (result.Analysis, []result.Row) {
	a := result.Analysis{
		Kind: "agreement", Title: "Totals", Variables: []result.Variable{{Name: "one", Label: "First rater"}, {Name: "two", Label: "Second rater"}},
		Settings: []result.Setting{{Key: FewPairsSetting, Value: "5"}},
	}
	var rows []result.Row
	for _, r := range []result.Row{
		of("differences", "mean difference", 0.5, 0.1, 0.9),
		of("differences", "lower limit of agreement", -2, -3, -1.5),
		of("differences", "upper limit of agreement", 3, 2.5, 4),
	} {
		r.Term, r.Unit = "one and two", "points"
		rows = append(rows, r)
	}
	cell := func(mean, difference string, n result.Number) {
		r := of("cells", "pairs", n, none, none)
		r.Groups, r.Level = in("mean", mean, "difference", difference), none
		rows = append(rows, r)
	}
	cell("[0, 2)", "[-1, 0)", 7)
	cell("[2, 4)", "[0, 1)", 9)
	few := of("cells", "pairs in cells of few", 3, none, none)
	few.N, few.Level = 19, none
	return a, append(rows, few)
}

func TestAgreement(t *testing.T) {
	a, rows := twoRaters()
	f, err := from(t, sealed(t, a, rows)).agreement()
	if err != nil {
		t.Fatal(err)
	}
	want := []plots.AgreementCell{{Left: 0, Right: 2, Bottom: -1, Top: 0, Count: 7}, {Left: 2, Right: 4, Bottom: 0, Top: 1, Count: 9}}
	if len(f.Cells) != 2 || f.Cells[0] != want[0] || f.Cells[1] != want[1] {
		t.Errorf("cells %+v, want %+v", f.Cells, want)
	}
	if f.Bias.Value != 0.5 || f.Lower.Lower != -3 || f.Upper.Upper != 4 || f.BandName != "95% CI of each" {
		t.Errorf("lines %+v", f)
	}
	if f.YLabel != "Difference (First rater less Second rater), points" || f.Note != "3 of 19 pairs are in cells of fewer than 5 and not drawn." {
		t.Errorf("label %q, note %q", f.YLabel, f.Note)
	}
	if _, err := f.Draw(); err != nil {
		t.Error(err)
	}
	point := of("points", "difference", 1, none, none)
	point.At, point.Level, point.Term = 2.5, none, "pair 1"
	f, err = from(t, sealed(t, a, append(rows[:3:3], point))).agreement()
	if err != nil || len(f.Points) != 1 || f.Points[0] != (plots.AgreementPoint{Mean: 2.5, Difference: 1}) {
		t.Errorf("points %+v, error %v", f.Points, err)
	}
}

func TestAgreementWithoutCells(t *testing.T) {
	a, rows := twoRaters()
	few := rows[5]
	few.Estimate = 19
	_, err := Build(sealed(t, a, append(rows[:3:3], few)), "a")
	if !errors.Is(err, plots.ErrNoData) || !strings.Contains(err.Error(), "every cell holds fewer than 5 pairs") {
		t.Errorf("error %v", err)
	}
	rows[0].Estimate, rows[0].Lower, rows[0].Upper, rows[0].Level, rows[0].Reason = none, none, none, none, "no variation"
	if _, err := Build(sealed(t, a, rows), "a"); !errors.Is(err, plots.ErrNoData) || !strings.Contains(err.Error(), "no mean difference") {
		t.Errorf("error %v", err)
	}
	if got := IDs(result.Analysis{ID: "a", Kind: "agreement"}, nil); got != nil {
		t.Errorf("figures %q of categories", got)
	}
}
