package dataset

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"
)

// screenedFindings reads, validates and screens a study.
func screenedFindings(t testing.TB, yaml string, files map[string][]byte) (*Dataset, []Finding) {
	t.Helper()
	d, found := read(t, yaml, files)
	more, err := Validate(context.Background(), d)
	if err != nil {
		t.Fatal(err)
	}
	all, err := Screen(context.Background(), d, append(found, more...))
	if err != nil {
		t.Fatal(err)
	}
	return d, all
}

// places writes findings as "rule @ sheet cell".
func places(found []Finding) []string {
	out := []string{}
	for _, f := range found {
		out = append(out, strings.TrimSpace(fmt.Sprintf("%s @ %s %s", f.Rule, f.Where.Sheet, f.Where.Cell())))
	}
	return out
}

const namedYAML = `
name: saltmarsh
resources:
  - name: children
    path: data.xlsx
    heelcohort: {sheet: children, header_row: 3}
    schema:
      primaryKey: id
      fields:
        - {name: id, type: string, constraints: {pattern: 'SM-[0-9]{4}'}}
        - {name: surname, type: string, constraints: {maxLength: 4}}
        - {name: seen, type: date}
        - {name: born, type: date, title: Date of birth}
        - {name: remark, type: string, missingValues: []}
        - {name: height, type: number}
`

// planted are the texts that no finding may show.
var planted = []string{
	"Saltmarsh", "Fenn", "x@example.org", "7700 900123", "555-0101", "Old Marsh Road", "1990", "2012-05-01", "Emma", "notes by",
}

func namedBook(t testing.TB) []byte {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	must(f.SetSheetName("Sheet1", "children"))
	rows := [][]any{
		{"exported by x@example.org"},
		nil,
		{"id", "surname", "seen", "born", "remark", "height", "Telefon", "kid"},
		{"SM-0001", "Saltmarsh", "2024-03-01", "2012-05-01", "", 150, "555-0101 4", "Emma Fenn"},
		{"SM-0002", "Fenn", "2024-03-02", "2013-05-01", "call +44 7700 900123", 151, "555-0101 5", "Noah Fenn"},
		{"x@example.org", "Marsh", "2024-03-03", "2014-05-01", "12 Old Marsh Road", "tall Emma", "555-0101 6", "Liam Fenn"},
	}
	for i, row := range rows {
		must(f.SetSheetRow("children", fmt.Sprintf("A%d", i+1), &row))
	}
	_, err := f.NewSheet("contacts")
	must(err)
	must(f.SetSheetRow("contacts", "A1", &[]any{"who", "mail"}))
	must(f.SetSheetRow("contacts", "A2", &[]any{"mother", "x@example.org"}))
	must(f.AddComment("children", excelize.Comment{Cell: "B4", Author: "E. Fenn", Text: "notes by x@example.org"}))
	must(f.SetDocProps(&excelize.DocProperties{Creator: "Emma Fenn"}))
	return saved(t, f)
}

// Everything that names people is found where it stands, and nothing of it is
// shown: not by the screen's own findings, not by others about such cells, and
// not in what is written from them.
func TestScreenFindsAndMasks(t *testing.T) {
	d, found := screenedFindings(t, namedYAML, map[string][]byte{"data.xlsx": namedBook(t)})
	want := []string{
		"e-mail address @ children A1",
		"person name @ children B3", "calendar date @ children C3", "date of birth @ children D3",
		"phone number @ children G3", "unknown column @ children G3", "person name @ children H3", "unknown column @ children H3",
		"length @ children B4",
		"phone number @ children E5",
		"e-mail address @ children A6", "pattern @ children A6", "length @ children B6", "postal address @ children E6", "type @ children F6",
		"e-mail address @", "unknown sheet @ contacts", "workbook author @", "workbook author @",
		"e-mail address @ contacts B1",
	}
	got := places(found)
	slices.Sort(got)
	slices.Sort(want)
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("findings (-want +got):\n%s", diff)
	}
	var out bytes.Buffer
	if err := WriteFindings(&out, found); err != nil {
		t.Fatal(err)
	}
	for _, f := range found {
		fmt.Fprintf(&out, "%+v\n", f)
		out.WriteString(commentOf(f))
	}
	for _, text := range planted {
		if strings.Contains(out.String(), text) {
			t.Errorf("%q is shown", text)
		}
	}
	// Of the marked copy, the comments and the list; its cells are the study's.
	dir := t.TempDir()
	names, err := Mark(context.Background(), d, found, dir)
	if err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(filepath.Join(dir, names[0]))
	if err != nil {
		t.Fatal(err)
	}
	f, err := excelize.OpenReader(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	sheets := f.GetSheetList()
	rows, err := f.GetRows(sheets[len(sheets)-1])
	if err != nil {
		t.Fatal(err)
	}
	shown := fmt.Sprint(rows)
	comments, err := f.GetComments("children")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range comments {
		if c.Author == commentAuthor && c.Cell != "B4" { // B4 keeps the comment that was there
			shown += c.Text
		}
	}
	for _, text := range planted {
		if strings.Contains(shown, text) {
			t.Errorf("%q is shown in the marked copy", text)
		}
	}
}

