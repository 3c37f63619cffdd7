package dataset

import (
	"fmt"
	"strconv"
	"strings"

	"heelcohort/dataset/ooxml"
)

// An Origin is the place a value came from. Row and Column count from 1; Row
// is the sheet's row or the text file's line. Column 0 is the whole row, Row 0
// the whole sheet or file.
type Origin struct {
	File        string // path relative to the study folder, with slashes
	Sheet       string // "" for a text file
	Row, Column int
}

// Cell names the cell: "B7" in a sheet, "line 7, column 2" in a text file,
// "row 7" or "line 7" for a whole row, "" for a whole sheet.
func (o Origin) Cell() string {
	switch {
	case o.Row <= 0:
		return ""
	case o.Sheet == "" && o.Column <= 0:
		return "line " + strconv.Itoa(o.Row)
	case o.Sheet == "":
		return fmt.Sprintf("line %d, column %d", o.Row, o.Column)
	case o.Column <= 0:
		return "row " + strconv.Itoa(o.Row)
	}
	return columnLetters(o.Column) + strconv.Itoa(o.Row)
}

// String is file, sheet and cell in one line.
func (o Origin) String() string {
	parts := make([]string, 0, 3)
	if o.File != "" {
		parts = append(parts, o.File)
	}
	if o.Sheet != "" {
		parts = append(parts, "sheet "+strconv.Quote(o.Sheet))
	}
	if cell := o.Cell(); cell != "" {
		parts = append(parts, cell)
	}
	return strings.Join(parts, ", ")
}

// compare orders origins of one table: whole sheet, then by row, within a row
// the whole row before its cells.
func (o Origin) compare(p Origin) int {
	if o.Row != p.Row {
		return o.Row - p.Row
	}
	return o.Column - p.Column
}

// columnLetters is a column's name in a sheet: 1 is A, 27 is AA.
func columnLetters(column int) string { return ooxml.ColumnLetters(column) }
