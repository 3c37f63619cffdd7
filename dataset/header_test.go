package dataset

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"heelcohort/codebook"
)

// TestHeaders reads header rows and wants what comes of them: columns as "field letters",
// or the words of a refusal.
func TestHeaders(t *testing.T) {
	const two = `
{name: child, type: string, heelcohort: {titles: ["Child ID", "Pseudonym\n(registry)"]}}
{name: height_cm, type: number}`
	const sides = `
{name: child, type: string}
{name: left_deg, type: number, heelcohort: {titles: [Angle], column: B}}
{name: right_deg, type: number, heelcohort: {titles: [Angle, "Angle right"], column: C}}`
	const joined = `
{name: child, type: string}
{name: left_deg, type: number, heelcohort: {titles: ["Angle left"]}}
{name: right_deg, type: number, heelcohort: {titles: ["Angle right"]}}`
	rows12, rows23 := "dialect: {headerRows: [1, 2]}", "dialect: {headerRows: [2, 3]}"
	for _, c := range []struct {
		name       string
		fields     string
		properties string
		rows       *madeSource
		want       string
		findings   string
	}{
		{"names", two, "", cells(words("child", "height_cm")), "child A, height_cm B", ""},
		{"other order", two, "", cells(words("height_cm", "", "child")), "child C, height_cm A", ""},
		{"titles", two, "", cells(words(" Child\u00a0 ID\n", "height_cm")), "child A, height_cm B", ""},
		{"line break in a title", two, "", cells(words("Pseudonym (registry)\ufeff", "height_cm")), "child A, height_cm B", ""},
		{"line break in a header", two, "", cells(words("Pseudonym\r\n  (registry)", "height_cm")), "child A, height_cm B", ""},
		{
			"case counts", two, "", cells(words("child id", "height_cm")),
			`!row 1: no column named "child"; another spelling is declared in heelcohort.titles (did you mean "child id"?)`, "",
		},
		{
			"name and title", two, "", cells(words("Child ID", "height_cm", "child")),
			`!row 1: columns 1 ("Child ID") and 3 ("child") are both named as "child" may be; heelcohort.column of "child" can say which of them it is`, "",
		},
		{"two titles", two, "", cells(words("Child ID", "height_cm", "Pseudonym (registry)")), `!row 1: columns 1 ("Child ID") and 3 ("Pseudonym (registry)")`, ""},
		{"doubled name", two, "", cells(words("child", "height_cm", "height_cm")), `!row 1: columns 2 and 3 are both named "height_cm"; heelcohort.column of "height_cm" can say`, ""},
		{"doubled title of nobody", two, "", cells(words("child", "height_cm", "note", "note")), "child A, height_cm B", "unknown column @ C1: note; unknown column @ D1: note"},
		{
			"other spelling", two, "", cells(words("child", "Height (cm)", "weight")),
			`!row 1: no column named "height_cm"; another spelling is declared in heelcohort.titles (did you mean "Height (cm)"?)`, "",
		},
		{"capitals", two, "", cells(words("child", "HEIGHT_CM")), `did you mean "HEIGHT_CM"?`, ""},
		{
			"several lack", two, "", cells(words("height cm", "CHILD", "x")),
			`!row 1: no columns named "child" (did you mean "CHILD"?), "height_cm" (did you mean "height cm"?); another spelling is declared in heelcohort.titles`, "",
		},
		{"none near", two, "", cells(words("x", "y")), `!row 1: no columns named "child", "height_cm"`, ""},

		{"sides told apart", sides, "", cells(words("child", "Angle", "Angle")), "child A, left_deg B, right_deg C", ""},
		{
			"sides with a third", sides, "", cells(words("child", "Angle", "Angle right", "Angle")), "child A, left_deg B, right_deg C",
			"unknown column @ D1: Angle",
		},
		{"side elsewhere", sides, "", cells(words("Angle", "child", "Angle")), `!B1: column B has the name "child", expected one of "left_deg", "Angle", which heelcohort.column of "left_deg" places there`, ""},
		{"side without title", sides, "", cells(words("child", "Angle", "", "Angle")), `!C1: column C has no name, expected one of "right_deg", "Angle", "Angle right"`, ""},
		{"side beyond the end", sides, "", cells(words("child", "Angle")), `!C1: column C has no name`, ""},

		{"rows above", two, "dialect: {headerRows: [3]}", cells(words("Registry of 2024"), nil, words("child", "height_cm")), "child A, height_cm B", ""},
		{
			"title above", two, "", cells(words("Registry", "of 2024"), nil, words("child", "height_cm"), words("a", "1")),
			`!row 1: no columns named "child", "height_cm"; row 3 has them all: heelcohort.header_row or dialect.headerRows names it`, "",
		},
		{"row too early", two, "heelcohort: {header_row: 2}", cells(words("child", "height_cm"), nil), `!row 2: empty, expected the names of the columns of table "t"`, ""},

		{
			"two rows, merged sideways", joined, rows23, &madeSource{rows: cells(words("Title"), words("", "Angle"), words("child", "left", "right")).rows, areas: []area{{2, 2, 2, 3}, {1, 1, 1, 3}}},
			"child A, left_deg B, right_deg C", "",
		},
		{
			"two rows, merged downwards", joined, rows12, &madeSource{rows: cells(words("child", "Angle"), words("", "left", "right")).rows, areas: []area{{1, 1, 2, 1}, {1, 2, 1, 3}}},
			"child A, left_deg B, right_deg C", "",
		},
		{"two rows, not merged", joined, rows12, cells(words("child", "Angle"), words("", "left", "right")), `!row 2: no column named "right_deg"`, ""},
		{"two rows, written out", joined, rows12, cells(words("child", "Angle", "Angle "), words("", "left", "right")), "child A, left_deg B, right_deg C", ""},
		{
			"two rows, merged too far", joined, rows12, &madeSource{rows: cells(words("Angle", "", ""), words("left", "right", "child")).rows, areas: []area{{1, 1, 1, 3}}},
			`!row 2: no column named "child"`, "",
		},
		{
			"two rows, lower is a name alone", joined, rows12, &madeSource{rows: cells(words("Angle", "", ""), words("left", "right", "child")).rows, areas: []area{{1, 1, 1, 2}}},
			"child C, left_deg A, right_deg B", "",
		},
		{
			"join", strings.ReplaceAll(joined, "Angle ", "Angle: "), `dialect: {headerRows: [1, 2], headerJoin: ": "}`,
			cells(words("", "Angle", "Angle"), words("child", "left", "right")), "child A, left_deg B, right_deg C", "",
		},
		{
			"join of nothing", strings.ReplaceAll(joined, "Angle ", "Angle_"), `dialect: {headerRows: [1, 2], headerJoin: ""}`,
			cells(words("", "Angle_", "Angle_"), words("child", "left", "right")), "child A, left_deg B, right_deg C", "",
		},
		{"two rows, one empty", joined, rows12, cells(words("", "Angle"), nil), `!row 2: empty, expected the names`, ""},
		{"two rows, one at the end", joined, rows12, cells(words("child", "Angle left", "Angle right")), `!row 2: empty, expected the names`, ""},
		{"three rows", "{name: a b c, type: string}\n{name: b c, type: string}", "dialect: {headerRows: [1, 2, 3]}", cells(words("a", ""), words("b", "b"), words("c", "c")), "a b c A, b c B", ""},
		{
			"merged block told apart", sides, rows12, &madeSource{rows: cells(words("", "Angle"), words("child")).rows, areas: []area{{1, 2, 2, 3}}},
			"child A, left_deg B, right_deg C", "",
		},
		{"merged over the whole row", "{name: a b, type: string}", rows12, &madeSource{rows: cells(words("a"), words("b")).rows, areas: []area{{1, 1, 1, 16384}}}, "a b A", ""},

		{"number and day as titles", `
{name: "2021", type: number}
{name: "2021-01-01", type: number}
{name: "2021-02-01", type: number}`, "", cells([]rawCell{num("2021"), num("44197", dateFormat), {text: "2021-02-01T00:00:00", sort: isoDateCell}}), "2021 A, 2021-01-01 B, 2021-02-01 C", ""},
		{"error as a title", two, rows12, cells(words("child"), []rawCell{{}, {text: "#REF!", sort: errorCell}}), "!B2: error value #REF! where a column's name should be", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			var properties []string
			if c.properties != "" {
				properties = []string{c.properties}
			}
			table, found, err := readMade(t, fieldBook(c.fields, properties...), c.rows, false)
			got := ""
			if err != nil {
				got = "!" + err.Error()
				if !strings.Contains(got, strings.TrimPrefix(c.want, "!")) {
					t.Errorf("got  %s\nwant %s", got, c.want)
				}
				return
			}
			var columns []string
			for _, column := range table.Columns {
				columns = append(columns, column.Name+" "+columnLetters(column.Index))
			}
			if got = strings.Join(columns, ", "); got != c.want {
				t.Errorf("got  %s\nwant %s", got, c.want)
			}
			if got := strings.Join(located(found), "; "); got != c.findings {
				t.Errorf("findings %s\nwant %s", got, c.findings)
			}
		})
	}
}

