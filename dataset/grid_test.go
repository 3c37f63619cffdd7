package dataset

import (
	"bytes"
	"context"
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"
)

// gridText writes the rows of a sheet, one a line, each cell with the way it
// is stored where that is not text.
func gridText(t *testing.T, g *GridFile, sheet int) string {
	t.Helper()
	var b strings.Builder
	for row, err := range g.Rows(context.Background(), sheet) {
		if err != nil {
			t.Fatal(err)
		}
		fmt.Fprint(&b, row.Number, ":")
		for _, c := range row.Cells {
			b.WriteString(" [" + c.Text + "]" + []string{"", "n", "b", "d", "e", "f"}[c.Stored])
		}
		b.WriteString("\n")
	}
	return b.String()
}

func TestGridOfWorkbook(t *testing.T) {
	f := excelize.NewFile()
	for cell, v := range map[string]any{"A1": "id", "B1": "x", "A3": "a", "B3": 1.5, "C3": true} {
		if err := f.SetCellValue("Sheet1", cell, v); err != nil {
			t.Fatal(err)
		}
	}
	if err := f.SetCellFormula("Sheet1", "D3", "1+1"); err != nil {
		t.Fatal(err)
	}
	if _, err := f.NewSheet("second"); err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := f.Write(&b); err != nil {
		t.Fatal(err)
	}
	g, err := OpenGrid(folder(t, map[string][]byte{"a.xlsx": b.Bytes()}), "a.xlsx")
	if err != nil {
		t.Fatal(err)
	}
	defer g.Close()
	if diff := cmp.Diff([]string{"Sheet1", "second"}, g.Sheets); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff("1: [id] [x]\n3: [a] [1.5]n [TRUE]b [=1+1]f\n", gridText(t, g, 0)); diff != "" {
		t.Error(diff)
	}
	if got := gridText(t, g, 1); got != "" {
		t.Errorf("an empty sheet has %q", got)
	}
}

func TestGridOfText(t *testing.T) {
	g, err := OpenGrid(folder(t, map[string][]byte{"a.csv": []byte("Title\n\nid,x\na,\"1,5\"\n")}), "a.csv")
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff("1: [Title]\n2:\n3: [id] [x]\n4: [a] [1,5]\n", gridText(t, g, 0)); diff != "" {
		t.Error(diff)
	}
	for range g.Rows(context.Background(), 0) {
		break // stopping early is no fault
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	for _, err := range g.Rows(ctx, 0) {
		if err == nil {
			t.Error("rows were given after the end of the context")
		}
	}
}

// How a cell is shown, and the day it stands for, come with it.
func TestGridCell(t *testing.T) {
	g := &GridFile{}
	for _, c := range []struct {
		raw  rawCell
		want GridCell
	}{
		{rawCell{text: "45292", sort: numberCell, format: dateFormat}, GridCell{Text: "45292", Stored: StoredNumber, Shown: ShownDate, Day: "2024-01-01"}},
		{rawCell{text: "60", sort: numberCell, format: dateFormat}, GridCell{Text: "60", Stored: StoredNumber, Shown: ShownDate}},
		{rawCell{text: "61", sort: numberCell, format: dateFormat}, GridCell{Text: "61", Stored: StoredNumber, Shown: ShownDate, Day: "1900-03-01"}},
		{rawCell{text: "2958465", sort: numberCell, format: dateFormat}, GridCell{Text: "2958465", Stored: StoredNumber, Shown: ShownDate, Day: "9999-12-31"}},
		{rawCell{text: "2958466", sort: numberCell, format: dateFormat}, GridCell{Text: "2958466", Stored: StoredNumber, Shown: ShownDate}},
		{rawCell{text: "2024-01-01T10:00:00", sort: isoDateCell}, GridCell{Text: "2024-01-01T10:00:00", Stored: StoredDate}},
		{rawCell{text: "2024-13-01", sort: isoDateCell}, GridCell{Text: "2024-13-01", Stored: StoredDate}},
		{rawCell{text: "45292.5", sort: numberCell, format: dateFormat}, GridCell{Text: "45292.5", Stored: StoredNumber, Shown: ShownDate}},
		{rawCell{text: "2024-01-01T00:00:00", sort: isoDateCell}, GridCell{Text: "2024-01-01T00:00:00", Stored: StoredDate, Day: "2024-01-01"}},
		{rawCell{text: "0.45", sort: numberCell, format: percentFormat}, GridCell{Text: "0.45", Stored: StoredNumber, Shown: ShownPercent}},
		{rawCell{text: "7", sort: numberCell, format: paddedFormat}, GridCell{Text: "7", Stored: StoredNumber, Shown: ShownPadded}},
		{rawCell{text: "#N/A", sort: errorCell}, GridCell{Text: "#N/A", Stored: StoredError}},
	} {
		if diff := cmp.Diff(c.want, g.cell(c.raw)); diff != "" {
			t.Errorf("%+v: %s", c.raw, diff)
		}
	}
}

// Day 0 of a workbook that counts from 1904 is 1 January 1904; the last is
// 2957003.
func TestGridDay1904(t *testing.T) {
	g := &GridFile{date1904: true}
	for text, want := range map[string]string{"0": "1904-01-01", "43830": "2024-01-01", "2957003": "9999-12-31", "2957004": "", "-1": ""} {
		if got := g.cell(rawCell{text: text, sort: numberCell, format: dateFormat}).Day; got != want {
			t.Errorf("%s is %q, want %q", text, got, want)
		}
	}
}

func TestGridRefuses(t *testing.T) {
	dir := folder(t, map[string][]byte{"a.xlsx": []byte("no"), "a.dat": []byte("x")})
	for _, name := range []string{"a.xlsx", "a.dat", "b.csv", "../b.csv"} {
		if _, err := OpenGrid(dir, name); err == nil {
			t.Errorf("%s was opened", name)
		}
	}
}
