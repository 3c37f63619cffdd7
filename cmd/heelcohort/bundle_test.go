package main

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/json"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"
)

// heelcohortBoth runs the program within the test and gives both its outputs.
func heelcohortBoth(t *testing.T, want int, args ...string) string {
	t.Helper()
	var stdout, stderr bytes.Buffer
	if code := command(context.Background(), args, &stdout, &stderr); code != want {
		t.Fatalf("heelcohort %v: exit status %d, want %d\n%s%s", args, code, want, stdout.String(), stderr.String())
	}
	return stdout.String() + stderr.String()
}

// members reads an archive and checks that its members come by name, without a
// time.
func members(t *testing.T, name string) map[string]string {
	t.Helper()
	z, err := zip.OpenReader(name)
	if err != nil {
		t.Fatal(err)
	}
	defer z.Close()
	all := map[string]string{}
	var names []string
	for _, f := range z.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		data, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		all[f.Name], names = string(data), append(names, f.Name)
		if !f.Modified.Equal(time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC)) {
			t.Errorf("%s has the time %v", f.Name, f.Modified)
		}
	}
	if !slices.IsSorted(names) || len(names) != len(all) {
		t.Errorf("members %q, expected each once and by name", names)
	}
	return all
}

// The same study gives the same bytes, again, in another folder and on one core
// and on two.
func TestBundleSameBytes(t *testing.T) {
	var all []string
	for _, cores := range []int{1, 2, 2} {
		func() {
			defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(cores))
			dir := smallStudy(t)
			out := filepath.Join(t.TempDir(), "b.zip")
			heelcohort(t, exitDone, "run", dir)
			heelcohort(t, exitDone, "bundle", "--out", out, dir)
			all = append(all, get(t, filepath.Dir(out), "b.zip"))
			heelcohort(t, exitDone, "bundle", "--out", out, dir)
			all = append(all, get(t, filepath.Dir(out), "b.zip"))
		}()
	}
	for i := range all {
		if all[i] != all[0] {
			t.Errorf("bundle %d has other bytes", i)
		}
	}
}

// The bundle holds the study as it lies there, and nothing else.
func TestBundleContents(t *testing.T) {
	dir := smallStudy(t)
	heelcohort(t, exitDone, "run", dir)
	put(t, dir, "notes.txt", "not part of it")
	t.Chdir(t.TempDir())
	heelcohort(t, exitDone, "bundle", dir)
	got := members(t, "small.zip")
	want := readTree(t, dir)
	delete(want, "notes.txt")
	delete(want, ".results-lock")
	for name, text := range want {
		if got[name] != text {
			t.Errorf("%s is missing or differs", name)
		}
		delete(got, name)
	}
	if got["ro-crate-metadata.json"] == "" || len(got) != 1 {
		t.Errorf("beside the study: %q", keysOf(got))
	}
}

