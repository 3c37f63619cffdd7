package draft

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"heelcohort/cmd/heelcohort/internal/demo"
	"heelcohort/codebook"
	"heelcohort/dataset"
)

const children = `id,sex,height_cm,seen
c1,f,120.5,2024-01-31
c2,m,131,2024-02-01
c3,f,NM,2024-02-02
c4,m,140.2,
c5,f,128,2024-03-01
c6,m,129,2024-03-04
`

const visits = `visit_id,id,pain
v1,c1,3
v2,c1,4
v3,c2,5
v4,c6,0
`

// The whole text of a draft, written by hand from the two files above.
func TestText(t *testing.T) {
	d, dir := draftFiles(t, []string{"children.csv", "visits.csv"}, children, visits)
	want := preamble + `name: "children"
resources:
  - name: "children"
    path: "children.csv"
    encoding: "utf-8"
    dialect: {delimiter: ","}
    heelcohort: {header_row: 1}
    x-guessed:
      "header_row": "the first row as full as the others"
      "encoding, delimiter": "as the file was read"
      "primaryKey": "no two of 6 rows share it and it is never empty"
    x-observed: {rows: 6}
    schema:
      fields:
        - name: "id"
          type: string
          heelcohort: {role: identifier}
          x-guessed:
            "type": "no other type reads nine in ten of 6 cells"
            "role": "a word of the title"
          x-observed: {values: 6, empty: 0}
        - name: "sex"
          type: string
          categories:
            - {value: "f"}
            - {value: "m"}
          heelcohort: {role: quasi_identifier}
          x-guessed:
            "type": "no other type reads nine in ten of 6 cells"
            "categories": "2 texts, each in at least 3 cells"
            "role": "a word of the title"
          x-observed: {values: 6, empty: 0}
        - name: "height_cm"
          type: number
          missingValues:
            - {value: "NM", label: "suspected code NM: say what it means"}
          heelcohort: {unit: "cm"}
          x-guessed:
            "type": "number in all 5 cells"
            "missingValues": "suspected: \"NM\" in 1 cell"
            "unit": "from the title"
          x-observed: {values: 5, empty: 0}
        - name: "seen"
          type: date
          x-guessed:
            "type": "date in all 5 cells"
          x-observed: {values: 5, empty: 1}
      primaryKey: ["id"]
  - name: "visits"
    path: "visits.csv"
    encoding: "utf-8"
    dialect: {delimiter: ","}
    heelcohort: {header_row: 1}
    x-guessed:
      "header_row": "the first row as full as the others"
      "encoding, delimiter": "as the file was read"
      "foreignKeys id": "all 4 cells of id are found in children"
      "primaryKey": "no two of 4 rows share it and it is never empty"
    x-observed: {rows: 4}
    schema:
      fields:
        - name: "visit_id"
          type: string
          heelcohort: {role: identifier}
          x-guessed:
            "type": "no other type reads nine in ten of 4 cells"
            "role": "a word of the title"
          x-observed: {values: 4, empty: 0}
        - name: "id"
          type: string
          heelcohort: {role: identifier}
          x-guessed:
            "type": "no other type reads nine in ten of 4 cells"
            "role": "a word of the title"
          x-observed: {values: 4, empty: 0}
        - name: "pain"
          type: integer
          x-guessed:
            "type": "integer in all 4 cells"
          x-observed: {values: 4, empty: 0}
      primaryKey: ["visit_id"]
      foreignKeys:
        - fields: ["id"]
          reference: {resource: "children", fields: ["id"]}
`
	if diff := cmp.Diff(want, d.Text); diff != "" {
		t.Error(diff)
	}
	if _, findings := checked(t, d, dir); len(findings) != 0 {
		t.Errorf("findings: %+v", findings)
	}
}

