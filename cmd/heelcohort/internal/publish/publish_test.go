package publish

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/cmd/heelcohort/internal/run"
)

const (
	planText = `title: Small
codebook: codebook.yaml
analyses:
  - {id: table-1, kind: describe, by: arch, variables: [age]}
  - {id: table-2, kind: association, outcome: pain, exposure: arch}
  - {id: figure-1, kind: time-to-event, event: {day: days, when: pain}, by: arch}
`
	bookText = `name: small
resources:
  - name: children
    path: data/rows.csv
    schema:
      fields:
        - {name: arch, type: string, categories: [normal, pronated]}
        - {name: pain, type: boolean, trueValues: ["yes"], falseValues: ["no"]}
        - {name: age, type: number, constraints: {maximum: 17}}
        - {name: days, type: integer}
  - name: sites
    path: more/rows.csv
    schema: {fields: [{name: site, type: string}]}
`
	goodRows = `arch,pain,age,days
normal,yes,9,10
normal,no,10,12
normal,no,10,15
pronated,yes,11,7
pronated,yes,8,9
pronated,no,12,20
`
)

// study writes a study folder, reads it and computes it.
func study(t *testing.T, rows string) (*run.Study, *run.Outcome) {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "study")
	for name, text := range map[string]string{
		"study.yaml": planText, "codebook.yaml": bookText, "data/rows.csv": rows, "more/rows.csv": "site\nS1\n",
	} {
		path := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	s, err := run.Read(dir)
	if err != nil {
		t.Fatal(err)
	}
	return s, compute(t, s)
}

func compute(t *testing.T, s *run.Study) *run.Outcome {
	t.Helper()
	o, err := s.Compute(context.Background(), "heelcohort test", run.Watch{})
	if err != nil {
		t.Fatal(err)
	}
	return o
}

// contents gives the hash of every file below a folder by name.
func contents(t *testing.T, dir string) map[string]string {
	t.Helper()
	all := map[string]string{}
	err := filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		data, err := os.ReadFile(path)
		sum := sha256.Sum256(data)
		name, _ := filepath.Rel(dir, path)
		all[filepath.ToSlash(name)] = hex.EncodeToString(sum[:])
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// TestResults wants everything a run leaves, and the same bytes when it is run
// again.
func TestResults(t *testing.T) {
	s, o := study(t, goodRows)
	if err := Results(context.Background(), s, o, nil); err != nil {
		t.Fatal(err)
	}
	first := contents(t, filepath.Join(s.Dir, Folder))
	for _, name := range []string{
		"report.html", "tables.xlsx", "tables/table-1.csv", "tables/table-2.csv", "tables/figure-1.csv", "figures/table-2.svg",
		"figures/table-2.pdf", "figures/table-2.png", "figures/figure-1.svg", "results.json", "results.schema.json", "findings.csv",
		"checked/rows.csv", "checked/more-rows.csv", "inputs/study.yaml", "inputs/codebook.yaml", "methods.md", "manifest.json",
	} {
		if first[name] == "" {
			t.Errorf("no %s", name)
		}
	}
	data := contents(t, s.Dir)
	if data["data/rows.csv"] != first["checked/rows.csv"] || data["more/rows.csv"] != first["checked/more-rows.csv"] {
		t.Error("a plain copy differs from the data")
	}
	if data["study.yaml"] != first["inputs/study.yaml"] || data["codebook.yaml"] != first["inputs/codebook.yaml"] {
		t.Error("plan or codebook is not kept as it was read")
	}
	if err := Results(context.Background(), s, compute(t, s), nil); err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(first, contents(t, filepath.Join(s.Dir, Folder))); d != "" {
		t.Errorf("run again:\n%s", d)
	}
}

// TestInterrupt interrupts the writing at every step, and wants the old results
// as they were and nothing left aside.
func TestInterrupt(t *testing.T) {
	temporary := t.TempDir()
	t.Setenv("TMPDIR", temporary)
	s, o := study(t, goodRows)
	steps := 0
	if err := Results(context.Background(), s, o, func(string) { steps++ }); err != nil {
		t.Fatal(err)
	}
	if steps < 6 {
		t.Fatalf("%d steps", steps)
	}
	before := contents(t, s.Dir)
	// Other data, so that results written after all would differ.
	changed := strings.Replace(goodRows, "normal,yes,9,10", "normal,yes,9,11", 1)
	if err := os.WriteFile(filepath.Join(s.Dir, "data", "rows.csv"), []byte(changed), 0o644); err != nil {
		t.Fatal(err)
	}
	before["data/rows.csv"] = contents(t, s.Dir)["data/rows.csv"]
	for stop := range steps {
		ctx, cancel := context.WithCancel(context.Background())
		n := 0
		err := Results(ctx, s, compute(t, s), func(string) {
			if n == stop {
				cancel()
			}
			n++
		})
		cancel()
		if !errors.Is(err, context.Canceled) {
			t.Errorf("interrupted at step %d: %v", stop, err)
		}
		if d := cmp.Diff(before, contents(t, s.Dir)); d != "" {
			t.Fatalf("interrupted at step %d:\n%s", stop, d)
		}
	}
	entries, err := os.ReadDir(temporary)
	if err != nil || len(entries) > 0 {
		t.Errorf("left in the temporary folder: %v, %v", entries, err)
	}
	folders, err := os.ReadDir(s.Dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range folders {
		if e.IsDir() && strings.HasPrefix(e.Name(), ".") {
			t.Errorf("the folder %s is left aside", e.Name())
		}
	}
	if err := Results(context.Background(), s, compute(t, s), nil); err != nil {
		t.Fatal(err)
	}
	if after := contents(t, s.Dir); after["results/results.json"] == before["results/results.json"] {
		t.Error("the results of other data are the same")
	}
}

// TestFigureLeftOut wants a figure without anything to draw left out with a
// warning, and the rest written.
func TestFigureLeftOut(t *testing.T) {
	s, o := study(t, "arch,pain,age,days\nnormal,no,9,10\nnormal,yes,10,12\n")
	if err := Results(context.Background(), s, o, nil); err != nil {
		t.Fatal(err)
	}
	f, err := os.Open(filepath.Join(s.Dir, Folder, "results.json"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	res, err := result.ReadJSON(f)
	if err != nil {
		t.Fatal(err)
	}
	a, _ := res.Analysis("table-2")
	if len(a.Figures) != 0 || !strings.Contains(strings.Join(a.Warnings, "\n"), "Figure table-2 is not drawn: ") {
		t.Errorf("figures %q, warnings %q", a.Figures, a.Warnings)
	}
	files := contents(t, filepath.Join(s.Dir, Folder))
	if files["figures/table-2.svg"] != "" || files["figures/figure-1.svg"] == "" || files["report.html"] == "" {
		t.Errorf("files %v", files)
	}
}

// TestFaulty wants the findings and marked copies of faulty data, and no
// number.
func TestFaulty(t *testing.T) {
	s, o := study(t, strings.Replace(goodRows, "pronated,no,12,20", "pronated,no,44,20", 1))
	if !o.Faulty() {
		t.Fatal("computed from faulty data")
	}
	if err := Results(context.Background(), s, o, nil); err != nil {
		t.Fatal(err)
	}
	files := contents(t, filepath.Join(s.Dir, Folder))
	if files["checked/rows.csv.xlsx"] == "" || files["checked/rows.csv"] == "" || files["tables/table-1.csv"] != "" {
		t.Errorf("files %v", files)
	}
}