// A header over two rows in files, where merged areas come behind the cells.
func TestHeaderRowsInFiles(t *testing.T) {
	yaml := fieldBook(`
{name: id, type: string}
{name: left_deg, type: number, heelcohort: {titles: [Angle left]}}
{name: right_deg, type: number, heelcohort: {titles: [Angle right]}}`, "dialect: {headerRows: [2, 3]}")
	sheet := `<sheetData><row r="1">` + text("A1", "Angles of 2024") + `</row><row r="2">` + text("A2", "id") + text("B2", "Angle") + `<c r="C2"/></row>` +
		`<row r="3">` + text("B3", "left") + text("C3", "right") + `</row><row r="4">` + text("A4", "a") + `<c r="B4"><v>1</v></c><c r="C4"><v>2</v></c></row></sheetData>`
	merged := `<mergeCells><mergeCell ref="A1:C1"/><mergeCell ref="A2:A3"/><mergeCell ref="B2:C2"/></mergeCells>`
	d, found := read(t, yaml, map[string][]byte{"t.xlsx": sheetXML(t, sheet+merged, "", "")})
	wantLocated(t, found)
	wantValues(t, d.Table("t"), "left_deg", "1")
	wantValues(t, d.Table("t"), "right_deg", "2")
	readErr(t, yaml, map[string][]byte{"t.xlsx": sheetXML(t, sheet, "", "")}, `sheet "data", row 3: no column named "right_deg"`)

	plain := strings.Replace(yaml, "t.xlsx", "t.csv", 1)
	d, found = read(t, plain, map[string][]byte{"t.csv": []byte("Angles of 2024\nid,Angle,Angle\n,left,right\na,1,2\n")})
	wantLocated(t, found)
	wantValues(t, d.Table("t"), "right_deg", "2")
	readErr(t, plain, map[string][]byte{"t.csv": []byte("Angles of 2024\nid,Angle,\n,left,right\na,1,2\n")}, `t.csv, line 3: no column named "right_deg"`)
	// A line break inside a title takes a line of its own.
	d, found = read(t, strings.Replace(plain, "[Angle right]", `["Angle\n right"]`, 1), map[string][]byte{"t.csv": []byte("Angles of 2024\nid,Angle,\"Angle\n\"\n,left,right\na,1,2\n")})
	wantLocated(t, found)
	wantValues(t, d.Table("t"), "right_deg", "2")
	if got := d.Table("t").Rows; len(got) != 1 || got[0] != 5 {
		t.Errorf("rows %v, want line 5", got)
	}
}

