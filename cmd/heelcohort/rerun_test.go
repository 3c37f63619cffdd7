package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"heelcohort/cmd/heelcohort/internal/publish"
	"heelcohort/cmd/heelcohort/internal/rerun"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/cmd/heelcohort/internal/run"
	"heelcohort/dataset"
)

// unpacked bundles a study and unpacks the bundle into a new folder.
func unpacked(t *testing.T, study string, flags ...string) string {
	t.Helper()
	archive := filepath.Join(t.TempDir(), "b.zip")
	heelcohort(t, exitDone, append([]string{"bundle", "--out", archive, study}, flags...)...)
	dir := filepath.Join(t.TempDir(), "unpacked")
	for name, text := range members(t, archive) {
		put(t, dir, name, text)
	}
	return dir
}

// ran writes and runs the small study.
func ran(t *testing.T) string {
	t.Helper()
	dir := smallStudy(t)
	heelcohort(t, exitDone, "run", dir)
	return dir
}

// rerunFolder reruns a folder, wants it as it was afterwards, and gives the
// report of --json.
func rerunFolder(t *testing.T, want int, dir string, flags ...string) *rerun.Report {
	t.Helper()
	before := readTree(t, dir)
	out := filepath.Join(t.TempDir(), "rerun.json")
	text := heelcohort(t, want, append([]string{"rerun", "--json", out, dir}, flags...)...)
	after := readTree(t, dir)
	if len(before) != len(after) {
		t.Errorf("%d files before, %d after", len(before), len(after))
	}
	for name := range before {
		if before[name] != after[name] {
			t.Errorf("%s was changed by the rerun", name)
		}
	}
	r := &rerun.Report{}
	if err := json.Unmarshal([]byte(get(t, filepath.Dir(out), "rerun.json")), r); err != nil {
		t.Fatal(err)
	}
	if r.Holds != (want == exitDone) || r.Holds != strings.Contains(text, "\nEverything holds.") {
		t.Errorf("holds: %v, exit status %d, text\n%s", r.Holds, want, text)
	}
	for _, c := range r.Changes {
		if !strings.Contains(text, c.Label+", "+c.Kind) {
			t.Errorf("the terminal does not tell %s, %s:\n%s", c.Label, c.Kind, text)
		}
	}
	return r
}

// A planted change and what it must be told as.
type planted struct {
	change  func(t *testing.T, dir string)
	kinds   []string // of all changes
	detail  []string // in place and detail of the first
	moved   bool     // a number moved
	only    []string // analyses whose numbers move
	stopped string
}

