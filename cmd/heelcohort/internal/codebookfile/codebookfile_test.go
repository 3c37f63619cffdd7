package codebookfile_test

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"

	"heelcohort/cmd/heelcohort/internal/codebookfile"
	"heelcohort/codebook/codebooktest"
	"heelcohort/codebook/document"
	"heelcohort/codebook/document/documenttest"
	"heelcohort/codebook/sheet"
)

// TestForms wants every document back from each form of a codebook's file, and
// the same bytes the second time.
func TestForms(t *testing.T) {
	documents := codebooktest.Documents(t)
	rapid.Check(t, func(t *rapid.T) {
		n := documents.Draw(t, "document")
		for _, name := range []string{"codebook.xlsx", "codebook.yaml", "codebook.json"} {
			data, err := codebookfile.Encode(name, n)
			if err != nil {
				t.Fatal(err)
			}
			back, err := codebookfile.Document(name, data)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(documenttest.Value(n), documenttest.Value(back)); diff != "" {
				t.Fatalf("%s: %s", name, diff)
			}
			if again, err := codebookfile.Encode(name, n); err != nil || !bytes.Equal(data, again) {
				t.Fatalf("%s: other bytes the second time (%v)", name, err)
			}
		}
	})
}

// TestTooLong wants a text that no cell holds refused at its place.
func TestTooLong(t *testing.T) {
	long := string(bytes.Repeat([]byte("a"), 32768))
	n, err := document.Parse("codebook.yaml", []byte("name: a\ndescription: "+long+"\nresources: []\n"))
	if err != nil {
		t.Fatal(err)
	}
	_, err = codebookfile.Encode("codebook.xlsx", n)
	if want := "codebook.yaml:2:14: takes 32768 characters in a spreadsheet, more than the 32767 of a cell"; err == nil || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
}

const small = `
name: one
resources:
  - name: children
    path: data/children.csv
    schema:
      fields:
        - {name: child, type: string, example: "007"}
        - {name: height, type: number, constraints: {minimum: 95}, missingValues: ["", "_x0041_"]}
        - {name: note, type: string, description: "two\nlines"}
`

