package intake

import (
	"path/filepath"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"heelcohort/dataset"
)

// TestSame reads one study of 40 visits in every encoding of same.csv and wants
// the typed columns of the plain text from each: kinds, values, states and
// missing codes.
func TestSame(t *testing.T) {
	entries := readTable(t, "same.csv", "same")
	if len(entries) < 30 {
		t.Errorf("%d encodings, want 30", len(entries))
	}
	_, plain := read(t, filepath.Join(folder, "same"), entry{File: "plain.csv", Codebook: "base"})
	if plain == nil || plain.Tables[0].Len() != 40 {
		t.Fatal("the plain study was not read")
	}
	for _, e := range entries {
		t.Run(filepath.Base(e.File), func(t *testing.T) {
			o, d := read(t, studyDir(e), e)
			if d != nil {
				o.Wrong = cmp.Diff(typed(plain.Tables[0]), typed(d.Tables[0]), cmp.Comparer(sameNumber))
			}
			judge(t, e, o)
		})
	}
}

// A typedColumn is what analyses see of a column.
type typedColumn struct {
	Name   string
	Kind   string
	Words  []string
	Number []float64
	Text   []string
	Bool   []bool
	State  []dataset.State
	Code   []string
}

// typed gives the columns of a table by name.
func typed(t *dataset.Table) map[string]typedColumn {
	columns := map[string]typedColumn{}
	for _, c := range t.Columns {
		codes := make([]string, c.Len())
		for i := range codes {
			if c.State[i] == dataset.Missing {
				codes[i] = c.Value(i).Code
			}
		}
		columns[c.Name] = typedColumn{c.Name, c.Kind.String(), slices.Clone(c.Words), c.Number, c.Text, c.Bool, c.State, codes}
	}
	return columns
}

// sameNumber holds for equal numbers and for two that are none.
func sameNumber(a, b float64) bool { return a == b || a != a && b != b }
