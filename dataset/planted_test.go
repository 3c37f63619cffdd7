package dataset

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"heelcohort/codebook"
)

// TestPlantedFaults reads the studies of testdata/rules, whose column want says
// of every row what is found in it: "rule in variable: sentence", several with
// " | " between them, "warning: " before a warning. The sentence … is any.
func TestPlantedFaults(t *testing.T) {
	folders, err := filepath.Glob("testdata/rules/*")
	if err != nil || len(folders) < 10 {
		t.Fatal(folders, err)
	}
	kinds := map[string]bool{}
	for _, folder := range folders {
		t.Run(filepath.Base(folder), func(t *testing.T) {
			d, found := openStudy(t, folder)
			for _, table := range d.Tables {
				for _, rule := range table.Resource.Schema.Rules {
					kinds[rule.Kind] = true
				}
				checkPlanted(t, table, found)
			}
		})
	}
	for _, k := range codebook.RuleKinds() {
		if !kinds[k.Name] {
			t.Errorf("no planted fault for the kind %s", k.Name)
		}
		if ruleKinds[k.Name] == nil {
			t.Errorf("the kind %s is not checked", k.Name)
		}
	}
	if len(ruleKinds) != len(codebook.RuleKinds()) {
		t.Errorf("%d kinds are checked, want %d", len(ruleKinds), len(codebook.RuleKinds()))
	}
}

// openStudy reads and validates a study of testdata.
func openStudy(t *testing.T, folder string) (*Dataset, []Finding) {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(folder, "codebook.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	d, found, err := Open(context.Background(), folder, decode(t, string(data)), Options{})
	if err != nil {
		t.Fatal(err)
	}
	more, err := Validate(context.Background(), d)
	if err != nil {
		t.Fatal(err)
	}
	found = append(found, more...)
	SortFindings(d, found)
	return d, found
}

// checkPlanted compares a table's findings with its column want.
func checkPlanted(t *testing.T, table *Table, found []Finding) {
	t.Helper()
	byRow := map[int][]string{}
	for _, f := range found {
		if f.Table != table.Name {
			continue
		}
		said := fmt.Sprintf("%s in %s: %s", f.Rule, f.Variable, f.Message)
		if f.Severity == Warning {
			said = "warning: " + said
		}
		byRow[f.Where.Row] = append(byRow[f.Where.Row], said)
	}
	want := table.Column("want")
	if want == nil {
		return
	}
	for i, row := range table.Rows {
		got, wanted := byRow[row], []string{}
		if want.State[i] == Present {
			wanted = strings.Split(want.Text[i], " | ")
		}
		taken := map[int]bool{}
		for _, w := range wanted {
			at := -1
			for k, g := range got {
				begin, open := strings.CutSuffix(w, "…")
				if !taken[k] && (g == w || open && strings.HasPrefix(g, begin)) {
					at = k
				}
			}
			if at < 0 {
				t.Errorf("%s line %d: not found: %s", table.Name, row, w)
			}
			taken[at] = true
		}
		for k, g := range got {
			if !taken[k] {
				t.Errorf("%s line %d: not planted: %s", table.Name, row, g)
			}
		}
	}
}
