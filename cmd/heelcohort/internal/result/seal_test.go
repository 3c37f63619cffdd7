package result

import (
	"math"
	"strings"
	"testing"
)

func TestSealRefuses(t *testing.T) {
	for _, test := range []struct {
		name   string
		change func(r *Row)
		want   string
	}{
		{"no reason", func(r *Row) { r.Estimate, r.P = None(), None() }, "no estimate and no reason"},
		{"no upper limit", func(r *Row) { r.Upper = None() }, "a limit is absent and no reason is given"},
		{"P", func(r *Row) { r.P = 1.5 }, "P is 1.5, expected 0 to 1"},
		{"P below", func(r *Row) { r.P = -0.5 }, "P is -0.5"},
		{"P unbounded", func(r *Row) { r.P = Number(math.Inf(1)) }, "P is unbounded"},
		{"level in percent", func(r *Row) { r.Level = 95 }, "level is 95, expected between 0 and 1"},
		{"limits", func(r *Row) { r.Lower, r.Upper = 3, 2 }, "lower limit 3 is above the upper limit 2"},
		{"n", func(r *Row) { r.N = -1 }, "n is -1, expected 0 or more"},
		{"events", func(r *Row) { r.Events = -1 }, "events is -1"},
		{"censored", func(r *Row) { r.Censored = -1 }, "censored is -1"},
		{"person-time", func(r *Row) { r.PersonTime = Number(math.Inf(1)) }, "person-time is unbounded"},
		{"error", func(r *Row) { r.SE = -1 }, "standard error is -1"},
		{"measure", func(r *Row) { r.Measure = "" }, "no part or no measure"},
		{"analysis", func(r *Row) { r.Analysis = "table-9" }, `no analysis "table-9"`},
	} {
		res := sample()
		test.change(&res.Rows[0])
		err := res.Seal()
		if err == nil || !strings.Contains(err.Error(), test.want) {
			t.Errorf("%s: error %v, want %q", test.name, err, test.want)
		}
	}
}

func TestSealAllows(t *testing.T) {
	for name, change := range map[string]func(r *Row){
		"reason":         func(r *Row) { r.Estimate, r.Lower, r.Upper, r.Reason = None(), None(), None(), "a cell is zero" },
		"test":           func(r *Row) { r.Estimate, r.Lower, r.Upper, r.Level = None(), None(), None(), None() },
		"statistic only": func(r *Row) { r.Estimate, r.P, r.Statistic, r.Level = None(), None(), 3, None() },
		"upper absent":   func(r *Row) { r.Upper, r.Reason = None(), "not reached" },
	} {
		res := sample()
		change(&res.Rows[0])
		if err := res.Seal(); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestSealUnique(t *testing.T) {
	res := sample()
	res.Rows = append(res.Rows, res.Rows[0])
	res.Analyses = append(res.Analyses, res.Analyses[0])
	err := res.Seal()
	for _, want := range []string{
		"row table-3/crude/arch:pronated/odds ratio: rows 0 and 1 have the same address",
		`analysis "table-3": the id is empty or given twice`,
	} {
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("error %v, want %q", err, want)
		}
	}
	for range 30 {
		res.Rows = append(res.Rows, res.Rows[0])
	}
	if err := res.Seal(); err == nil || !strings.Contains(err.Error(), "and 12 more") {
		t.Errorf("error %v, want the rest counted", err) // 31 rows and one analysis, 20 of them listed
	}
}

func TestFind(t *testing.T) {
	res := sample()
	timed := NewRow("table-3", "at", "survival")
	timed.At, timed.Estimate, timed.Groups = 28, 0.5, []Group{{"arch", "normal"}}
	res.Rows = append(res.Rows, timed)
	if err := res.Seal(); err != nil {
		t.Fatal(err)
	}
	for i, want := range res.Rows {
		r := want
		got, ok := res.Find(r.Analysis, r.Part, r.Groups, r.Variable, r.Term, r.Measure, r.At)
		if !ok || got.ID != want.ID {
			t.Errorf("row %d: found %q, %v, want %q", i, got.ID, ok, want.ID)
		}
	}
	for name, key := range map[string]Row{
		"time":  {Analysis: "table-3", Part: "at", Groups: timed.Groups, Measure: "survival", At: 29},
		"none":  {Analysis: "table-3", Part: "at", Groups: timed.Groups, Measure: "survival", At: None()},
		"group": {Analysis: "table-3", Part: "at", Groups: []Group{{"arch", "pronated"}}, Measure: "survival", At: 28},
		"part":  {Analysis: "table-3", Part: "curve", Groups: timed.Groups, Measure: "survival", At: 28},
	} {
		if r, ok := res.Find(key.Analysis, key.Part, key.Groups, key.Variable, key.Term, key.Measure, key.At); ok {
			t.Errorf("another %s: found %s", name, r.ID)
		}
	}
	if n := len(res.Of("table-3", "")); n != 2 {
		t.Errorf("%d rows of the analysis, want 2", n)
	}
	if n := len(res.Of("table-3", "at")); n != 1 {
		t.Errorf("%d rows of the part, want 1", n)
	}
}
