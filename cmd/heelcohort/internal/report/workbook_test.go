package report

import (
	"archive/zip"
	"bytes"
	"io"
	"strings"
	"testing"

	"heelcohort/dataset"
)

// parts unzips a workbook.
func parts(t *testing.T, data []byte) map[string]string {
	t.Helper()
	archive, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	files := map[string]string{}
	for _, f := range archive.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		files[f.Name] = string(text)
	}
	return files
}

func TestWorkbook(t *testing.T) {
	write := func(in Input) []byte {
		var out bytes.Buffer
		if err := Workbook(&out, in); err != nil {
			t.Fatal(err)
		}
		return out.Bytes()
	}
	data := write(saltmarsh(t))
	if !bytes.Equal(data, write(saltmarsh(t))) {
		t.Error("the same results gave two workbooks")
	}
	files := parts(t, data)
	for _, name := range []string{
		"Contents", "participant-flow", "findings", "table-1", "table-2", "table-2-model", "table-3", "table-3-adjusted",
		"figure-1", "figure-1-at-risk", "figure-1-model",
	} {
		if !strings.Contains(files["xl/workbook.xml"], `name="`+name+`"`) {
			t.Errorf("no sheet %q", name)
		}
	}
	texts := files["xl/sharedStrings.xml"]
	for _, want := range []string{
		"601 (50.6%)", "∞ (0.64 to ∞) a", "not reached (52 to not reached) c", "a  No events in the reference.",
		"&lt;script&gt;alert(1)&lt;/script&gt;&lt;b&gt; (per unit)", "licensed clinicians",
	} {
		if !strings.Contains(texts, want) {
			t.Errorf("no text %q", want)
		}
	}
	if !strings.Contains(files["xl/worksheets/sheet4.xml"], "<v>1190</v>") {
		t.Error("a single count is not a number")
	}
	if stop := parts(t, write(stopped(t))); !strings.Contains(stop["xl/sharedStrings.xml"], notComputed) {
		t.Error("the workbook of a stopped run does not say so")
	}
}

// TestBookSheet: the layout of one sheet, by hand.
func TestBookSheet(t *testing.T) {
	s := newSheet("s", "Title")
	s.Columns = []Column{{Label: "Group", Text: true}, {Group: "Both", Label: "n"}, {Group: "Both", Label: "%"}}
	s.Rows = append(s.Rows, section("Part"))
	marked := words("1.5")
	marked.Marks = []string{s.mark("why")}
	s.add(indented("All"), whole(1190), marked)
	page := bookSheet(s.done(plainNote("note")))
	type cell = dataset.WorkbookCell
	want := [][]cell{
		{{Text: "Title", Style: dataset.Title, Span: 3}},
		{{Text: "Group", Style: dataset.Header, Span: 1}, {Text: "Both", Style: dataset.Header, Span: 2}},
		{{Style: dataset.Header, Span: 1}, {Text: "n", Style: dataset.Header, Span: 1}, {Text: "%", Style: dataset.Header, Span: 1}},
		{{Text: "Part", Style: dataset.Header, Span: 3}},
		{{Text: "    All", Style: dataset.Label, Span: 1}, {Text: "1,190", Number: 1190, IsNumber: true, Style: dataset.Figure}, {Text: "1.5 a", Style: dataset.Figure, Span: 1}},
		{{Text: "a  why", Style: dataset.Note, Span: 3}},
		{{Text: "note", Style: dataset.Note, Span: 3}},
	}
	if len(page.Rows) != len(want) || page.Freeze != 3 {
		t.Fatalf("%d rows, %d kept in view, want %d and 3", len(page.Rows), page.Freeze, len(want))
	}
	for i := range want {
		for j := range want[i] {
			if len(page.Rows[i]) != len(want[i]) || page.Rows[i][j] != want[i][j] {
				t.Errorf("row %d: %+v, want %+v", i, page.Rows[i], want[i])
				break
			}
		}
	}
}
