package sheet_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"heelcohort/codebook"
	"heelcohort/codebook/document"
	"heelcohort/codebook/document/documenttest"
	"heelcohort/codebook/sheet"
)

// A grid is the rows of sheets as a person would see them: a line "[name]"
// begins a sheet, | parts cells, # before a cell is a number, ? a boolean, !
// anything else, and ↵ a line end within a cell. Blank lines are blank rows.
func grid(text string) []sheet.Sheet {
	var sheets []sheet.Sheet
	number := 0
	for _, line := range strings.Split(strings.Trim(text, "\n"), "\n") {
		if name, ok := strings.CutPrefix(line, "["); ok {
			sheets = append(sheets, sheet.Sheet{Name: strings.TrimSuffix(name, "]")})
			number = 0
			continue
		}
		number++
		row := sheet.Row{Number: number}
		for _, c := range strings.Split(line, "|") {
			cell := sheet.Cell{Text: strings.ReplaceAll(c, "↵", "\n")}
			for mark, sort := range map[string]sheet.Sort{"#": sheet.Number, "?": sheet.Boolean, "!": sheet.Other} {
				if rest, ok := strings.CutPrefix(cell.Text, mark); ok {
					cell = sheet.Cell{Text: rest, Sort: sort}
					break
				}
			}
			row.Cells = append(row.Cells, cell)
		}
		if line != "" {
			last := &sheets[len(sheets)-1]
			last.Rows = append(last.Rows, row)
		}
	}
	return sheets
}

// typed is a workbook as a person types it, and typedYAML what it says.
const typed = `
[Study]

Property|Value
name|saltmarsh-heel-registry
version|#1
keywords|heel; children; "a, b"
further properties|x-owner = {"a": [1, null]}

[tables]
file|table|primary key|header row|no missing codes
data/registry.xlsx|children|child|#3|
 data/visits.csv |visits|child; day||

[variables]
type|table|variable|required|minimum|maximum|legal values|example|further properties|true words|no missing codes
string|children|child|?TRUE||||  7  ||
integer|children|side||||||||
number|children|dose||#0|#1e-07|0; 0.5; "1"|#0.5|x-note = "a" ↵↵ constraints.x-why = {"b": true}|

boolean|children|limp|no|||||heelcohort = {}|yes; ja|Yes
date|visits|seen||31.12.2020||||||
string|visits|child|TRUE|||S1; 007; "a;b"|||
integer|visits|day||||||||

[Categories]
table|variable|label|value|further properties
children|side|left|#1|
children|side||2|
children|side||#3|{}
[missing codes]
table|variable|code|label
children||NM|not measured
children|||
visits|seen|""|
visits|seen|#999|
[unique keys]
table|variables
children|child;
children|child
[foreign keys]
table|variables|linked table|linked variables
visits|child|children|child
[rules]
table|name|check|message|severity|shown at
visits|late|day < 5|The day is late.|warning|day
[Sheet1]
`

const typedYAML = `
name: saltmarsh-heel-registry
version: "1"
keywords: [heel, children, "a, b"]
x-owner: {a: [1, null]}
resources:
  - name: children
    path: data/registry.xlsx
    heelcohort: {header_row: 3}
    schema:
      primaryKey: child
      uniqueKeys: [[child], child]
      missingValues: [{value: NM, label: not measured}, {}]
      fields:
        - {name: child, type: string, constraints: {required: true}, example: "7"}
        - {name: side, type: integer, categories: [{value: 1, label: left}, 2, {value: 3}]}
        - {name: dose, type: number, constraints: {minimum: 0, maximum: 1e-07, enum: [0, 0.5, "1"], x-why: {b: true}}, example: 0.5, x-note: a}
        - {name: limp, type: boolean, constraints: {required: false}, heelcohort: {}, trueValues: ["yes", ja], missingValues: []}
  - name: visits
    path: data/visits.csv
    heelcohort: {rules: [{name: late, check: day < 5, message: The day is late., severity: warning, fields: [day]}]}
    schema:
      primaryKey: [child, day]
      foreignKeys: [{fields: child, reference: {resource: children, fields: child}}]
      fields:
        - {name: seen, type: date, constraints: {minimum: 31.12.2020}, missingValues: ["", "999"]}
        - {name: child, type: string, constraints: {required: true, enum: [S1, "007", "a;b"]}}
        - {name: day, type: integer}
`

