package rerun

import (
	"math"
	"testing"

	"heelcohort/cmd/heelcohort/internal/result"
)

// oneRow is results of one analysis with a row for each estimate.
func oneRow(t *testing.T, estimates map[string]float64) *result.Results {
	t.Helper()
	res := &result.Results{Analyses: []result.Analysis{{ID: "a"}}}
	for _, measure := range []string{"one", "two", "three"} {
		x, there := estimates[measure]
		if !there {
			continue
		}
		r := result.NewRow("a", "part", measure)
		r.Estimate, r.Reason = result.Number(x), "for the test"
		res.Rows = append(res.Rows, r)
	}
	return res
}

// The verdict on two numbers, as the package's convention says it.
func TestVerdict(t *testing.T) {
	inf, nan := math.Inf(1), math.NaN()
	for _, c := range []struct {
		before, after, tolerance float64
		want                     string
	}{
		{1, 1, 0, Same},
		{0, math.Copysign(0, -1), 0, Same},
		{nan, nan, 1e-9, Same},
		{inf, inf, 1e-9, Same},
		{1, 1 + 1e-12, 1e-9, Within},
		{1, math.Nextafter(1, 2), 0, Moved},
		{1e-300, 1e-300 * (1 + 1e-12), 1e-9, Within},
		{1000, 1000.1, 1e-4, Within}, // 0.1/1000.1 is just below
		{1000.1, 1000, 1e-4, Within}, // the larger size, whichever side it is on
		{1000, 1000.11, 1e-4, Moved},
		{1, -1, 0.5, Moved},
		{0, 1e-300, 1e-9, Moved},
		{1, nan, 0.9, Moved},
		{nan, 0, 0.9, Moved},
		{1e308, inf, 0.9, Moved},
		{inf, -inf, 0.9, Moved},
		{math.MaxFloat64, -math.MaxFloat64, 0.9, Moved}, // the difference is beyond all numbers
	} {
		rows, counts := compare(oneRow(t, map[string]float64{"one": c.before}), oneRow(t, map[string]float64{"one": c.after}), c.tolerance)
		got := Same
		if len(rows) > 0 {
			got = rows[0].Verdict
		}
		if got != c.want || counts.Same+counts.Within+counts.Moved != 1 {
			t.Errorf("%v and %v within %v: %s, want %s", c.before, c.after, c.tolerance, got, c.want)
		}
	}
}

func TestGoneAndNew(t *testing.T) {
	rows, counts := compare(oneRow(t, map[string]float64{"one": 1, "two": 2}), oneRow(t, map[string]float64{"two": 2, "three": 3}), 0)
	if counts != (Counts{Same: 1, Gone: 1, New: 1}) || len(rows) != 2 {
		t.Fatalf("%+v, %+v", counts, rows)
	}
	gone, come := rows[0], rows[1]
	if gone.ID != "a/part/one" || gone.Verdict != Gone || len(gone.Numbers) != 1 || gone.Numbers[0].Before != 1 || gone.Numbers[0].After.Present() {
		t.Errorf("%+v", gone)
	}
	if come.ID != "a/part/three" || come.Verdict != New || len(come.Numbers) != 1 || come.Numbers[0].After != 3 || come.Numbers[0].Before.Present() {
		t.Errorf("%+v", come)
	}
}

// A row that stands twice in an edited file is gone once.
func TestTwice(t *testing.T) {
	stored := oneRow(t, map[string]float64{"one": 1})
	stored.Rows = append(stored.Rows, stored.Rows[0])
	if _, counts := compare(stored, oneRow(t, map[string]float64{"one": 1}), 0); counts != (Counts{Same: 1, Gone: 1}) {
		t.Errorf("%+v", counts)
	}
}

// Numbers beside the rows are compared too.
func TestBesideRows(t *testing.T) {
	stored, now := oneRow(t, nil), oneRow(t, nil)
	for i, res := range []*result.Results{stored, now} {
		n := result.Number(i)
		res.Flow = []result.FlowStep{{Table: "children", Step: "analysed", Left: 40 - i}}
		res.Findings = []result.Count{{Severity: "warning", Rule: "r", N: 1 + i}}
		res.Instruments = []result.Instrument{{Table: "children", Variable: "v", Values: 7 + i, Missing: []result.MissingCount{{Code: "NA", N: i}}}}
		res.Analyses[0].Accounting = []result.Removed{{What: "rows", Reason: "missing", N: n}}
	}
	if _, counts := compare(stored, now, 0); counts != (Counts{Moved: 5}) {
		t.Errorf("%+v", counts)
	}
}