// Titles that are no names, marks in them, empty columns, rows above: the
// draft is accepted and the same files are read with it.
func TestAccepted(t *testing.T) {
	for name, text := range map[string]string{
		"odd titles":      "Height (cm),\"a \"\"b\"\" c\",x: y,# z,ä\n1,2,3,4,5\n",
		"same identifier": "Height (cm),Height [cm],height_cm\n1,2,3\n",
		"rows above":      "Registry,,\n,,\nid,age,sex\na,1,f\n",
		"words of YAML":   "yes,no,null,~,x\na,b,c,d,e\n",
		"codes and blanks": "id,score\na,1\nb,NA\nc,\nd,999\ne,2\nf,3\ng,4\nh,5\n" +
			"i,1\n",
		"reserved":      "in,not,true\n1,2,3\n",
		"reserved code": "a\n1\n2\n3\n4\n5\n6\n7\n8\nfault\nfault\nfault\n",
		"faults":        "age\n1\n2\n3\n4\n5\n6\n7\n8\n9\n10\nabout 11\n",
	} {
		d, dir := draftFiles(t, []string{"a.csv"}, text)
		pkg, findings := checked(t, d, dir)
		if len(pkg.Resources) != 1 {
			t.Errorf("%s: %d tables", name, len(pkg.Resources))
		}
		want := 0
		if name == "faults" {
			want = 1
		}
		if len(findings) != want {
			t.Errorf("%s: findings %+v", name, findings)
		}
	}
}

// A sheet that is no table is left out with its reason; a file without any
// table is refused.
func TestLeftOut(t *testing.T) {
	var b bytes.Buffer
	cell := func(text string) dataset.WorkbookCell { return dataset.WorkbookCell{Text: text} }
	number := func(x float64) dataset.WorkbookCell { return dataset.WorkbookCell{Number: x, IsNumber: true} }
	err := dataset.WriteWorkbook(&b, []dataset.WorkbookSheet{
		{Name: "empty"},
		{Name: "data", Rows: [][]dataset.WorkbookCell{{cell("id"), cell("age")}, {cell("a"), number(7)}}},
		{Name: "note", Rows: [][]dataset.WorkbookCell{{cell("Ask the office")}}},
		{Name: "remarks", Rows: [][]dataset.WorkbookCell{{cell("Remarks")}, {cell("heights were taken twice in May")}}},
		{Name: "bare", Rows: [][]dataset.WorkbookCell{{number(1), number(2)}, {number(3), number(4)}}},
	})
	if err != nil {
		t.Fatal(err)
	}
	d, dir := draftFiles(t, []string{"a.xlsx"}, b.String())
	pkg, findings := checked(t, d, dir)
	want := []string{
		`a.xlsx, sheet "empty": nothing is written in it`,
		`a.xlsx, sheet "note": one column of text: notes and no table`,
		`a.xlsx, sheet "remarks": one column of text: notes and no table`,
		`a.xlsx, sheet "bare": ` + noHeader,
	}
	if diff := cmp.Diff(want, d.LeftOut); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff([]string{"data"}, pkg.Names()); diff != "" || len(findings) > 0 {
		t.Errorf("%s %v", diff, findings)
	}
	for _, reason := range want {
		if !strings.Contains(d.Text, "#   "+reason) {
			t.Errorf("the draft does not say %s", reason)
		}
	}

	dir = t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "a.csv"), []byte("1,2\n3,4\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	_, err = Files(context.Background(), dir, []string{"a.csv"})
	var none *NoTableError
	if !errors.As(err, &none) || err.Error() != "no table can be drafted: a.csv: "+noHeader {
		t.Errorf("%v", err)
	}
}

// Doubled titles and titles over two lines are drafted as the codebook says
// them.
func TestDoubledTitles(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "a.csv"), []byte("id,score,score,\"height\n(cm)\"\na,1,2,120\nb,3,4,130\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	d, err := Files(context.Background(), dir, []string{"a.csv"})
	if err != nil {
		t.Fatal(err)
	}
	pkg, findings := checked(t, d, dir)
	if diff := cmp.Diff([]string{"id", "score", "score_2", "height_cm"}, pkg.Resources[0].Schema.Names()); diff != "" || len(findings) > 0 {
		t.Errorf("%s %v", diff, findings)
	}
}

// No cell of an identifier, of free text or of a text that stands in fewer than
// three cells is in the draft; no extreme of a small column.
func TestKeepsSecrets(t *testing.T) {
	var b strings.Builder
	b.WriteString("Child name,clinic code,comment,school,sport,born,weight,group\n")
	for i := range 12 {
		sport := []string{"running", "jumping"}[i%2]
		if i == 5 {
			sport = "SECRETsport"
		}
		fmt.Fprintf(&b, "SECRET%c,SECRET-%03d,SECRET fell off a horse,SECRETschool,%s,2011-09-%02d,77.%d125,g%d\n", 'a'+i%3, i%4+77, sport, i+10, i+1, i%2)
	}
	d, dir := draftFiles(t, []string{"a.csv"}, b.String())
	checked(t, d, dir)
	for _, word := range []string{"SECRET", "2011", "77.", "125"} {
		if strings.Contains(d.Text, word) {
			t.Errorf("the draft holds %q", word)
		}
	}
	for _, word := range []string{`"running"`, `"g1"`, "1 cell hold other texts"} {
		if !strings.Contains(d.Text, word) {
			t.Errorf("the draft lacks %q", word)
		}
	}
}

