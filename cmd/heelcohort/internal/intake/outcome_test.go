package intake

import (
	"context"
	"fmt"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"heelcohort/codebook/value"
	"heelcohort/dataset"
)

// An outcome is what became of a file.
type outcome struct {
	Refused  string   // the refusal's sentence
	Findings []string // rule@cell, sorted
	Sheets   []string // sheets of the findings
	Rows     int
	Memory   int64  // most bytes held, of an outcome in a process of its own
	Wrong    string // values that are neither right nor reported
}

// read opens a file of testdata/intake, or of dir, against its codebook.
func read(t testing.TB, dir string, e entry) (outcome, *dataset.Dataset) {
	t.Helper()
	name := path.Base(e.File)
	if p, ok := strings.CutPrefix(e.File, "path:"); ok {
		name = p
	}
	p, err := book(t, name, e.Codebook)
	if err != nil {
		return outcome{Refused: err.Error()}, nil
	}
	ctx := context.Background()
	d, found, err := dataset.Open(ctx, dir, p, dataset.Options{})
	if err != nil {
		return outcome{Refused: err.Error()}, nil
	}
	more, err := dataset.Validate(ctx, d)
	if err != nil {
		return outcome{Refused: err.Error()}, nil
	}
	found = append(found, more...)
	o := outcome{Rows: d.Tables[0].Len()}
	for _, f := range found {
		o.Findings = append(o.Findings, f.Rule+"@"+cell(f.Where))
		if !slices.Contains(o.Sheets, f.Where.Sheet) {
			o.Sheets = append(o.Sheets, f.Where.Sheet)
		}
	}
	slices.Sort(o.Findings)
	return o, d
}

// cell names a place shortly: B3 and "row 3" in a sheet, 3:2 and 3 in a text.
func cell(o dataset.Origin) string {
	if o.Sheet != "" || o.Row == 0 {
		return o.Cell()
	}
	if o.Column == 0 {
		return fmt.Sprint(o.Row)
	}
	return fmt.Sprintf("%d:%d", o.Row, o.Column)
}

// studyDir is where a committed file lies.
func studyDir(e entry) string {
	return filepath.Join(folder, filepath.FromSlash(path.Dir(e.File)))
}

// differs compares a table with the plain study, visit by visit. A cell that
// has a finding may be invalid; all others must be the same value, or missing
// by the same code. It gives "" where they are, else the first difference.
func differs(got *dataset.Dataset, plain *dataset.Table, findings []string, all bool) string {
	t := got.Tables[0]
	if all && t.Len() != plain.Len() {
		return fmt.Sprintf("%d rows, want %d", t.Len(), plain.Len())
	}
	at := map[string]int{}
	for i := range plain.Len() {
		at[plain.Column("id").Text[i]] = i
	}
	for i := range t.Len() {
		k, known := at[t.Column("id").Text[i]]
		if !known { // or stood before
			continue
		}
		delete(at, t.Column("id").Text[i])
		for j, c := range t.Columns {
			p := plain.Column(c.Name)
			if c.State[i] == dataset.Invalid {
				if !reported(findings, t.Origin(i, c), c.Name) {
					return fmt.Sprintf("%s of %s is invalid without a finding", c.Name, t.Column("id").Text[i])
				}
				continue
			}
			if c.Kind != p.Kind {
				return fmt.Sprintf("%s is a %v, want a %v", t.Columns[j].Name, c.Kind, p.Kind)
			}
			if a, b := shown(c.Value(i)), shown(p.Value(k)); a != b || c.State[i] != p.State[k] {
				return fmt.Sprintf("%s of %s is %s, want %s", c.Name, t.Column("id").Text[i], a, b)
			}
		}
	}
	return ""
}

// reported says whether some finding stands in the row of a place, or is about
// merged cells, which name their first cell alone.
func reported(findings []string, o dataset.Origin, _ string) bool {
	row, column := cell(dataset.Origin{Sheet: o.Sheet, Row: o.Row}), cell(o)
	return slices.ContainsFunc(findings, func(f string) bool {
		_, where, _ := strings.Cut(f, "@")
		return where == column || where == row || strings.HasPrefix(f, dataset.RuleMergedCells)
	})
}

// shown writes a value with its kind and all its digits.
func shown(v value.Value) string {
	if v.Missing {
		return fmt.Sprintf("missing %q", v.Code)
	}
	return fmt.Sprintf("%v %v %q %v", v.Kind, v.Number, v.Text, v.Bool)
}

// check compares an outcome with the one wanted, and gives "" or what is wrong.
func check(e entry, o outcome) string {
	got := "loads"
	switch {
	case o.Refused != "":
		got = "refused: " + o.Refused
	case len(o.Findings) > 0:
		got = "findings: " + strings.Join(o.Findings[:min(len(o.Findings), 12)], "; ")
	}
	if o.Wrong != "" {
		return o.Wrong
	}
	bad := func() string { return fmt.Sprintf("got  %s\nwant %s (%s)", got, e.Want, e.Where) }
	switch {
	case e.Want == "loads":
		if got != "loads" {
			return bad()
		}
	case strings.HasPrefix(e.Want, "loads: "):
		if got != "loads" || fmt.Sprintf("loads: %d rows", o.Rows) != e.Want {
			return bad() + fmt.Sprintf(", %d rows", o.Rows)
		}
	case strings.HasPrefix(e.Want, "findings: "):
		if !slices.Equal(o.Findings, wantedFindings(e.Want)) {
			return bad()
		}
		if e.Where != "" && !slices.Equal(o.Sheets, []string{e.Where}) {
			return fmt.Sprintf("sheets %q, want %q", o.Sheets, e.Where)
		}
	case strings.HasPrefix(e.Want, "refused: "):
		sentence := strings.TrimPrefix(e.Want, "refused: ")
		if o.Refused == "" || !strings.Contains(o.Refused, sentence) || !strings.Contains(o.Refused, e.Where) {
			return bad()
		}
	case e.Want == "bounded":
	default:
		return "want is " + e.Want + ", expected loads, findings: or refused:"
	}
	return ""
}