func keysOf(m map[string]string) []string {
	var names []string
	for name := range m {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

// Without data neither the files nor their copies go along.
func TestBundleWithoutData(t *testing.T) {
	dir := smallStudy(t)
	heelcohort(t, exitDone, "run", dir)
	out := filepath.Join(t.TempDir(), "b.zip")
	heelcohort(t, exitDone, "bundle", "--without-data", "--out", out, dir)
	got := members(t, out)
	for name, text := range got {
		if strings.HasPrefix(name, "data/") || strings.HasPrefix(name, "results/checked/") {
			t.Errorf("%s went along", name)
		}
		if strings.Contains(text, "k17") {
			t.Errorf("%s holds a participant's key", name)
		}
	}
	var note struct {
		Files []struct {
			Name   string
			Size   int
			SHA256 string
			Tables []struct {
				Name string
				Rows int
			}
		}
	}
	if err := json.Unmarshal([]byte(got["data-withheld.json"]), &note); err != nil {
		t.Fatal(err)
	}
	data := get(t, dir, "data/children.csv")
	if len(note.Files) != 1 || note.Files[0].Name != "data/children.csv" || note.Files[0].Size != len(data) ||
		note.Files[0].SHA256 != digest(data) || len(note.Files[0].Tables) != 1 || note.Files[0].Tables[0].Rows != 48 {
		t.Errorf("data-withheld.json: %+v", note)
	}
	// Results that hold rows of participants stay behind.
	replace(t, dir, "study.yaml", "    seed: 3", "    seed: 3\n    points: true")
	heelcohort(t, exitDone, "run", dir)
	if text := heelcohortBoth(t, exitNotDone, "bundle", "--without-data", "--out", out, dir); !strings.Contains(text, "study.yaml:17:5") || !strings.Contains(text, "points: true") {
		t.Errorf("points: %s", text)
	}
	// Nor do findings, which show cells.
	replace(t, dir, "study.yaml", "\n    points: true", "")
	replace(t, dir, "study.yaml", "date: 2026-03-31", "date: 2026-03-31\nfaults: set-missing")
	replace(t, dir, "data/children.csv", "k05,c5,normal,no,11", "k05,c5,normal,no,44")
	heelcohort(t, exitReport, "run", dir)
	if text := heelcohortBoth(t, exitNotDone, "bundle", "--without-data", "--out", out, dir); !strings.Contains(text, "data/children.csv, line 6, column 5") {
		t.Errorf("findings: %s", text)
	}
	heelcohort(t, exitDone, "bundle", "--out", out, dir) // set-missing excepts them
}

// What stands in the way is named, and an archive that was there stays.
func TestBundleRefusals(t *testing.T) {
	for name, c := range map[string]struct {
		change func(t *testing.T, dir string)
		want   []string
	}{
		"no results": {func(t *testing.T, dir string) {
			if err := os.RemoveAll(filepath.Join(dir, "results")); err != nil {
				t.Fatal(err)
			}
		}, []string{"results/manifest.json: there are no results; run: heelcohort run "}},
		"other plan": {func(t *testing.T, dir string) {
			replace(t, dir, "study.yaml", "seed: 3", "seed: 4")
		}, []string{"study.yaml: changed since the results were made; run: heelcohort run "}},
		"other data": {func(t *testing.T, dir string) {
			replace(t, dir, "data/children.csv", "k05,c5,normal,no,11", "k05,c5,normal,no,12")
		}, []string{"data/children.csv: changed since the results were made"}},
		"altered results": {func(t *testing.T, dir string) {
			put(t, dir, "results/methods.md", "mine")
		}, []string{"results/methods.md: altered since the run wrote it"}},
		"a result less": {func(t *testing.T, dir string) {
			if err := os.Remove(filepath.Join(dir, "results", "tables", "table-1.csv")); err != nil {
				t.Fatal(err)
			}
		}, []string{"results/tables/table-1.csv: missing from the results"}},
		"a file more": {func(t *testing.T, dir string) {
			put(t, dir, "results/tables/mine.csv", "1")
		}, []string{"results/tables/mine.csv: not written by the run"}},
		"no date": {func(t *testing.T, dir string) {
			replace(t, dir, "study.yaml", "date: 2026-03-31\n", "")
		}, []string{"study.yaml: no date, expected"}},
		"finding": {func(t *testing.T, dir string) {
			replace(t, dir, "data/children.csv", "k05,c5,normal,no,11", "k05,c5,normal,no,44")
		}, []string{`data/children.csv, line 6, column 5: found "44", expected`, "findings that the plan does not except, first in data/children.csv, line 6, column 5 (maximum)"}},
		"person": {func(t *testing.T, dir string) {
			text := strings.ReplaceAll(get(t, dir, "data/children.csv"), "\nk07,", "\nann.smith@example.org,")
			put(t, dir, "data/children.csv", text)
			replace(t, dir, "study.yaml", "date: 2026-03-31", "date: 2026-03-31\nfaults: set-missing\naccept: [{rule: e-mail address, reason: none}]")
		}, []string{"data may name people or single one out, first in data/children.csv, line 8, column 1"}},
		"few alike": {func(t *testing.T, dir string) {
			replace(t, dir, "codebook.yaml", "constraints: {minimum: 6, maximum: 17}", "constraints: {minimum: 6, maximum: 17}, heelcohort: {role: quasi_identifier}")
			replace(t, dir, "codebook.yaml", "    schema:", "    heelcohort: {k_anonymity: 6}\n    schema:")
			replace(t, dir, "study.yaml", "date: 2026-03-31", "date: 2026-03-31\naccept: [{rule: small cells, reason: none}]")
		}, []string{"data may name people or single one out, first in data/children.csv, line", "(small cells)"}},
	} {
		t.Run(name, func(t *testing.T) {
			dir := smallStudy(t)
			heelcohort(t, exitDone, "run", dir)
			out := filepath.Join(t.TempDir(), "b.zip")
			put(t, filepath.Dir(out), "b.zip", "the old one")
			c.change(t, dir)
			text := heelcohortBoth(t, exitNotDone, "bundle", "--out", out, dir)
			for _, want := range c.want {
				if !strings.Contains(text, want) {
					t.Errorf("no %q in\n%s", want, text)
				}
			}
			if strings.Contains(text, "ann.smith") {
				t.Errorf("the person is named: %s", text)
			}
			if got := readTree(t, filepath.Dir(out)); len(got) != 1 || got["b.zip"] != "the old one" {
				t.Errorf("left behind: %q", keysOf(got))
			}
		})
	}
}

// A warning whose rule the plan accepts with a reason lets the bundle be made.
func TestBundleAccepts(t *testing.T) {
	dir := smallStudy(t)
	replace(t, dir, "codebook.yaml", "constraints: {minimum: 6, maximum: 17}", "constraints: {minimum: 6, maximum: 17}, heelcohort: {plausible: {maximum: 14}}")
	heelcohort(t, exitReport, "run", dir)
	out := filepath.Join(t.TempDir(), "b.zip")
	text := heelcohortBoth(t, exitNotDone, "bundle", "--out", out, dir)
	if !strings.Contains(text, "plausible maximum") {
		t.Fatal(text)
	}
	replace(t, dir, "study.yaml", "date: 2026-03-31", "date: 2026-03-31\naccept:\n  - {rule: plausible maximum, reason: the oldest were measured twice}")
	heelcohort(t, exitReport, "run", dir)
	heelcohort(t, exitDone, "bundle", "--out", out, dir)
}

// No file of the study, and no file among the results, is written over.
func TestBundleTarget(t *testing.T) {
	dir := smallStudy(t)
	heelcohort(t, exitDone, "run", dir)
	before := readTree(t, dir)
	for _, name := range []string{"results/b.zip", "results/tables/b.zip", "study.yaml", "data/children.csv", "results"} {
		heelcohortBoth(t, exitNotDone, "bundle", "--out", filepath.Join(dir, filepath.FromSlash(name)), dir)
	}
	linked := filepath.Join(t.TempDir(), "b.zip")
	if err := os.Link(filepath.Join(dir, "study.yaml"), linked); err == nil {
		heelcohortBoth(t, exitNotDone, "bundle", "--out", linked, dir)
	}
	for name, text := range readTree(t, dir) {
		if before[name] != text {
			t.Errorf("%s changed", name)
		}
	}
}
