package proposal

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"heelcohort/cmd/heelcohort/internal/printedtable"
	"heelcohort/cmd/heelcohort/internal/result"
)

// results are of two sexes with and without pain, and of a ratio.
func results(t *testing.T) *result.Results {
	t.Helper()
	res := &result.Results{Computed: true, Analyses: []result.Analysis{{
		ID: "table-1", Kind: "describe", Title: "Children", Variables: []result.Variable{
			{Name: "sex", Label: "Sex", Levels: []result.Level{{Value: "female", Label: "Female"}, {Value: "male", Label: "Male"}}},
			{Name: "pain", Label: "Heel pain", Levels: []result.Level{{Value: "true"}}},
		},
	}}}
	for _, g := range []struct {
		level string
		count result.Number
	}{{"female", 12}, {"male", 9}} {
		for _, measure := range []string{"count", "percent"} {
			r := result.NewRow("table-1", "values", measure)
			r.Groups, r.Variable, r.Term = []result.Group{{Variable: "sex", Level: g.level}}, "pain", "true"
			if r.Estimate, r.N = g.count, 30; measure == "percent" {
				r.Estimate, r.Events = g.count*100/30, g.count
			}
			res.Rows = append(res.Rows, r)
		}
	}
	if err := res.Seal(); err != nil {
		t.Fatal(err)
	}
	return res
}

// The wanted addresses are read off the table's labels.
func TestPropose(t *testing.T) {
	const text = ",Girls,Boys\n,(n = 30),(n = 30)\n\"Heel pain, yes, n (%)\",12 (40.0),9 (30.1)\nHeight,150.2 (8.1),151.3 (8.4)\n"
	path := filepath.Join(t.TempDir(), "t.csv")
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	f, err := printedtable.Read(context.Background(), path, printedtable.Detect)
	if err != nil {
		t.Fatal(err)
	}
	list := Propose(f, results(t), true)
	if len(list) != 8 {
		t.Fatalf("%d proposals, want one a number: %+v", len(list), list)
	}
	for i, want := range []struct{ address, because string }{
		{"table-1/values/sex=female/pain:true/count", "labels and values"},
		{"table-1/values/sex=female/pain:true/percent", "labels and values"},
		{"table-1/values/sex=male/pain:true/count", "labels alone"}, // 30.1 is not the result, and still it is meant
		{"table-1/values/sex=male/pain:true/percent", "labels alone"},
		{"", ""},
		{"", ""},
		{"", ""},
		{"", ""},
	} {
		if got := list[i]; got.Result != want.address || got.Because != want.because || got.Confirmed {
			t.Errorf("number %d of %q: %s (%s), want %s (%s)", got.Number, got.Printed, got.Result, got.Because, want.address, want.because)
		}
	}
}
