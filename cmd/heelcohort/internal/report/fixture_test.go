package report

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/dataset"
)

// -update writes the golden files anew.
var update = flag.Bool("update", false, "write the golden files anew")

// read is a file of testdata.
func read(t testing.TB, name string) []byte {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// results reads and seals results of testdata.
func results(t testing.TB, name string) *result.Results {
	t.Helper()
	res, err := result.ReadJSON(bytes.NewReader(read(t, name)))
	if err != nil {
		t.Fatal(err)
	}
	if err := res.Seal(); err != nil {
		t.Fatal(err)
	}
	return res
}

// saltmarsh is the whole invented registry with a drawing for every figure.
func saltmarsh(t testing.TB) Input {
	t.Helper()
	in := Input{Results: results(t, "saltmarsh.json"), Figures: map[string][]byte{}}
	for _, a := range in.Results.Analyses {
		for _, id := range a.Figures {
			in.Figures[id] = read(t, "figure.svg")
		}
	}
	for _, row := range []int{212, 377, 640} {
		in.Findings = append(in.Findings, dataset.Finding{
			Rule: "minimum", Severity: dataset.Error, Found: "<b>17</b>",
			Where: dataset.Origin{File: "data/registry.xlsx", Sheet: "participants", Row: row, Column: 13},
		})
	}
	return in
}

// stopped are results of a run that findings stopped.
func stopped(t testing.TB) Input {
	t.Helper()
	in := saltmarsh(t)
	in.Results.Computed, in.Results.Rows = false, nil
	for i := range in.Results.Analyses {
		in.Results.Analyses[i].Figures, in.Results.Analyses[i].Accounting = nil, nil
	}
	in.Figures = nil
	return in
}

// golden compares got with a file of testdata, or writes it.
func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	if *update {
		if err := os.WriteFile(filepath.Join("testdata", name), got, 0o666); err != nil {
			t.Fatal(err)
		}
		return
	}
	if diff := cmp.Diff(string(read(t, name)), string(got)); diff != "" {
		t.Errorf("%s (-want +got), -update writes it anew:\n%s", name, diff)
	}
}