func TestPlantedChanges(t *testing.T) {
	swap := func(t *testing.T, dir string, i, j int) {
		rows := smallRows()
		rows[i], rows[j] = rows[j], rows[i]
		put(t, dir, "data/children.csv", strings.Join(rows, "\n")+"\n")
	}
	for name, p := range map[string]planted{
		"data cell": {
			change: func(t *testing.T, dir string) {
				replace(t, dir, "data/children.csv", "k05,c5,normal,no,11", "k05,c5,normal,no,12")
			},
			kinds: []string{rerun.DataCell}, detail: []string{"data/children.csv, line 6, column 5", `age of id=k05 (line 6, column 5): "11" → "12"`},
			moved: true, only: []string{"table-1"},
		},
		"added row": {
			change: func(t *testing.T, dir string) {
				put(t, dir, "data/children.csv", get(t, dir, "data/children.csv")+"k99,c1,normal,no,9,33,4,5\n")
			},
			kinds: []string{rerun.RowAdded}, detail: []string{"line 50", "row added: 1; id=k99"}, moved: true,
		},
		"deleted row": {
			change: func(t *testing.T, dir string) {
				put(t, dir, "data/children.csv", strings.Join(slices.Delete(smallRows(), 7, 8), "\n")+"\n")
			},
			kinds: []string{rerun.RowDeleted}, detail: []string{"data/children.csv, line 8 as recorded", "row removed: 1; id=k07"}, moved: true,
		},
		"reordered rows": {
			change: func(t *testing.T, dir string) { swap(t, dir, 20, 41) },
			kinds:  []string{rerun.RowsReordered}, detail: []string{"rows in another order"},
		},
		"number written differently": {
			change: func(t *testing.T, dir string) {
				replace(t, dir, "data/children.csv", "k05,c5,normal,no,11", "k05,c5,normal,no,11.0")
			},
			kinds: []string{rerun.DataWritten}, detail: []string{`"11" → "11.0"`},
		},
		"line ends": {
			change: func(t *testing.T, dir string) {
				put(t, dir, "data/children.csv", strings.Join(smallRows(), "\r\n")+"\r\n")
			},
			kinds: []string{rerun.DataWritten}, detail: []string{"no row and no cell that is read differs"},
		},
		"plan option": {
			change: func(t *testing.T, dir string) {
				replace(t, dir, "study.yaml", "model: two-way-consistency", "model: two-way-agreement")
			},
			kinds: []string{rerun.PlanOption}, detail: []string{"study.yaml, line 20", `analyses[table-3].model: "two-way-consistency" → "two-way-agreement"`},
			moved: true, only: []string{"table-3"},
		},
		"plan option of all": {
			change: func(t *testing.T, dir string) {
				replace(t, dir, "study.yaml", `"age >= 7"`, `"age >= 8"`)
			},
			kinds: []string{rerun.PlanOption}, detail: []string{"study.yaml, line 5", `"age >= 7" → "age >= 8"`}, moved: true,
		},
		"analysis taken out": {
			change: func(t *testing.T, dir string) {
				replace(t, dir, "study.yaml", smallPlan[strings.Index(smallPlan, "  - id: table-2"):strings.Index(smallPlan, "  - id: table-3")], "")
			},
			kinds: []string{rerun.PlanOption}, detail: []string{"study.yaml as recorded, line 11", "analyses[table-2]", "removed"},
			moved: true, only: []string{"table-2"},
		},
		"seed": {
			change: func(t *testing.T, dir string) { replace(t, dir, "study.yaml", "seed: 3", "seed: 4") },
			kinds:  []string{rerun.Seed}, detail: []string{"study.yaml, line 23", "analyses[table-3].seed: 3 → 4"}, moved: true, only: []string{"table-3"},
		},
		"comment in the plan": {
			change: func(t *testing.T, dir string) {
				replace(t, dir, "study.yaml", "analyses:", "# what is made\nanalyses:")
			},
			kinds: []string{rerun.Layout}, detail: []string{"study.yaml"},
		},
		"codebook range": {
			change: func(t *testing.T, dir string) {
				replace(t, dir, "codebook.yaml", "maximum: 17", "maximum: 14")
			},
			kinds: []string{rerun.CodebookRange}, detail: []string{"codebook.yaml, line 17", "resources[children].schema.fields[age].constraints.maximum: 17 → 14"},
			stopped: "the data have errors, first in data/children.csv, line 10, column 5 (maximum",
		},
		"codebook range without effect": {
			change: func(t *testing.T, dir string) {
				replace(t, dir, "codebook.yaml", "maximum: 17", "maximum: 18")
			},
			kinds: []string{rerun.CodebookRange}, detail: []string{"17 → 18"},
		},
		"category label": {
			change: func(t *testing.T, dir string) {
				replace(t, dir, "codebook.yaml", "label: Normal arch", "label: Usual arch")
			},
			kinds: []string{rerun.CategoryLabel}, detail: []string{"codebook.yaml, line 14", `fields[arch].categories[normal].label: "Normal arch" → "Usual arch"`},
		},
		"results edited by hand": {
			change: func(t *testing.T, dir string) { edit(t, dir, "table-1/values/age/mean") },
			kinds:  []string{rerun.ResultsEdited}, detail: []string{"results/results.json"}, moved: true, only: []string{"table-1"},
		},
		"table edited by hand": {
			change: func(t *testing.T, dir string) {
				put(t, dir, "results/tables/table-1.csv", strings.Replace(get(t, dir, "results/tables/table-1.csv"), "count", "counted", 1))
			},
			kinds: []string{rerun.ResultsEdited}, detail: []string{"results/tables/table-1.csv"},
		},
		"figure edited": {
			change: func(t *testing.T, dir string) {
				put(t, dir, "results/figures/figure-1.svg", strings.Replace(get(t, dir, "results/figures/figure-1.svg"), "</svg>", "<rect/></svg>", 1))
			},
			kinds: []string{rerun.FigureEdited}, detail: []string{"results/figures/figure-1.svg"},
		},
		"missing data": {
			change: func(t *testing.T, dir string) { remove(t, dir, "data/children.csv") },
			kinds:  []string{rerun.MissingFile}, detail: []string{"data/children.csv"}, stopped: "data/children.csv",
		},
		"missing plan": {
			change: func(t *testing.T, dir string) { remove(t, dir, "study.yaml") },
			kinds:  []string{rerun.MissingFile}, detail: []string{"study.yaml"}, stopped: "the plan is missing",
		},
		"missing figure": {
			change: func(t *testing.T, dir string) { remove(t, dir, "results/figures/figure-1.png") },
			kinds:  []string{rerun.MissingFile}, detail: []string{"results/figures/figure-1.png"},
		},
		"missing results": {
			change: func(t *testing.T, dir string) { remove(t, dir, "results/results.json") },
			kinds:  []string{rerun.MissingFile}, detail: []string{"results/results.json"}, stopped: "the stored results cannot be compared",
		},
		"missing manifest": {
			change: func(t *testing.T, dir string) { remove(t, dir, "results/manifest.json") },
			kinds:  []string{rerun.MissingFile}, detail: []string{"results/manifest.json"}, stopped: "without the manifest",
		},
		"additional file": {
			change: func(t *testing.T, dir string) { put(t, dir, "data/more.csv", "1\n") },
			kinds:  []string{rerun.AdditionalFile}, detail: []string{"data/more.csv"},
		},
		"licence altered": {
			change: func(t *testing.T, dir string) { put(t, dir, "LICENSE", "Ask first.\n") },
			kinds:  []string{rerun.OtherFile}, detail: []string{"LICENSE"},
		},
		"results and manifest edited together": {
			change: func(t *testing.T, dir string) {
				was := digest(get(t, dir, "results/results.json"))
				edit(t, dir, "table-1/values/age/mean")
				is := digest(get(t, dir, "results/results.json"))
				for _, name := range []string{"results/manifest.json", "ro-crate-metadata.json"} {
					manifest := digest(get(t, dir, "results/manifest.json"))
					put(t, dir, name, strings.ReplaceAll(get(t, dir, name), was, is))
					put(t, dir, "ro-crate-metadata.json", strings.ReplaceAll(get(t, dir, "ro-crate-metadata.json"), manifest, digest(get(t, dir, "results/manifest.json"))))
				}
			},
			kinds: []string{rerun.Unexplained}, detail: []string{"results/results.json", "changed together"}, moved: true, only: []string{"table-1"},
		},
		"broken results": {
			change: func(t *testing.T, dir string) { put(t, dir, "results/results.json", "{") },
			kinds:  []string{rerun.ResultsEdited}, detail: []string{"cannot be read as results"}, stopped: "the stored results cannot be compared",
		},
		"broken plan": {
			change: func(t *testing.T, dir string) { replace(t, dir, "study.yaml", "kind: describe", "kind: descripe") },
			kinds:  []string{rerun.PlanOption}, detail: []string{`"describe" → "descripe"`}, stopped: "the study cannot be read: study.yaml:8:11",
		},
		"person": {
			change: func(t *testing.T, dir string) {
				replace(t, dir, "data/children.csv", "\nk07,", "\nann.smith@example.org,")
			},
			kinds: []string{rerun.RowAdded, rerun.RowDeleted}, stopped: "the data hold what names people",
		},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			dir := unpacked(t, ran(t))
			p.change(t, dir)
			r := rerunFolder(t, exitReport, dir)
			var kinds []string
			for _, c := range r.Changes {
				kinds = append(kinds, c.Kind)
				orderly := c.Kind == rerun.RowsReordered || c.Kind == rerun.DataWritten || c.Kind == rerun.Layout
				if c.Harmless != orderly {
					t.Errorf("%s: harmless %v", c.Kind, c.Harmless)
				}
				if strings.Contains(c.Detail, "ann.smith") {
					t.Errorf("a person is named: %s", c.Detail)
				}
			}
			slices.Sort(kinds)
			if !slices.Equal(kinds, p.kinds) {
				t.Fatalf("told as %q, want %q\n%+v", kinds, p.kinds, r.Changes)
			}
			first := r.Changes[0].Place + "\n" + r.Changes[0].Detail
			for _, d := range p.detail {
				if !strings.Contains(first, d) {
					t.Errorf("no %q in %s", d, first)
				}
			}
			if !strings.Contains(r.Stopped, p.stopped) || (r.Stopped == "") != (p.stopped == "") {
				t.Errorf("stopped: %q, want %q", r.Stopped, p.stopped)
			}
			if moved := r.Counts.Moved+r.Counts.Gone+r.Counts.New > 0; moved != p.moved || moved != (r.Changes[0].Moved > 0) {
				t.Errorf("moved: %+v, %+v", r.Counts, r.Changes[0])
			}
			for _, row := range r.Rows {
				if p.only != nil && row.Analysis != "" && !slices.Contains(p.only, row.Analysis) {
					t.Errorf("%s %s", row.ID, row.Verdict)
				}
				if !slices.Equal(row.Causes, []string{"change 1"}) || !r.Apart {
					t.Errorf("%s: causes %q, told apart %v", row.ID, row.Causes, r.Apart)
				}
			}
			if name == "category label" && (len(r.Words) == 0 || !strings.Contains(r.Words[0].What, "labels of arch")) {
				t.Errorf("words %+v", r.Words)
			}
		})
	}
}

