package dataset

import (
	"bytes"
	"math"
	"strconv"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"
)

func written(t *testing.T, sheets []WorkbookSheet) (*excelize.File, []byte) {
	t.Helper()
	var b bytes.Buffer
	if err := WriteWorkbook(&b, sheets); err != nil {
		t.Fatal(err)
	}
	f, err := excelize.OpenReader(bytes.NewReader(b.Bytes()))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = f.Close() })
	return f, b.Bytes()
}

func demoSheets() []WorkbookSheet {
	return []WorkbookSheet{{
		Name: "Table 1", Freeze: 2, Widths: []float64{30, 12},
		Rows: [][]WorkbookCell{
			{{Text: "Table 1. Children", Style: Title, Span: 3}},
			{{Text: "", Style: Header}, {Text: "All", Style: Header}, {Text: "Pronated", Style: Header}},
			{{Text: "Age", Style: Label}, {Text: "=1+1", Style: Figure}, {Number: 0.30000000000000004, IsNumber: true, Style: Figure}},
			nil,
			{{Text: "Note.", Style: Note, Span: 2}, {Text: "after the span"}},
		},
	}, {Name: "table 1", Rows: [][]WorkbookCell{{{Text: "x"}}}}, {Name: ""}}
}

func TestWriteWorkbook(t *testing.T) {
	f, data := written(t, demoSheets())
	if got := strings.Join(f.GetSheetList(), "|"); got != "Table 1|table 1 (2)|Sheet" {
		t.Errorf("sheets %q", got)
	}
	for cell, want := range map[string]string{
		"A1": "Table 1. Children", "B2": "All", "B3": "=1+1", "C3": "0.30000000000000004", "A4": "", "A5": "Note.", "C5": "after the span",
	} {
		got, err := f.GetCellValue("Table 1", cell, excelize.Options{RawCellValue: true})
		if err != nil || got != want {
			t.Errorf("%s is %q (%v), want %q", cell, got, err, want)
		}
	}
	if formula, err := f.GetCellFormula("Table 1", "B3"); formula != "" || err != nil {
		t.Errorf("B3 is the formula %q, want a text", formula)
	}
	merged, err := f.GetMergeCells("Table 1")
	if err != nil || len(merged) != 2 || merged[0].GetStartAxis()+":"+merged[0].GetEndAxis() != "A1:C1" {
		t.Errorf("merged %v (%v)", merged, err)
	}
	panes, err := f.GetPanes("Table 1")
	if err != nil || !panes.Freeze || panes.YSplit != 2 {
		t.Errorf("panes %+v (%v)", panes, err)
	}
	if w, err := f.GetColWidth("Table 1", "A"); w != 30 || err != nil {
		t.Errorf("width %v (%v)", w, err)
	}
	var again bytes.Buffer
	if err := WriteWorkbook(&again, demoSheets()); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(data, again.Bytes()) {
		t.Error("the same sheets gave different bytes")
	}
}

// Numbers and texts read back as they were, through this package's own reader.
func TestWriteWorkbookRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		numbers := rapid.SliceOfN(rapid.OneOf(rapid.SampledFrom(oddNumbers), rapid.Float64()), 1, 8).Draw(t, "numbers")
		var rows [][]WorkbookCell
		for _, x := range numbers {
			rows = append(rows, []WorkbookCell{{Number: x, IsNumber: true}, {Text: "t"}})
		}
		var b bytes.Buffer
		if err := WriteWorkbook(&b, []WorkbookSheet{{Name: "s", Rows: rows}}); err != nil {
			t.Fatal(err)
		}
		w, err := openWorkbook("s.xlsx", b.Bytes())
		if err != nil {
			t.Fatal(err)
		}
		source, err := w.rows(0)
		if err != nil {
			t.Fatal(err)
		}
		defer source.close()
		for _, x := range numbers {
			row, err := source.next()
			if err != nil {
				t.Fatal(err)
			}
			if math.IsNaN(x) || math.IsInf(x, 0) {
				if row.cells[0].text != "" {
					t.Fatalf("%v was written as %q", x, row.cells[0].text)
				}
				continue
			}
			back, err := strconv.ParseFloat(row.cells[0].text, 64)
			if err != nil || back != x {
				t.Fatalf("%v reads back as %q (%v)", x, row.cells[0].text, err)
			}
		}
	})
}

func TestWriteWorkbookTexts(t *testing.T) {
	texts := []string{
		"=SUM(A1)", "+1", "-1", "@x", "'x", "007", "1e5", "TRUE", " spaces ", "a\nb", "_x0041_", "_x0041_x0042_", "_x41_", "__x0041__", "<&>\"'", "ä–≤", "a\tb",
	}
	var rows [][]WorkbookCell
	for _, s := range texts {
		rows = append(rows, []WorkbookCell{{Text: s}})
	}
	rows = append(rows, []WorkbookCell{{Text: strings.Repeat("ä", maxCellText+5)}}, []WorkbookCell{{Text: "a\x01b\xffc"}})
	f, _ := written(t, []WorkbookSheet{{Name: "s", Rows: rows}})
	get := func(row int) string {
		s, err := f.GetCellValue("s", "A"+strconv.Itoa(row))
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	for i, want := range texts {
		if got := get(i + 1); got != want {
			t.Errorf("%q reads back as %q", want, got)
		}
	}
	if n := len(utf16.Encode([]rune(get(len(texts) + 1)))); n != maxCellText {
		t.Errorf("a long text has %d characters, want %d", n, maxCellText)
	}
	if got := get(len(texts) + 2); got != "a\ufffdb\ufffdc" {
		t.Errorf("control characters read back as %q", got)
	}
}

func TestWriteWorkbookRefusals(t *testing.T) {
	if err := WriteWorkbook(&bytes.Buffer{}, nil); err == nil {
		t.Error("a workbook without sheets was not refused")
	}
	wide := []WorkbookSheet{{Name: "s", Rows: [][]WorkbookCell{{{Text: "x", Span: maxColumns + 1}}}}}
	if err := WriteWorkbook(&bytes.Buffer{}, wide); err == nil {
		t.Error("a row beyond the last column was not refused")
	}
}

// Whatever the names, the sheets' names are legal and differ.
func TestSheetNames(t *testing.T) {
	name := rapid.OneOf(rapid.SampledFrom([]string{"", "'", "a", "A", "History", "a/b", "a:b", strings.Repeat("x", 40), "ä" + strings.Repeat("😀", 20), "Sheet (2)", "Sheet"}), rapid.String())
	rapid.Check(t, func(t *rapid.T) {
		names := rapid.SliceOfN(name, 1, 20).Draw(t, "names")
		seen := make(map[string]bool)
		for _, s := range sheetNames(names) {
			if n := len(utf16.Encode([]rune(s))); n == 0 || n > maxSheetName {
				t.Fatalf("%q has %d characters", s, n)
			}
			if strings.ContainsAny(s, `:\/?*[]`) || strings.Trim(s, "'") != s {
				t.Fatalf("%q is not legal", s)
			}
			if seen[strings.ToLower(s)] {
				t.Fatalf("%q stands twice", s)
			}
			seen[strings.ToLower(s)] = true
		}
	})
}
