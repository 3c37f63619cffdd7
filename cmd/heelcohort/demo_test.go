package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// heelcohort runs the program within the test.
func heelcohort(t *testing.T, want int, args ...string) string {
	t.Helper()
	var stdout, stderr bytes.Buffer
	if code := command(context.Background(), args, &stdout, &stderr); code != want {
		t.Fatalf("heelcohort %v: exit status %d, want %d\n%s%s", args, code, want, stdout.String(), stderr.String())
	}
	return stdout.String()
}

// Two processes, on one core and on two, leave the same bytes, bundle them to
// the same bytes, and get the same bytes again from the bundle in another
// folder.
func TestSameBytes(t *testing.T) {
	program := filepath.Join(t.TempDir(), "heelcohort")
	if out, err := exec.Command("go", "build", "-o", program, ".").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	var trees []map[string]string
	var bundles []string
	for _, cores := range []string{"1", "2"} {
		dir := filepath.Join(t.TempDir(), "study")
		archive := filepath.Join(t.TempDir(), "demo.zip")
		said := ""
		for _, args := range [][]string{{"demo", dir}, {"run", dir}, {"bundle", "--out", archive, dir}, {"rerun", archive}} {
			c := exec.Command(program, args...)
			c.Env = append(os.Environ(), "GOMAXPROCS="+cores)
			out, err := c.CombinedOutput()
			if err != nil {
				t.Fatalf("%v\n%s", err, out)
			}
			said = string(out)
		}
		trees = append(trees, readTree(t, filepath.Join(dir, "results")))
		bundles = append(bundles, get(t, filepath.Dir(archive), "demo.zip"))
		n := len(trees[0])
		for _, want := range []string{" 0 within a relative tolerance of 1e-09, 0 moved, 0 gone, 0 new.", fmt.Sprintf("same bytes: %d of %d.", n, n), "Everything holds."} {
			if !strings.Contains(said, want) {
				t.Errorf("rerun does not say %q:\n%s", want, said)
			}
		}
	}
	if bundles[0] != bundles[1] {
		t.Error("the bundles differ")
	}
	if len(trees[0]) != len(trees[1]) {
		t.Errorf("%d files and %d files", len(trees[0]), len(trees[1]))
	}
	for name, text := range trees[0] {
		if trees[1][name] != text {
			t.Errorf("%s differs", name)
		}
	}
	for _, name := range []string{
		"report.html", "tables.xlsx", "results.json", "results.schema.json", "findings.csv", "methods.md", "manifest.json",
		"checked/registry.xlsx", "tables/table-1.csv", "tables/table-2.csv", "tables/table-3.csv", "tables/figure-1.csv",
		"figures/table-2.svg", "figures/table-2.pdf", "figures/table-2.png", "figures/table-3.svg", "figures/figure-1.svg",
	} {
		if trees[0][name] == "" {
			t.Errorf("no %s", name)
		}
	}
}

func readTree(t *testing.T, dir string) map[string]string {
	t.Helper()
	files := map[string]string{}
	err := fs.WalkDir(os.DirFS(dir), ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := os.ReadFile(filepath.Join(dir, filepath.FromSlash(name)))
		files[name] = string(data)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return files
}

// check finds every planted fault in its cell, and nothing else.
func TestPlantedFaults(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "faulty")
	marked := filepath.Join(t.TempDir(), "marked")
	heelcohort(t, exitDone, "demo", "--faulty", dir)
	heelcohort(t, exitReport, "check", "--marked", marked, dir)
	planted := columns(t, filepath.Join(dir, "faults.csv"), "sheet", "cell", "rule")
	found := columns(t, filepath.Join(marked, "findings.csv"), "sheet", "cell", "rule")
	if len(planted) < 25 {
		t.Errorf("%d planted faults, want at least 25", len(planted))
	}
	sorts := map[string]bool{}
	for _, p := range planted {
		sorts[p[2]] = true
		if !slices.ContainsFunc(found, func(f []string) bool { return slices.Equal(f, p) }) {
			t.Errorf("not found: %v", p)
		}
	}
	for _, f := range found {
		if !slices.ContainsFunc(planted, func(p []string) bool { return slices.Equal(f, p) }) {
			t.Errorf("found but not planted: %v", f)
		}
	}
	if len(sorts) < 15 {
		t.Errorf("%d rules, want many sorts", len(sorts))
	}
	if _, err := os.Stat(filepath.Join(marked, "checked", "registry.xlsx")); err != nil {
		t.Error(err)
	}
}

// columns reads the named columns of a CSV file.
func columns(t *testing.T, name string, wanted ...string) [][]string {
	t.Helper()
	f, err := os.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out [][]string
	for _, line := range lines[1:] {
		var row []string
		for _, w := range wanted {
			i := slices.Index(lines[0], w)
			if i < 0 {
				t.Fatal(fmt.Errorf("%s has no column %s", name, w))
			}
			row = append(row, line[i])
		}
		out = append(out, row)
	}
	return out
}

// A sheet that the workbook does not have is refused with the nearest one, and
// old results are kept.
func TestMissingSheet(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "study")
	heelcohort(t, exitDone, "demo", dir)
	heelcohort(t, exitDone, "run", dir)
	before := readTree(t, filepath.Join(dir, "results"))
	book := filepath.Join(dir, "codebook.yaml")
	text, err := os.ReadFile(book)
	if err != nil {
		t.Fatal(err)
	}
	changed := bytes.Replace(text, []byte("sheet: episodes"), []byte("sheet: episods"), 1)
	if bytes.Equal(changed, text) {
		t.Fatal("the codebook names no sheet episodes")
	}
	if err := os.WriteFile(book, changed, 0o644); err != nil {
		t.Fatal(err)
	}
	var stdout, stderr bytes.Buffer
	if code := command(context.Background(), []string{"run", dir}, &stdout, &stderr); code != exitNotDone {
		t.Fatalf("exit status %d, want %d: %s", code, exitNotDone, stdout.String())
	}
	for _, want := range []string{"data/registry.xlsx", `"episods"`, `did you mean "episodes"?`} {
		if !strings.Contains(stderr.String(), want) {
			t.Errorf("%q does not say %s", stderr.String(), want)
		}
	}
	if !maps.Equal(before, readTree(t, filepath.Join(dir, "results"))) {
		t.Error("the old results changed")
	}
}