// edit changes the estimate of one row of results.json.
func edit(t *testing.T, dir, id string) {
	t.Helper()
	text := get(t, dir, "results/results.json")
	at := strings.Index(text, `"`+id+`"`)
	if at < 0 {
		t.Fatalf("no row %s", id)
	}
	from := at + strings.Index(text[at:], `"estimate":`) + len(`"estimate":`)
	put(t, dir, "results/results.json", text[:from]+"1"+text[from:])
}

// Results of another version of the program, whose method gave other numbers.
func TestRerunOtherVersion(t *testing.T) {
	for name, factor := range map[string]float64{"same numbers": 1, "other numbers": 1.01} {
		t.Run(name, func(t *testing.T) {
			dir := smallStudy(t)
			s, err := run.Read(dir)
			if err != nil {
				t.Fatal(err)
			}
			o, err := s.Compute(t.Context(), "heelcohort 0.0.9", run.Watch{})
			if err != nil {
				t.Fatal(err)
			}
			for i := range o.Results.Rows {
				if r := &o.Results.Rows[i]; r.Measure == "odds ratio" && r.Estimate.Present() {
					r.Upper *= result.Number(factor)
				}
			}
			if err := publish.Results(t.Context(), s, o, nil); err != nil {
				t.Fatal(err)
			}
			want := exitDone
			if factor != 1 {
				want = exitReport
			}
			r := rerunFolder(t, want, unpacked(t, dir))
			if len(r.Changes) != 1 || r.Changes[0].Kind != rerun.ProgramVersion || !strings.Contains(r.Changes[0].Detail, "heelcohort 0.0.9") {
				t.Fatalf("%+v", r.Changes)
			}
			if (r.Counts.Moved > 0) != (factor != 1) || r.Changes[0].Moved != r.Counts.Moved {
				t.Errorf("%+v, %+v", r.Counts, r.Changes[0])
			}
		})
	}
}