func TestTyped(t *testing.T) {
	got, err := sheet.Read("codebook.xlsx", grid(typed))
	if err != nil {
		t.Fatal(err)
	}
	want, err := document.Parse("want.yaml", []byte(typedYAML))
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(documenttest.Value(want), documenttest.Value(got)); diff != "" {
		t.Error(diff)
	}
	// A row of codes that names a table alone is a code without its value.
	if _, err := codebook.DecodeDocument(got); err == nil || !strings.Contains(err.Error(), `codebook.xlsx, sheet "missing codes", A3: key "value" is missing`) {
		t.Errorf("a row without a code: %v", err)
	}
}

const smallBook = `
[study]
property|value
name|saltmarsh-heel-registry
[tables]
table|file
children|data/children.csv
[variables]
table|variable|type|required|minimum|legal values|pattern|further properties
children|child|string|yes||||
children|height|number||#95|||
[categories]
table|variable|value|label
`

// TestEditedWrong edits one thing of a good workbook and wants the fault at its
// cell. Faults of the codebook are told by package codebook, at the cell too.
func TestEditedWrong(t *testing.T) {
	p, err := sheet.Read("codebook.xlsx", grid(smallBook))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := codebook.DecodeDocument(p); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ name, old, fresh, want string }{
		{"no sheet", "[tables]", "[tabels]", `codebook.xlsx: the sheet "tables" is missing|codebook.xlsx, sheet "tabels": unknown sheet, expected one of read me, study, tables, …; did you mean "tables"?`},
		{"doubled sheet", "[categories]", "[Variables]", `codebook.xlsx, sheet "Variables": the sheet variables stands twice`},
		{"empty sheet", "[tables]\ntable|file\nchildren|data/children.csv", "[tables]", `codebook.xlsx, sheet "tables": the sheet has no headings, expected table, title, …`},
		{"unknown heading", "|minimum|", "|minimun|", `codebook.xlsx, sheet "variables", E1: unknown heading "minimun", expected one of table, variable, …; did you mean "minimum"?`},
		{"heading in the standard's word", "|minimum|", "|exclusiveMinimum|", `codebook.xlsx, sheet "variables", E1: unknown heading "exclusiveMinimum", …; did you mean "more than"?`},
		{"doubled heading", "|minimum|", "|Required|", `codebook.xlsx, sheet "variables", E1: the heading "required" stands twice, first in column D`},
		{"missing heading", "table|variable|type", "table||type", `codebook.xlsx, sheet "variables": the heading "variable" is missing|codebook.xlsx, sheet "variables", B2: found "child" in a column without a heading`},
		{"beyond the headings", "children|data/children.csv", "children|data/children.csv||note", `codebook.xlsx, sheet "tables", D2: found "note" in a column without a heading`},
		{"unknown property", "name|saltmarsh", "nmae|saltmarsh", `codebook.xlsx, sheet "study", A2: unknown property "nmae", expected one of name, …; did you mean "name"?`},
		{"unknown table", "children|height", "childern|height", `codebook.xlsx, sheet "variables", A3: the sheet tables has no table "childern"; did you mean "children"?`},
		{"no table", "children|height", "|height", `codebook.xlsx, sheet "variables", A3: found nothing, expected the name of a table`},
		{"unknown variable", "value|label\n", "value|label\nchildren|hieght|1|\n", `codebook.xlsx, sheet "categories", B2: table children has no variable "hieght"; did you mean "height"?`},
		{"yes or no", "|yes|", "|yse|", `codebook.xlsx, sheet "variables", D2: found "yse", expected yes or no; did you mean "yes"?`},
		{"a stored boolean", "|string|", "|?TRUE|", `codebook.xlsx, sheet "variables", C2: found the spreadsheet's own TRUE, expected a text: format the cell as text and type it again`},
		{"a stored day", "|#95|", "|!45382|", `codebook.xlsx, sheet "variables", E3: found 45382, which is stored as a day, …`},
		{"open quotation", "|#95|", `|"95|`, `codebook.xlsx, sheet "variables", E3: found "95, expected a text that ends with the quotation mark it begins with; …`},
		{"comma", "|#95||", "|#95|1,2|", `codebook.xlsx, sheet "variables", F3: found 1,2, which could be one item or several: put semicolons between items, …`},
		{"empty item", "|#95||", "|#95|1;;2|", `codebook.xlsx, sheet "variables", F3: found 1;;2, expected an item before each semicolon; …`},
		{"item and more", "|#95||", `|#95|"1" 2|`, `codebook.xlsx, sheet "variables", F3: found "1" 2, expected a quotation mark and then a semicolon or the end`},
		{"no assignment", "|#95|||", "|#95|||checked", `codebook.xlsx, sheet "variables", H3: found "checked", expected property = value, …`},
		{"no JSON", "|#95|||", "|#95|||x-note = checked", `codebook.xlsx, sheet "variables", H3: the value of x-note is checked: not valid JSON: …; a text stands in double quotes`},
		{"set twice", "|#95|||", "|#95|||constraints.minimum = 5", `codebook.xlsx, sheet "variables", H3: constraints.minimum is set twice`},
		// of package codebook
		{"unknown type", "|number|", "|numbr|", `codebook.xlsx, sheet "variables", C3: unknown type "numbr", expected one of …; did you mean "number"?`},
		{"no number", "|#95|", "|tall|", `codebook.xlsx, sheet "variables", E3: found tall as minimum of height, expected a number`},
		{"unknown key", "|#95|||", "|#95|||tipe = 5", `codebook.xlsx, sheet "variables", H3: unknown key "tipe", expected one of …; did you mean "type"?`},
		{"same name", "children|height", "children|child", `codebook.xlsx, sheet "variables", B3: variable "child" stands twice, first at codebook.xlsx, sheet "variables", B2`},
		{"no type", "|number|", "||", `codebook.xlsx, sheet "variables", A3: key "type" is missing`},
		{"bad pattern", "|#95|||", "|#95||(|", `codebook.xlsx, sheet "variables", G3: …`},
	} {
		t.Run(c.name, func(t *testing.T) {
			text := strings.Replace(smallBook, c.old, c.fresh, 1)
			if text == smallBook {
				t.Fatal("nothing was edited")
			}
			n, err := sheet.Read("codebook.xlsx", grid(text))
			if err == nil {
				_, err = codebook.DecodeDocument(n)
			}
			if err == nil {
				t.Fatal("accepted")
			}
			faults := document.Faults(err)
			want := strings.Split(c.want, "|")
			if len(faults) != len(want) {
				t.Fatalf("got %v, want %s", err, c.want)
			}
			for i, w := range want {
				found := false
				for _, f := range faults {
					found = found || fits(f.Error(), strings.Split(w, "…"))
				}
				if !found {
					t.Errorf("got %v\nwant %s", err, want[i])
				}
			}
		})
	}
}

