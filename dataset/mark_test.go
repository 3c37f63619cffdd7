package dataset

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
)

// styledBook is a workbook as people make them: number formats, colours,
// formulas, merged titles, a comment, a second sheet.
func styledBook(t testing.TB) []byte {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	must(f.SetSheetName("Sheet1", "data"))
	for i, row := range [][]any{
		{"id", "age", "limp", "seen"},
		{"a", 10.123456789012345, true, 44621},
		{"b", "ten", false, 44622},
		{"c", 12, true, 44621.25},
		{nil, nil, "perhaps", nil},
		{"e", 0.1, nil, nil},
		{"f", nil, nil, nil},
	} {
		must(f.SetSheetRow("data", fmt.Sprintf("A%d", i+1), &row))
	}
	must(f.SetCellDefault("data", "B6", "0.30000000000000004"))
	must(f.SetCellFormula("data", "B7", "B6+1")) // never computed
	german := "DD.MM.YYYY"
	date, err := f.NewStyle(&excelize.Style{
		CustomNumFmt: &german, Font: &excelize.Font{Bold: true, Color: "1F4E79", Family: "Arial", Size: 9},
		Border:    []excelize.Border{{Type: "left", Color: "FF0000", Style: 2}},
		Alignment: &excelize.Alignment{Horizontal: "center"}, Protection: &excelize.Protection{Locked: true},
	})
	must(err)
	must(f.SetCellStyle("data", "D2", "D7", date))
	column, err := f.NewStyle(&excelize.Style{NumFmt: 2, Fill: excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{"DDEBF7"}}})
	must(err)
	must(f.SetColStyle("data", "C", column))
	must(f.AddComment("data", excelize.Comment{Cell: "B3", Author: "Registry", Paragraph: []excelize.RichTextRun{{Text: "ask the site"}}}))
	must(f.AddComment("data", excelize.Comment{Cell: "A1", Author: "Registry", Paragraph: []excelize.RichTextRun{{Text: "pseudonym"}}}))
	_, err = f.NewSheet("Findings")
	must(err)
	must(f.SetCellStr("Findings", "A1", "=not ours"))
	return saved(t, f)
}

// marked opens a study, marks it and gives the findings and the copy.
func marked(t *testing.T, yaml string, files map[string][]byte) (*Dataset, []Finding, []string, string) {
	t.Helper()
	d, found := read(t, yaml, files)
	out := filepath.Join(t.TempDir(), "checked")
	names, err := Mark(context.Background(), d, found, out)
	if err != nil {
		t.Fatal(err)
	}
	return d, found, names, out
}

func reopen(t *testing.T, data []byte) *excelize.File {
	t.Helper()
	f, err := excelize.OpenReader(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = f.Close() })
	return f
}

func comments(t *testing.T, f *excelize.File, sheet string) map[string]string {
	t.Helper()
	list, err := f.GetComments(sheet)
	if err != nil {
		t.Fatal(err)
	}
	out := make(map[string]string)
	for _, c := range list {
		s := c.Text
		for _, r := range c.Paragraph {
			s += r.Text
		}
		if _, twice := out[c.Cell]; twice {
			t.Errorf("two comments on %s", c.Cell)
		}
		out[c.Cell] = s
	}
	return out
}

func markYAML() string {
	return strings.Replace(small("data/data.xlsx"), "    schema:", "    heelcohort: {sheet: data}\n    schema:", 1)
}

func TestMarkWorkbook(t *testing.T) {
	original := styledBook(t)
	_, found, names, out := marked(t, markYAML(), map[string][]byte{"data/data.xlsx": original})
	wantLocated(t, found,
		"type @ B3: ten",
		"date @ D4: 44621.25",
		"type @ C5: perhaps",
		"formula without value @ B7: =B6+1",
	)
	if !slices.Equal(names, []string{"data.xlsx"}) {
		t.Fatalf("names %q", names)
	}
	data, err := os.ReadFile(filepath.Join(out, "data.xlsx"))
	if err != nil {
		t.Fatal(err)
	}
	before, after := reopen(t, original), reopen(t, data)
	sameCells(t, before, after, map[string]bool{"B3": true, "D4": true, "C5": true, "B7": true})

	notes := comments(t, after, "data")
	for cell, words := range map[string][]string{
		"A1": {"pseudonym"}, // not ours, as it was
		"B3": {"ask the site", "type (error)", "found: ten", "expected: "},
		"D4": {"date (error)", "found: 44621.25", "time of day"},
		"C5": {"type (error)", "found: perhaps"},
		"B7": {"formula without value (error)", "found: =B6+1"},
	} {
		for _, w := range words {
			if !strings.Contains(notes[cell], w) {
				t.Errorf("comment on %s is %q, want it to hold %q", cell, notes[cell], w)
			}
		}
	}
	if len(notes) != 5 {
		t.Errorf("%d comments, want 5", len(notes))
	}
	if got := strings.Join(after.GetSheetList(), "|"); got != "data|Findings|Findings (2)" {
		t.Errorf("sheets %q", got)
	}
	rows, err := after.GetRows("Findings (2)")
	if err != nil || len(listed(rows)) != 1+len(found) || listed(rows)[1][1] != "B3" || listed(rows)[4][6] != "=B6+1" || strings.Join(rows[1][:4], "|") != "data B3|2|type|error" {
		t.Errorf("list of findings %q (%v)", rows, err)
	}
}