// The workbook of the demonstration, drafted and compared with its codebook,
// which was written by hand. What differs is listed, and why.
func TestDemo(t *testing.T) {
	dir := t.TempDir()
	if err := demo.Write(context.Background(), dir, demo.WriteOptions{}); err != nil {
		t.Fatal(err)
	}
	d, err := Files(context.Background(), dir, []string{"data/registry.xlsx"})
	if err != nil {
		t.Fatal(err)
	}
	pkg, findings := checked(t, d, dir)
	if len(findings) > 0 {
		t.Errorf("%d findings, the first is %+v", len(findings), findings[0])
	}
	text, err := os.ReadFile(filepath.Join(dir, "codebook.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	known, err := codebook.Decode("codebook.yaml", text)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(known.Names(), pkg.Names()); diff != "" {
		t.Fatal(diff)
	}
	var differ []string
	fields := 0
	for i, r := range known.Resources {
		got := pkg.Resources[i]
		if got.Sheet != r.Sheet || got.HeaderRow != r.HeaderRow {
			t.Errorf("table %s is sheet %q from row %d", r.Name, got.Sheet, got.HeaderRow)
		}
		if diff := cmp.Diff(r.Schema.PrimaryKey, got.Schema.PrimaryKey); diff != "" {
			t.Errorf("%s: primary key %s", r.Name, diff)
		}
		if diff := cmp.Diff(r.Schema.ForeignKeys, got.Schema.ForeignKeys); diff != "" {
			t.Errorf("%s: foreign keys %s", r.Name, diff)
		}
		if diff := cmp.Diff(r.Schema.Names(), got.Schema.Names()); diff != "" {
			t.Fatal(diff)
		}
		for k, f := range r.Schema.Fields {
			fields++
			g := got.Schema.Fields[k]
			place := r.Name + "." + f.Name
			if f.Type != g.Type {
				differ = append(differ, fmt.Sprintf("%s: %s is %s", place, f.Type, g.Type))
			}
			if f.Unit != g.Unit && g.Unit != "" {
				differ = append(differ, fmt.Sprintf("%s: unit %s is %s", place, f.Unit, g.Unit))
			}
			for _, w := range g.Words() {
				if !slices.Contains(f.Words(), w) && f.Words() != nil {
					differ = append(differ, fmt.Sprintf("%s: no category %s", place, w))
				}
			}
			if f.Words() != nil && g.Words() == nil && g.Type == codebook.TypeString {
				differ = append(differ, place+": no categories")
			}
			for _, m := range g.Codes() {
				if !slices.Contains(codeTexts(f), m.Value) && m.Value != "" {
					differ = append(differ, fmt.Sprintf("%s: no code %s", place, m.Value))
				}
			}
		}
	}
	want := wantDemo
	if diff := cmp.Diff(want, differ); diff != "" {
		t.Errorf("of %d variables: %s", fields, diff)
	}
	again, err := Files(context.Background(), dir, []string{"data/registry.xlsx"})
	if err != nil || again.Text != d.Text {
		t.Errorf("the same file gives another draft; %v", err)
	}
}

func codeTexts(f *codebook.Field) (texts []string) {
	for _, m := range f.Codes() {
		texts = append(texts, m.Value)
	}
	return texts
}

// wantDemo is what a person has to put right. The scales from 0 to 100 could
// have fractions, of which these columns hold none.
var wantDemo = []string{
	"episodes.treatments: list is string", // what separates items is for a person to say
	"episodes.vas_onset_mm: number is integer",
	"visits.vas_rest_mm: number is integer",
	"visits.vas_sport_mm: number is integer",
	"visits.ox_child_footwear: number is integer",
	"visits.ox_parent_footwear: number is integer",
	"visits.adherence_pct: number is integer",
}