// Several changes at once are told apart, row by row.
func TestRerunTellsApart(t *testing.T) {
	dir := unpacked(t, ran(t))
	replace(t, dir, "data/children.csv", "k05,c5,normal,no,11", "k05,c5,normal,no,12") // moves table-1 alone
	replace(t, dir, "study.yaml", "seed: 3", "seed: 4")                                // table-3 alone
	replace(t, dir, "study.yaml", "{odds: mid-p}", "{odds: exact}")                    // table-2 alone
	edit(t, dir, "figure-1/size/arch=normal/rows")
	r := rerunFolder(t, exitReport, dir)
	kind := map[string]string{}
	for _, c := range r.Changes {
		kind[c.Label] = c.Kind
	}
	if len(r.Changes) != 4 || !r.Apart {
		t.Fatalf("%+v", r.Changes)
	}
	want := map[string]string{"table-1": rerun.DataCell, "table-2": rerun.PlanOption, "table-3": rerun.Seed, "figure-1": rerun.ResultsEdited}
	seen := map[string]bool{}
	for _, row := range r.Rows {
		seen[row.Analysis] = true
		if len(row.Causes) != 1 || kind[row.Causes[0]] != want[row.Analysis] {
			t.Errorf("%s: %q of %v, want %s", row.ID, row.Causes, kind, want[row.Analysis])
		}
	}
	if len(seen) != 4 {
		t.Errorf("analyses %v", seen)
	}
}