// TestHeadingBlanks wants a header to be found however its blanks are written.
func TestHeadingBlanks(t *testing.T) {
	yaml := fieldBook("{name: height, type: string, heelcohort: {titles: [Height of the child (cm)]}}")
	blank := rapid.StringOfN(rapid.SampledFrom([]rune(" \n\r\t\u00a0\u2009\u202f")), 1, 3, -1)
	rapid.Check(t, func(rt *rapid.T) {
		title := blank.Draw(rt, "before")
		for i, word := range []string{"Height", "of", "the", "child", "(cm)"} {
			if i > 0 {
				title += blank.Draw(rt, "between")
			}
			title += word
		}
		table, found, err := readMade(t, yaml, cells(words(title+blank.Draw(rt, "after"))), false)
		if err != nil || len(found) > 0 || len(table.Columns) != 1 {
			rt.Fatalf("%q: %v, %v", title, found, err)
		}
	})
}

// TestHeadersAtRandom draws titles of a few words for fields and columns and
// compares the match with a plain one.
func TestHeadersAtRandom(t *testing.T) {
	title := rapid.SampledFrom([]string{"a", "b", "c", "d", "A", ""})
	rapid.Check(t, func(rt *rapid.T) {
		titles := rapid.SliceOfN(title, 1, 6).Draw(rt, "titles")
		schema := &codebook.Schema{Fields: []*codebook.Field{
			{Name: "a", Titles: rapid.SampledFrom([][]string{nil, {"c"}}).Draw(rt, "titles of a")},
			{Name: "b", Column: rapid.SampledFrom([]string{"", "A", "C"}).Draw(rt, "column of b"), Titles: []string{"d"}},
		}}
		h, err := readHeading(Origin{File: "x.xlsx", Sheet: "x", Row: 1}, titles, schema)
		for i, f := range schema.Fields {
			var at []int
			for j, title := range titles {
				mine := f.Column == "" || fmt.Sprint(f.Column) == columnLetters(j+1)
				for _, name := range append([]string{f.Name}, f.Titles...) {
					if mine && title == name {
						at = append(at, j)
					}
				}
			}
			if len(at) != 1 && err == nil {
				rt.Fatalf("%q accepted, %s is at %v", titles, f.Name, at)
			}
			if err == nil && h.columns[i] != at[0] {
				rt.Fatalf("%q: %s is at %d, want %d", titles, f.Name, h.columns[i], at[0])
			}
			if len(at) != 1 {
				return
			}
		}
		if err != nil {
			rt.Fatalf("%q refused: %v", titles, err)
		}
	})
}
