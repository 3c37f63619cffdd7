package dataset

import (
	"archive/zip"
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"heelcohort/codebook"
)

// decode reads a codebook written in a test.
func decode(t testing.TB, yaml string) *codebook.Package {
	t.Helper()
	p, err := codebook.Decode("codebook.yaml", []byte(yaml))
	if err != nil {
		t.Fatalf("codebook: %v", err)
	}
	return p
}

// folder writes files into a fresh study folder.
func folder(t testing.TB, files map[string][]byte) string {
	t.Helper()
	dir := t.TempDir()
	for name, data := range files {
		full := filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(full), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(full, data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// read opens a study of files and fails the test on an error.
func read(t testing.TB, yaml string, files map[string][]byte) (*Dataset, []Finding) {
	t.Helper()
	d, found, err := Open(context.Background(), folder(t, files), decode(t, yaml), Options{})
	if err != nil {
		t.Fatalf("open: %v", err)
	}
	return d, found
}

// readErr opens a study and wants an error that holds all the words.
func readErr(t *testing.T, yaml string, files map[string][]byte, words ...string) {
	t.Helper()
	d, _, err := Open(context.Background(), folder(t, files), decode(t, yaml), Options{})
	if err == nil {
		t.Fatalf("open gave %d tables, want an error with %q", len(d.Tables), words)
	}
	for _, w := range words {
		if !strings.Contains(err.Error(), w) {
			t.Errorf("error %q, want it to hold %q", err, w)
		}
	}
}

// located writes findings as "rule @ place: found", for comparison.
func located(found []Finding) []string {
	out := []string{}
	for _, f := range found {
		out = append(out, fmt.Sprintf("%s @ %s: %s", f.Rule, f.Where.Cell(), f.Found))
	}
	return out
}

// wantLocated compares findings with what was wanted.
func wantLocated(t *testing.T, found []Finding, want ...string) {
	t.Helper()
	got := located(found)
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("findings\n\t%s\nwant\n\t%s", strings.Join(got, "\n\t"), strings.Join(want, "\n\t"))
	}
}

// values writes a column's cells: values as texts, codes in brackets, ! for an
// invalid cell.
func values(c *Column) string {
	var parts []string
	for i := range c.Len() {
		switch c.State[i] {
		case Present:
			parts = append(parts, c.Value(i).String())
		case Missing:
			parts = append(parts, "["+c.Code(i)+"]")
		default:
			parts = append(parts, "!")
		}
	}
	return strings.Join(parts, " ")
}

func wantValues(t *testing.T, table *Table, column, want string) {
	t.Helper()
	c := table.Column(column)
	if c == nil {
		t.Fatalf("no column %q", column)
	}
	if got := values(c); got != want {
		t.Errorf("%s is %s, want %s", column, got, want)
	}
}

// sheetXML makes a workbook with one sheet from the XML inside <worksheet>.
// The properties stand inside <workbookPr/>, shared texts inside <sst>.
func sheetXML(t testing.TB, sheet, properties, shared string) []byte {
	t.Helper()
	parts := bookParts(properties, shared)
	for i := range parts {
		if parts[i][0] == "xl/worksheets/sheet1.xml" {
			parts[i][1] = strings.Replace(parts[i][1], "><", ">"+sheet+"<", 1)
		}
	}
	return zipped(t, parts)
}

// bookParts are the parts of a workbook of one empty sheet.
func bookParts(properties, shared string) [][2]string {
	const main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
	const rel = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
	const pack = "http://schemas.openxmlformats.org/package/2006"
	return [][2]string{
		{"[Content_Types].xml", `<Types xmlns="` + pack + `/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="xml" ContentType="application/xml"/><Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/><Override PartName="/xl/worksheets/sheet1.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"/></Types>`},
		{"_rels/.rels", `<Relationships xmlns="` + pack + `/relationships"><Relationship Id="r1" Type="` + rel + `/officeDocument" Target="xl/workbook.xml"/></Relationships>`},
		{"xl/workbook.xml", `<workbook xmlns="` + main + `" xmlns:r="` + rel + `"><workbookPr ` + properties + `/><sheets><sheet name="data" sheetId="1" r:id="r7"/></sheets></workbook>`},
		{"xl/_rels/workbook.xml.rels", `<Relationships xmlns="` + pack + `/relationships"><Relationship Id="r7" Type="` + rel + `/worksheet" Target="worksheets/sheet1.xml"/><Relationship Id="r8" Type="` + rel + `/sharedStrings" Target="sharedStrings.xml"/></Relationships>`},
		{"xl/sharedStrings.xml", `<sst xmlns="` + main + `">` + shared + `</sst>`},
		{"xl/worksheets/sheet1.xml", `<worksheet xmlns="` + main + `"></worksheet>`},
	}
}

// zipped makes an archive of parts.
func zipped(t testing.TB, parts [][2]string) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, p := range parts {
		w, err := z.Create(p[0])
		if err != nil {
			t.Fatal(err)
		}
		if _, err := w.Write([]byte(p[1])); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// text is an inline text cell, for sheetXML.
func text(ref, s string) string {
	return `<c r="` + ref + `" t="inlineStr"><is><t>` + s + `</t></is></c>`
}

// book makes a workbook with excelize: sheets of rows.
func book(t testing.TB, sheets map[string][][]any) []byte {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	for name, rows := range sheets {
		if _, err := f.NewSheet(name); err != nil {
			t.Fatal(err)
		}
		for i, row := range rows {
			if err := f.SetSheetRow(name, fmt.Sprintf("A%d", i+1), &row); err != nil {
				t.Fatal(err)
			}
		}
	}
	if _, ok := sheets["Sheet1"]; !ok {
		if err := f.DeleteSheet("Sheet1"); err != nil {
			t.Fatal(err)
		}
	}
	return saved(t, f)
}

func saved(t testing.TB, f *excelize.File) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := f.Write(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// small is a codebook of one table in data.xlsx or data.csv with a field of
// each kind.
func small(path string) string {
	return `
name: saltmarsh
resources:
  - name: children
    path: ` + path + `
    schema:
      missingValues: ["", "NM", "999"]
      fields:
        - {name: id, type: string}
        - {name: age, type: number}
        - {name: limp, type: boolean}
        - {name: seen, type: date}
`
}