// sameCells compares values, formulas and styles cell by cell. Of the marked
// cells' styles, the fill must differ and everything else be equal.
func sameCells(t *testing.T, before, after *excelize.File, filled map[string]bool) {
	t.Helper()
	raw := excelize.Options{RawCellValue: true}
	for _, sheet := range before.GetSheetList() {
		for row := 1; row <= 12; row++ {
			for column := 1; column <= 8; column++ {
				ref := columnLetters(column) + strconv.Itoa(row)
				a, _ := before.GetCellValue(sheet, ref, raw)
				b, _ := after.GetCellValue(sheet, ref, raw)
				fa, _ := before.GetCellFormula(sheet, ref)
				fb, _ := after.GetCellFormula(sheet, ref)
				if a != b || fa != fb {
					t.Errorf("%s %s was %q, formula %q, and is now %q, %q", sheet, ref, a, fa, b, fb)
				}
				sa, sb := styleOf(t, before, sheet, ref), styleOf(t, after, sheet, ref)
				if marked := filled[ref] && sheet == "data"; marked {
					if got := strings.Join(sb.Fill.Color, ""); got != errorFill {
						t.Errorf("%s is filled with %q, want %s", ref, got, errorFill)
					}
					sb.Fill = sa.Fill
				}
				if x, y := describe(sa), describe(sb); x != y {
					t.Errorf("%s %s: style was\n\t%s\nand is\n\t%s", sheet, ref, x, y)
				}
			}
		}
	}
}

