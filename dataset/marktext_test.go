package dataset

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

func TestMarkText(t *testing.T) {
	data := "id,age,limp,seen\n" +
		"=1+1,ten,true,2022-03-01\n" + // line 2
		"\"b\nb\",11,true,\n" + // lines 3 and 4
		"\n" + // line 5
		"c,1,x,2022-03-01\n" + // line 6 is row 5
		"d,1\n" // line 7 is row 6
	_, found, names, out := marked(t, small("data.csv"), map[string][]byte{"data.csv": []byte(data)})
	wantLocated(t, found,
		"type @ line 2, column 2: ten", "empty row @ line 5: ", "type @ line 6, column 3: x", "row length @ line 7: 2 cells")
	if !slices.Equal(names, []string{"data.csv.xlsx"}) {
		t.Fatalf("names %q", names)
	}
	b, err := os.ReadFile(filepath.Join(out, names[0]))
	if err != nil {
		t.Fatal(err)
	}
	f := reopen(t, b)
	for cell, want := range map[string]string{
		"A1": "id", "A2": "=1+1", "B2": "ten", "A3": "b\nb", "A4": "", "A5": "c", "C5": "x", "D5": "2022-03-01", "B6": "1",
	} {
		got, err := f.GetCellValue("data", cell)
		if formula, _ := f.GetCellFormula("data", cell); got != want || err != nil || formula != "" {
			t.Errorf("%s is %q, formula %q (%v), want %q", cell, got, formula, err, want)
		}
	}
	notes := comments(t, f, "data")
	for cell, fill := range map[string]string{"B2": errorFill, "A4": warningFill, "C5": errorFill, "A6": errorFill} {
		if notes[cell] == "" {
			t.Errorf("no comment on %s", cell)
		}
		if got := strings.Join(styleOf(t, f, "data", cell).Fill.Color, ""); got != fill {
			t.Errorf("%s is filled with %q, want %s", cell, got, fill)
		}
	}
	if len(notes) != 4 {
		t.Errorf("comments %q", notes)
	}
	rows, err := f.GetRows("Findings")
	if err != nil || len(listed(rows)) != 5 || listed(rows)[3][0] != "line 6, column 3" || listed(rows)[3][2] != "C5" || listed(rows)[3][1] != "data" {
		t.Errorf("list %q (%v)", rows, err)
	}
	_, _, _, again := marked(t, small("data.csv"), map[string][]byte{"data.csv": []byte(data)})
	if c, err := os.ReadFile(filepath.Join(again, names[0])); err != nil || !bytes.Equal(b, c) {
		t.Errorf("two runs gave different bytes (%v)", err)
	}
}

// Every part of a marked copy must be well-formed XML, whatever the cells
// hold: a spreadsheet program calls the whole file damaged otherwise.
func TestMarkWellFormed(t *testing.T) {
	odd := `<b>&amp; "x" ]]> ` + "\u2028 ä 😀\nline"
	yaml := strings.Replace(markYAML(), "data/data.xlsx", "data.xlsx", 1)
	xlsx := book(t, map[string][][]any{"data": {{"id", "age", "limp", "seen", "<&"}, {"a", odd, odd, odd}}})
	csv := "id,age,limp,seen,<&\na,\"" + strings.ReplaceAll(odd, `"`, `""`) + "\",<,&,\n"
	for name, c := range map[string]struct {
		yaml string
		data []byte
	}{"data.xlsx": {yaml, xlsx}, "data.csv": {small("data.csv"), []byte(csv)}} {
		_, _, names, out := marked(t, c.yaml, map[string][]byte{name: c.data})
		data, err := os.ReadFile(filepath.Join(out, names[0]))
		if err != nil {
			t.Fatal(err)
		}
		z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
		if err != nil {
			t.Fatal(err)
		}
		drawings := 0
		for _, part := range z.File {
			if strings.HasSuffix(part.Name, ".vml") {
				drawings++
			}
			r, err := part.Open()
			if err != nil {
				t.Fatal(err)
			}
			d := xml.NewDecoder(r)
			for {
				if _, err := d.Token(); err == io.EOF {
					break
				} else if err != nil {
					t.Errorf("%s of %s: %v", part.Name, name, err)
					break
				}
			}
			_ = r.Close()
		}
		if drawings != 1 {
			t.Errorf("%s has %d drawings of comments, want 1", name, drawings)
		}
		if notes := comments(t, reopen(t, data), "data"); !strings.Contains(notes["B2"], odd) {
			t.Errorf("%s: comment %q, want it to hold %q", name, notes["B2"], odd)
		}
	}
}