// edited is the workbook of small with one cell changed by another library.
func edited(t *testing.T, name, cell string, value any) []byte {
	t.Helper()
	n, err := document.Parse("codebook.yaml", []byte(small))
	if err != nil {
		t.Fatal(err)
	}
	data, err := codebookfile.Encode("codebook.xlsx", n)
	if err != nil {
		t.Fatal(err)
	}
	f, err := excelize.OpenReader(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if err := f.SetCellValue(name, cell, value); err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if err := f.Write(&out); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// TestEdited changes a cell of a real workbook and wants the codebook that it
// then says, or the fault at its cell.
func TestEdited(t *testing.T) {
	for _, c := range []struct {
		sheet, cell string
		value       any
		old, fresh  string // in small
		want        string // fault
	}{
		{"variables", "K3", 90.5, "minimum: 95", "minimum: 90.5", ""},
		{"variables", "K3", " 90 ", "minimum: 95", "minimum: 90", ""},
		{"variables", "I3", true, "minimum: 95", "required: true, minimum: 95", ""},
		{"variables", "Z2", 7, `example: "007"`, `example: "7"`, ""},
		{"variables", "C3", "Height", "{name: height", "{name: height, title: Height", ""},
		{"tables", "G2", 3, "path: data/children.csv", "path: data/children.csv\n    heelcohort: {header_row: 3}", ""},
		{"variables", "E3", "numbr", "", "", `codebook.xlsx, sheet "variables", E3: unknown type "numbr", expected one of string, integer, number, boolean, date, datetime, list; did you mean "number"?`},
		{"variables", "E3", true, "", "", `codebook.xlsx, sheet "variables", E3: found the spreadsheet's own TRUE, expected a text: format the cell as text and type it again`},
		{"variables", "K1", "minmum", "", "", `codebook.xlsx, sheet "variables", K1: unknown heading "minmum"`},
		{"missing codes", "A4", "childrn", "", "", `codebook.xlsx, sheet "missing codes", A4: the sheet tables has no table "childrn"; did you mean "children"?`},
		{"variables", "AH9", "stray", "", "", `codebook.xlsx, sheet "variables", AH9: found "stray" in a column without a heading`},
	} {
		p, err := codebookfile.Decode("codebook.xlsx", edited(t, c.sheet, c.cell, c.value))
		if c.want != "" {
			if err == nil || p != nil || !strings.HasPrefix(err.Error(), c.want) {
				t.Errorf("%s %s: got %v, want %s", c.sheet, c.cell, err, c.want)
			}
			continue
		}
		if err != nil {
			t.Errorf("%s %s: %v", c.sheet, c.cell, err)
			continue
		}
		if !strings.Contains(small, c.old) {
			t.Fatalf("%s is not there", c.old)
		}
		want, err := document.Parse("codebook.yaml", []byte(strings.Replace(small, c.old, c.fresh, 1)))
		if err != nil {
			t.Fatal(err)
		}
		got, err := codebookfile.Document("codebook.xlsx", edited(t, c.sheet, c.cell, c.value))
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(documenttest.Value(want), documenttest.Value(got)); diff != "" {
			t.Errorf("%s %s: %s", c.sheet, c.cell, diff)
		}
	}
}

// TestOpenpyxl has another program read a workbook: every cell is the text that
// was meant, formatted as text, below headings that stay in view.
func TestOpenpyxl(t *testing.T) {
	const interpreter = "/usr/bin/python3"
	if exec.Command(interpreter, "-c", "import openpyxl").Run() != nil {
		t.Skipf("SKIPPED: %s with openpyxl is not installed, so workbooks were not checked against it", interpreter)
	}
	const script = `
import json, openpyxl, sys
book = openpyxl.load_workbook(sys.argv[1])
out = {}
for s in book:
    cells = {c.coordinate: c.value for row in s for c in row if c.value is not None}
    plain = [c.coordinate for row in s.iter_rows(min_row=2) for c in row if s.title != "read me" and (c.number_format != "@" or c.value is not None and c.data_type != "s")]
    out[s.title] = {"cells": cells, "notText": plain, "frozen": s.freeze_panes or "", "bold": s["A1"].font.b}
print(json.dumps(out))
`
	n, err := document.Parse("codebook.yaml", []byte(small))
	if err != nil {
		t.Fatal(err)
	}
	data, err := codebookfile.Encode("codebook.xlsx", n)
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "codebook.xlsx")
	if err := os.WriteFile(file, data, 0o644); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(interpreter, "-c", script, file).CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	var got map[string]struct {
		Cells   map[string]string
		NotText []string
		Frozen  string
		Bold    bool
	}
	if err := json.Unmarshal(out, &got); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	sheets, err := sheet.Write(n)
	if err != nil {
		t.Fatal(err)
	}
	if len(got) != len(sheets) {
		t.Errorf("%d sheets, want %d", len(got), len(sheets))
	}
	for _, s := range sheets {
		g := got[s.Name]
		want := map[string]string{}
		for _, row := range s.Rows {
			for j, c := range row.Cells {
				if c.Text != "" {
					ref, err := excelize.CoordinatesToCellName(j+1, row.Number)
					if err != nil {
						t.Fatal(err)
					}
					want[ref] = c.Text
				}
			}
		}
		if diff := cmp.Diff(want, g.Cells); diff != "" {
			t.Errorf("%s: %s", s.Name, diff)
		}
		frozen := string(rune('A'+s.Frozen)) + "2"
		if s.Name != sheet.ReadMe && (g.Frozen != frozen || len(g.NotText) > 0) || !g.Bold {
			t.Errorf("%s: frozen at %q, bold %v, not texts: %v", s.Name, g.Frozen, g.Bold, g.NotText)
		}
	}
}

// FuzzDocument wants a document or an error of any file, and the document back
// from a workbook of its own.
func FuzzDocument(f *testing.F) {
	n, err := document.Parse("codebook.yaml", []byte(small))
	if err != nil {
		f.Fatal(err)
	}
	data, err := codebookfile.Encode("codebook.xlsx", n)
	if err != nil {
		f.Fatal(err)
	}
	f.Add(data)
	f.Add(data[:len(data)/2])
	f.Add([]byte(small))
	f.Fuzz(func(t *testing.T, data []byte) {
		n, err := codebookfile.Document("codebook.xlsx", data)
		if (n == nil) == (err == nil) {
			t.Fatalf("document %v and error %v", n, err)
		}
		if err == nil {
			_, _ = codebookfile.Encode("codebook.xlsx", n) // compares for itself
		}
	})
}