// fits reports whether a text is the parts with any words between them.
func fits(text string, parts []string) bool {
	text, ok := strings.CutPrefix(text, parts[0])
	for _, p := range parts[1:] {
		if !ok {
			return false
		}
		i := strings.LastIndex(text, p)
		ok = i >= 0
		if ok {
			text = text[i+len(p):]
		}
	}
	return ok && text == ""
}

// FuzzRead wants from any cells a document or a fault with its place, and the
// same document back where there is one.
func FuzzRead(f *testing.F) {
	f.Add(typed)
	f.Add(smallBook)
	for _, c := range []string{`"`, `"a"; b;`, "a.b = 1", `"x y"."" = {}`, "{}", "x = [", "#1", "?TRUE", "!5", "\x00", "\u2028"} {
		f.Add(strings.Replace(smallBook, "|#95|||", "|"+c+"|"+c+"|"+c+"|"+c, 1))
		f.Add(strings.Replace(smallBook, "name|saltmarsh", "further properties|"+c, 1))
	}
	f.Fuzz(func(t *testing.T, text string) {
		if !strings.HasPrefix(strings.Trim(text, "\n"), "[") {
			return
		}
		n, err := sheet.Read("codebook.xlsx", grid(strings.ToValidUTF8(text, "?")))
		if err != nil {
			for _, e := range document.Faults(err) {
				if n != nil || e.Message == "" || !strings.HasPrefix(e.Position.File, "codebook.xlsx") {
					t.Fatalf("%v", e)
				}
			}
			return
		}
		_, _ = codebook.DecodeDocument(n)
		sheets, err := sheet.Write(n)
		if err != nil {
			return // too long for a cell, or a number that JSON does not have
		}
		again, err := sheet.Read("codebook.xlsx", sheets)
		if err != nil || !document.Equal(n, again) {
			t.Fatalf("not the same document: %v\n%s", err, cmp.Diff(documenttest.Value(n), documenttest.Value(again)))
		}
	})
}
