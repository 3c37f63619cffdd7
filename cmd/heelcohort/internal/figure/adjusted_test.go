package figure

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/plots"
)

// Adjusted curves have a figure without a table, with the ticks of that which has
// one as far as they go.
func TestAdjusted(t *testing.T) {
	a, rows := survival()
	step := func(level string, at, estimate, lower, upper result.Number) result.Row {
		r := of("adjusted curve", "survival", estimate, lower, upper)
		r.Groups, r.At = in("arch", level), at
		return r
	}
	withheld := step("normal", 28, none, none, none)
	withheld.Reason, withheld.Level = "suppressed: few", none
	rows = append(rows, step("pronated", 7, 0.6, 0.4, 0.8), step("pronated", 28, 0.3, 0.1, 0.5), step("normal", 7, 0.8, 0.7, 0.9), withheld)
	res := sealed(t, a, rows)
	f, err := from(t, res).adjusted()
	if err != nil {
		t.Fatal(err)
	}
	if len(f.Curves) != 2 || f.Curves[0].Name != "Normal" || !same(f.Curves[1].Curve.Survival, []float64{0.6, 0.3}) || f.Curves[0].AtRisk != nil {
		t.Errorf("curves %+v", f.Curves)
	}
	if !slices.Equal(f.Ticks, []float64{0, 14, 28}) || f.XLabel != "Time (days)" {
		t.Errorf("ticks %v, x %q", f.Ticks, f.XLabel)
	}
	if !strings.HasSuffix(f.Note, "as observed. Bands: pointwise 95% CI. Not drawn: 1 suppressed.") {
		t.Errorf("note %q", f.Note)
	}
	if text := mustDraw(t, f).Text(); !strings.Contains(text, "28: 30.0%") || strings.Contains(text, "at risk") {
		t.Errorf("text %s", text)
	}
	id := res.Analyses[0].ID
	if ids := IDs(res.Analyses[0], res.Rows); !slices.Equal(ids, []string{id, id + adjusted}) {
		t.Errorf("figures %v", ids)
	}
	if _, err := Build(res, id+adjusted); err != nil {
		t.Error(err)
	}
	b, plain := survival()
	if _, err := from(t, sealed(t, b, plain)).adjusted(); !errors.Is(err, plots.ErrNoData) {
		t.Errorf("without rows: %v", err)
	}
}
