package dataset

import (
	"strconv"
	"testing"

	"github.com/xuri/excelize/v2"
)

func TestOrigin(t *testing.T) {
	for _, c := range []struct {
		origin     Origin
		cell, line string
	}{
		{Origin{"data/a.xlsx", "visits", 7, 2}, "B7", `data/a.xlsx, sheet "visits", B7`},
		{Origin{"data/a.xlsx", "visits", 7, 0}, "row 7", `data/a.xlsx, sheet "visits", row 7`},
		{Origin{"data/a.xlsx", "visits", 0, 0}, "", `data/a.xlsx, sheet "visits"`},
		{Origin{"data/a.csv", "", 7, 2}, "line 7, column 2", "data/a.csv, line 7, column 2"},
		{Origin{"data/a.csv", "", 7, 0}, "line 7", "data/a.csv, line 7"},
		{Origin{"data/a.csv", "", 0, 0}, "", "data/a.csv"},
		{Origin{}, "", ""},
	} {
		if got := c.origin.Cell(); got != c.cell {
			t.Errorf("%#v: cell %q, want %q", c.origin, got, c.cell)
		}
		if got := c.origin.String(); got != c.line {
			t.Errorf("%#v: %q, want %q", c.origin, got, c.line)
		}
	}
}

// Every column a sheet can have, against the names that excelize gives.
func TestColumnLetters(t *testing.T) {
	for column := 1; column <= maxColumns; column++ {
		want, err := excelize.ColumnNumberToName(column)
		if err != nil {
			t.Fatal(err)
		}
		if got := columnLetters(column); got != want {
			t.Fatalf("column %d is %q, want %q", column, got, want)
		}
		row, back, ok := parseCell(want + "12")
		if !ok || row != 12 || back != column {
			t.Fatalf("%s12 reads as row %d, column %d, %v", want, row, back, ok)
		}
	}
}

func FuzzParseCell(f *testing.F) {
	for _, s := range []string{"A1", "XFD1048576", "XFE1", "A1048577", "A0", "A01", "a1", "1A", "AAAA1", "", "A", "$A$1"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, ref string) {
		row, column, ok := parseCell(ref)
		if !ok {
			return
		}
		if row < 1 || row > maxRows || column < 1 || column > maxColumns {
			t.Fatalf("%q reads as row %d, column %d", ref, row, column)
		}
		if back := columnLetters(column) + strconv.Itoa(row); back != ref {
			t.Fatalf("%q reads as %q", ref, back)
		}
	})
}