func styleOf(t *testing.T, f *excelize.File, sheet, ref string) *excelize.Style {
	t.Helper()
	id, err := f.GetCellStyle(sheet, ref)
	if err != nil {
		t.Fatal(err)
	}
	s, err := f.GetStyle(id)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// describe writes out all of a style that can be seen. An absent font or
// alignment and the default one look alike.
func describe(s *excelize.Style) string {
	custom := ""
	if s.CustomNumFmt != nil {
		custom = *s.CustomNumFmt
	}
	font, alignment, protection := excelize.Font{}, excelize.Alignment{}, excelize.Protection{Locked: true}
	if s.Font != nil {
		font = *s.Font
	}
	if s.Alignment != nil {
		alignment = *s.Alignment
	}
	if s.Protection != nil {
		protection = *s.Protection
	}
	theme := -1
	if font.ColorTheme != nil {
		theme = *font.ColorTheme
	}
	font.ColorTheme = nil
	return fmt.Sprintf("format %d %q, font %+v theme %d, fill %+v, border %+v, alignment %+v, protection %+v",
		s.NumFmt, custom, font, theme, s.Fill, s.Border, alignment, protection)
}

func TestMarkSameBytes(t *testing.T) {
	files := map[string][]byte{"data/data.xlsx": styledBook(t)}
	_, _, _, out := marked(t, markYAML(), files)
	first, err := os.ReadFile(filepath.Join(out, "data.xlsx"))
	if err != nil {
		t.Fatal(err)
	}
	for range 3 {
		_, _, _, again := marked(t, markYAML(), files)
		second, err := os.ReadFile(filepath.Join(again, "data.xlsx"))
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(first, second) {
			t.Fatal("two runs gave different bytes")
		}
	}
}

// Several findings in a cell share one comment; whole rows and sheets go to
// their first cells; the worse severity gives the fill.
func TestMarksOf(t *testing.T) {
	at := func(row, column int, rule string, s Severity) Finding {
		return Finding{Rule: rule, Severity: s, Where: Origin{"f", "s", row, column}}
	}
	marks := marksOf([]Finding{
		at(3, 2, "one", Warning), at(0, 0, "sheet", Error), at(3, 2, "two", Error), at(2, 0, "row", Warning), at(2, 1, "cell", Warning),
	}, sheetCell)
	var got []string
	for _, m := range marks {
		got = append(got, fmt.Sprintf("%d,%d %v %q", m.row, m.column, m.severity, m.text))
	}
	want := `1,1 error "sheet (error)"; 2,1 warning "row (warning)\n\ncell (warning)"; 3,2 error "one (warning)\n\ntwo (error)"`
	if s := strings.Join(got, "; "); s != want {
		t.Errorf("marks %s\nwant %s", s, want)
	}
}

func TestMarkMany(t *testing.T) {
	rows := [][]any{{"id", "age", "limp", "seen"}}
	for i := range maxMarked + 100 {
		rows = append(rows, []any{i, "x"})
	}
	yaml := strings.Replace(markYAML(), "data/data.xlsx", "data.xlsx", 1)
	_, found, _, out := marked(t, yaml, map[string][]byte{"data.xlsx": book(t, map[string][][]any{"data": rows})})
	data, err := os.ReadFile(filepath.Join(out, "data.xlsx"))
	if err != nil {
		t.Fatal(err)
	}
	f := reopen(t, data)
	if n := len(comments(t, f, "data")); n != maxMarked {
		t.Errorf("%d comments, want %d", n, maxMarked)
	}
	list, err := f.GetRows("Findings")
	if err != nil || len(listed(list)) != 1+len(found) || !strings.Contains(list[0][0], "only the first 5000 of 5100 cells") {
		t.Errorf("list has %d rows and begins with %q (%v)", len(list), list[0], err)
	}
}

// listed is the list of findings without the summary above it.
func listed(rows [][]string) [][]string {
	for i, row := range rows {
		if len(row) > 6 {
			return rows[i:]
		}
	}
	return nil
}

func TestMarkChanged(t *testing.T) {
	d, found := read(t, small("data.csv"), map[string][]byte{"data.csv": []byte("id,age,limp,seen\na,x,,\n")})
	if err := os.WriteFile(filepath.Join(d.Dir, "data.csv"), []byte("id,age,limp,seen\na,y,,\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := Mark(context.Background(), d, found, t.TempDir()); err == nil || !strings.Contains(err.Error(), "changed") {
		t.Errorf("error %v, want a refusal", err)
	}
}

func TestMarkNothing(t *testing.T) {
	d, _ := read(t, small("data.csv"), map[string][]byte{"data.csv": []byte("id,age,limp,seen\na,1,,\n")})
	out := filepath.Join(t.TempDir(), "checked")
	names, err := Mark(context.Background(), d, nil, out)
	if err != nil || len(names) != 0 {
		t.Errorf("names %q (%v)", names, err)
	}
	if _, err := os.Stat(out); err == nil {
		t.Error("an empty folder was made")
	}
}

func TestMarkedName(t *testing.T) {
	taken := make(map[string]bool)
	var got []string
	for _, c := range []struct {
		file string
		sort fileSort
	}{{"data/a.xlsx", workbookFile}, {"more/A.xlsx", workbookFile}, {"data/a.csv", textFile}, {"a.csv.xlsx", workbookFile}, {"data/a.tsv", textFile}} {
		got = append(got, markedName(c.file, c.sort, taken))
	}
	want := "a.xlsx more-A.xlsx a.csv.xlsx 2-a.csv.xlsx a.tsv.xlsx"
	if s := strings.Join(got, " "); s != want {
		t.Errorf("names %s, want %s", s, want)
	}
}

// A workbook without styles gets the default one first, so that the fills go
// to the marked cells and to no other.
func TestMarkWithoutStyles(t *testing.T) {
	original := sheetXML(t, `<sheetData>`+smallHead+`<row r="2">`+text("A2", "a")+text("B2", "ten")+`<c r="C2" s="7"><f>1=1</f></c></row></sheetData>`, "", "")
	_, found, names, out := marked(t, small("data.xlsx"), map[string][]byte{"data.xlsx": original})
	wantLocated(t, found, "type @ B2: ten", "formula without value @ C2: =1=1")
	data, err := os.ReadFile(filepath.Join(out, names[0]))
	if err != nil {
		t.Fatal(err)
	}
	f := reopen(t, data)
	for cell, want := range map[string]string{"A1": "", "A2": "", "D2": "", "B2": errorFill, "C2": errorFill} {
		id, err := f.GetCellStyle("data", cell)
		if err != nil {
			t.Fatal(err)
		}
		got := ""
		if n := *f.Styles.CellXfs.Xf[id].FillID; n > 1 { // 0 and 1 are the two fills that every workbook has
			got = f.Styles.Fills.Fill[n].PatternFill.FgColor.RGB
		}
		if strings.TrimPrefix(got, "FF") != want {
			t.Errorf("%s is filled with %q, want %q", cell, got, want)
		}
	}
	if n := len(comments(t, f, "data")); n != 2 {
		t.Errorf("%d comments, want 2", n)
	}
	lines := python(t, "show.py", filepath.Join(out, names[0]))
	if strings.Count(lines, errorFill) != 2 {
		t.Errorf("openpyxl shows\n%s\nwant two fills", lines)
	}
}
