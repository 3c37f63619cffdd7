package ooxml

import (
	"strconv"
	"testing"

	"github.com/xuri/excelize/v2"
)

// Every column a sheet can have, against the names that excelize gives.
func TestColumnLetters(t *testing.T) {
	for column := 1; column <= MaxColumns; column++ {
		want, err := excelize.ColumnNumberToName(column)
		if err != nil {
			t.Fatal(err)
		}
		if got := ColumnLetters(column); got != want {
			t.Fatalf("column %d is %q, want %q", column, got, want)
		}
		row, back, ok := ParseCell(want + "12")
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
		row, column, ok := ParseCell(ref)
		if !ok {
			return
		}
		if row < 1 || row > MaxRows || column < 1 || column > MaxColumns {
			t.Fatalf("%q reads as row %d, column %d", ref, row, column)
		}
		if back := ColumnLetters(column) + strconv.Itoa(row); back != ref {
			t.Fatalf("%q reads as %q", ref, back)
		}
	})
}