// Sheets of a workbook in another order change nothing.
func TestRerunReorderedSheet(t *testing.T) {
	sheet := func(name string, rows ...string) dataset.WorkbookSheet {
		s := dataset.WorkbookSheet{Name: name}
		for _, row := range rows {
			var cells []dataset.WorkbookCell
			for text := range strings.SplitSeq(row, ",") {
				cells = append(cells, dataset.WorkbookCell{Text: text})
			}
			s.Rows = append(s.Rows, cells)
		}
		return s
	}
	book := func(t *testing.T, dir string, sheets ...dataset.WorkbookSheet) {
		t.Helper()
		f, err := os.Create(filepath.Join(dir, "data", "book.xlsx"))
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		if err := dataset.WriteWorkbook(f, sheets); err != nil {
			t.Fatal(err)
		}
	}
	dir := smallStudy(t)
	remove(t, dir, "data/children.csv")
	clubs := sheet("clubs", "club", "c1", "c2")
	children := sheet("children", smallRows()...)
	text := strings.Replace(smallCodebook, "path: data/children.csv", "path: data/book.xlsx\n    heelcohort: {sheet: children}", 1)
	put(t, dir, "codebook.yaml", text+"  - name: clubs\n    path: data/book.xlsx\n    heelcohort: {sheet: clubs}\n    schema: {fields: [{name: club, type: string}]}\n")
	book(t, dir, children, clubs)
	heelcohort(t, exitDone, "run", dir)
	dir = unpacked(t, dir)
	book(t, dir, clubs, children)
	r := rerunFolder(t, exitReport, dir)
	if len(r.Changes) != 1 || r.Changes[0].Kind != rerun.DataWritten || !r.Changes[0].Harmless || r.Counts.Moved != 0 || len(r.Rows) != 0 {
		t.Errorf("%+v, %+v", r.Changes, r.Counts)
	}
}

// A bundle without data says so; with the data it is computed, and other data
// are told.
func TestRerunWithoutData(t *testing.T) {
	study := ran(t)
	dir := unpacked(t, study, "--without-data")
	r := rerunFolder(t, exitReport, dir)
	if !strings.Contains(r.Stopped, "data/children.csv: the bundle does not hold it") || !strings.Contains(r.Stopped, "--data FOLDER") || len(r.Changes) != 0 {
		t.Errorf("%q, %+v", r.Stopped, r.Changes)
	}
	r = rerunFolder(t, exitDone, dir, "--data", study)
	if r.Counts.Same < 100 || len(r.Outputs.Different) != 0 {
		t.Errorf("%+v, %+v", r.Counts, r.Outputs)
	}
	replace(t, study, "data/children.csv", "k05,c5,normal,no,11", "k05,c5,normal,no,12")
	r = rerunFolder(t, exitReport, dir, "--data", study)
	if len(r.Changes) != 1 || r.Changes[0].Kind != rerun.DataFile || r.Changes[0].Moved == 0 || r.Apart {
		t.Errorf("%+v, told apart %v", r.Changes, r.Apart)
	}
}

// The page carries the notice, and neither script nor address.
func TestRerunPage(t *testing.T) {
	dir := unpacked(t, ran(t))
	replace(t, dir, "study.yaml", "seed: 3", "seed: 4")
	replace(t, dir, "codebook.yaml", "label: Normal arch", `label: "<script>alert(1)</script>"`)
	out := filepath.Join(t.TempDir(), "rerun.html")
	heelcohort(t, exitReport, "rerun", "--html", out, dir)
	page := get(t, filepath.Dir(out), "rerun.html")
	for _, want := range []string{
		"For research on de-identified data. Not for diagnosing or treating a child, nor for deciding whether one may play",
		"default-src &#39;none&#39;", "Not everything holds", "analyses[table-3].seed: 3 → 4", "seed (change ", "table-3/",
	} {
		if !strings.Contains(page, want) && !strings.Contains(page, strings.ReplaceAll(want, "&#39;", "'")) {
			t.Errorf("no %q", want)
		}
	}
	if strings.Contains(page, "<script") || strings.Contains(page, "http://") || strings.Contains(page, "https://") {
		t.Error("the page has a script or an address")
	}
	// It is not written over unasked.
	heelcohortBoth(t, exitNotDone, "rerun", "--html", out, dir)
	heelcohort(t, exitReport, "rerun", "--replace", "--html", out, dir)
}

// What cannot be rerun is refused, and leaves nothing in the temporary folder.
func TestRerunRefusals(t *testing.T) {
	temporary := t.TempDir()
	t.Setenv("TMPDIR", temporary)
	study := smallStudy(t)
	put(t, study, "no.zip", "no archive")
	for _, args := range [][]string{
		{study}, // without results
		{filepath.Join(study, "no.zip")},
		{filepath.Join(study, "nowhere.zip")},
		{"--tolerance", "-1", study},
		{"--tolerance", "NaN", study},
		{"--tolerance", "1", study},
		{},
		{study, study},
	} {
		heelcohortBoth(t, exitNotDone, append([]string{"rerun"}, args...)...)
	}
	if left := readTree(t, temporary); len(left) > 0 {
		t.Errorf("left in the temporary folder: %q", keysOf(left))
	}
}
