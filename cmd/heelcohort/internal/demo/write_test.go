package demo

import (
	"bytes"
	"cmp"
	"context"
	"encoding/csv"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"heelcohort/codebook"
	"heelcohort/dataset"
)

// written writes a demonstration and gives its folder.
func written(t *testing.T, opts WriteOptions) string {
	t.Helper()
	dir := t.TempDir()
	if err := Write(context.Background(), dir, opts); err != nil {
		t.Fatal(err)
	}
	return dir
}

// findings reads and validates a study folder.
func findings(t *testing.T, dir string) []dataset.Finding {
	t.Helper()
	file := filepath.Join(dir, "codebook.yaml")
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	pkg, err := codebook.Decode("codebook.yaml", data)
	if err != nil {
		t.Fatal(err)
	}
	d, found, err := dataset.Open(context.Background(), dir, pkg, dataset.Options{})
	if err != nil {
		t.Fatal(err)
	}
	more, err := dataset.Validate(context.Background(), d)
	if err != nil {
		t.Fatal(err)
	}
	return append(found, more...)
}

func TestWriteGivesTheSameBytes(t *testing.T) {
	a, b := written(t, WriteOptions{Faulty: true}), written(t, WriteOptions{Faulty: true})
	for _, name := range []string{"study.yaml", "codebook.yaml", "README.txt", "truth.json", "data/registry.xlsx", "faults.csv"} {
		one, err := os.ReadFile(filepath.Join(a, name))
		if err != nil {
			t.Fatal(err)
		}
		two, err := os.ReadFile(filepath.Join(b, name))
		if err != nil {
			t.Fatal(err)
		}
		if len(one) == 0 || !bytes.Equal(one, two) {
			t.Errorf("%s is empty or differs between two runs", name)
		}
	}
}

func TestWriteStopsWithItsContext(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	dir := t.TempDir()
	if err := Write(ctx, dir, WriteOptions{}); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v, want %v", err, context.Canceled)
	}
	if left, err := os.ReadDir(dir); err != nil || len(left) > 0 {
		t.Errorf("left %v, %v", left, err)
	}
}

// TestFaultsAreApart checks the list of planted faults by itself.
func TestFaultsAreApart(t *testing.T) {
	reg := Generate(Options{})
	p := plantFaults(reg, reg.Sheets())
	if len(p.faults) < 25 {
		t.Errorf("%d faults, want at least 25", len(p.faults))
	}
	cells, sorts := map[[2]string]bool{}, map[string]bool{}
	for _, f := range p.faults {
		if k := [2]string{f.Sheet, f.Cell}; cells[k] {
			t.Errorf("two faults in %v", k)
		} else {
			cells[k] = true
		}
		sorts[f.Rule] = true
	}
	if len(sorts) < 20 {
		t.Errorf("%d rules, want at least 20", len(sorts))
	}
}

func TestCleanDataHaveNoFinding(t *testing.T) {
	dir := written(t, WriteOptions{})
	if _, err := os.Stat(filepath.Join(dir, "faults.csv")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("faults.csv in the clean copy: %v", err)
	}
	for i, f := range findings(t, dir) {
		if i < 20 {
			t.Errorf("%s %s: %s (%s)", f.Where, f.Rule, f.Message, f.Found)
		}
	}
}

// TestEveryFaultIsFoundOnce compares faults.csv with what is found, both ways.
func TestEveryFaultIsFoundOnce(t *testing.T) {
	dir := written(t, WriteOptions{Faulty: true})
	data, err := os.ReadFile(filepath.Join(dir, "faults.csv"))
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(bytes.NewReader(data)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	type place struct{ sheet, cell, rule string }
	var want, got []place
	for _, row := range rows[1:] {
		want = append(want, place{row[1], row[2], row[3]})
	}
	for _, f := range findings(t, dir) {
		got = append(got, place{f.Where.Sheet, f.Where.Cell(), f.Rule})
	}
	order := func(a, b place) int {
		return cmp.Or(cmp.Compare(a.sheet, b.sheet), cmp.Compare(a.cell, b.cell), cmp.Compare(a.rule, b.rule))
	}
	slices.SortFunc(want, order)
	slices.SortFunc(got, order)
	for _, w := range want {
		if i, ok := slices.BinarySearchFunc(got, w, order); ok {
			got = slices.Delete(got, i, i+1)
		} else {
			t.Errorf("planted and not found: %v", w)
		}
	}
	for _, g := range got {
		t.Errorf("found and not planted: %v", g)
	}
}

// TestEveryKindOfRuleIsPlanted wants a planted fault for each kind of rule, and
// a plausible range that is left.
func TestEveryKindOfRuleIsPlanted(t *testing.T) {
	data, err := os.ReadFile("files/codebook.yaml")
	if err != nil {
		t.Fatal(err)
	}
	pkg, err := codebook.Decode("codebook.yaml", data)
	if err != nil {
		t.Fatal(err)
	}
	kinds := map[string]string{codebook.RulePlausibleMaximum: "plausible"}
	for _, r := range pkg.Resources {
		for _, rule := range r.Schema.Rules {
			kinds[rule.Name] = rule.Kind
		}
	}
	planted := map[string]int{}
	reg := Generate(Options{})
	for _, f := range plantFaults(reg, reg.Sheets()).faults {
		planted[kinds[f.Rule]]++
	}
	for _, k := range codebook.RuleKinds() {
		if planted[k.Name] == 0 {
			t.Errorf("no planted fault for the kind %s", k.Name)
		}
	}
	if planted["plausible"] == 0 {
		t.Error("no planted value that is not plausible")
	}
}