// A finding about a masked cell says its length and nothing else of it.
func TestMaskedFinding(t *testing.T) {
	resource := decode(t, small("data.csv")).Resources[0]
	rapid.Check(t, func(t *rapid.T) {
		word := rapid.StringMatching(`[A-Z][a-z]{4,9}`)
		show := func(text string) Finding {
			s := &screening{d: &Dataset{Tables: []*Table{{Name: "children", Resource: resource}}}, masked: map[[2]string]bool{{"children", "age"}: true}}
			return s.mask(Finding{
				Rule: rapid.SampledFrom([]string{"type", "primary key", "error cell"}).Draw(t, "rule"), Table: "children", Variable: "age",
				Found: text, Expected: "a number", Message: "age: found " + text,
			})
		}
		a := word.Draw(t, "a")
		f := show(a)
		if all := f.Found + f.Message + f.Nearest; strings.Contains(all, a) {
			t.Errorf("%q shows %q", all, a)
		}
	})
}

const exceptionsYAML = `
name: saltmarsh
resources:
  - name: children
    path: data.csv
    schema:
      fields:
        - {name: code, type: string, heelcohort: {exception: {screens: [near-unique, free text], reason: study code of the registry}}}
        - {name: rater_name, type: string, heelcohort: {exception: {screens: [person name], reason: raters have agreed in writing}}}
`

// An exception lets a column through, and one that is not needed is a warning.
func TestExceptions(t *testing.T) {
	var csv strings.Builder
	csv.WriteString("code,rater_name\n")
	for i := range 30 {
		fmt.Fprintf(&csv, "K%03d,Rater %c\n", i, 'A'+i%3)
	}
	d, found := screenedFindings(t, exceptionsYAML, map[string][]byte{"data.csv": []byte(csv.String())})
	if diff := cmp.Diff([]string{"unused exception @  line 1, column 1"}, places(found)); diff != "" {
		t.Error(diff)
	}
	want := []Exception{
		{"children", "code", "near-unique", "study code of the registry", 30},
		{"children", "rater_name", "person name", "raters have agreed in writing", 30},
	}
	if diff := cmp.Diff(want, d.Exceptions); diff != "" {
		t.Error(diff)
	}
}

const anonymousYAML = `
name: saltmarsh
resources:
  - name: children
    path: children.csv
    heelcohort: {k_anonymity: {at_least: 2, bands: {age: [10]}}}
    schema:
      primaryKey: id
      fields:
        - {name: id, type: integer}
        - {name: sex, type: string, categories: [f, m], heelcohort: {role: quasi_identifier}}
        - {name: age, type: number, heelcohort: {role: quasi_identifier}}
  - name: spells
    path: spells.csv
    heelcohort: {k_anonymity: 2}
    schema:
      foreignKeys: [{fields: child, reference: {resource: children, fields: id}}]
      fields:
        - {name: child, type: integer}
        - {name: heel, type: string, categories: [left, right], heelcohort: {role: quasi_identifier}}
`

// Groups are counted in bands, by missing code, and by people where rows are
// linked.
func TestSmallCells(t *testing.T) {
	files := map[string][]byte{
		"children.csv": []byte("id,sex,age\n1,f,7\n2,f,9.5\n3,f,10\n4,m,12\n5,m,11\n6,,8\n"),
		"spells.csv":   []byte("child,heel\n1,left\n2,left\n1,right\n1,right\n4,left\n5,left\n"),
	}
	_, found := screenedFindings(t, anonymousYAML, files)
	var got []string
	for _, f := range found {
		got = append(got, f.Where.Cell()+": "+f.Message)
	}
	want := []string{ // f 10 alone, missing 8 alone; the right heel is one child's, twice
		"line 4: 2 of 6 rows share sex, age with too few others: fewer than 2 people in a group, in the smallest 1",
		"line 4: 2 of 6 rows share heel, children.sex, children.age with too few others: fewer than 2 people in a group, in the smallest 1",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// Where a rule of the codebook looks at a masked column of a linked table, its
// finding does not show the values.
func TestRuleOverMaskedColumn(t *testing.T) {
	yaml := `
name: saltmarsh
resources:
  - name: children
    path: children.csv
    schema:
      primaryKey: id
      fields:
        - {name: id, type: integer}
        - {name: surname, type: string}
  - name: visits
    path: visits.csv
    heelcohort:
      rules: [{name: who, check: "children.surname == 'Nobody' or note == 'x'", message: not allowed}]
    schema:
      foreignKeys: [{fields: child, reference: {resource: children, fields: id}}]
      fields:
        - {name: child, type: integer}
        - {name: note, type: string}
`
	_, found := screenedFindings(t, yaml, map[string][]byte{
		"children.csv": []byte("id,surname\n1,Saltmarsh\n"),
		"visits.csv":   []byte("child,note\n1,fine\n"),
	})
	if !slices.ContainsFunc(found, func(f Finding) bool { return f.Rule == "who" }) {
		t.Fatal("the rule finds nothing")
	}
	for _, f := range found {
		if strings.Contains(fmt.Sprintf("%+v", f), "Saltmarsh") {
			t.Errorf("%+v", f)
		}
	}
}
