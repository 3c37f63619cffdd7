package dataset

// A cellSort says how a cell was stored.
type cellSort uint8

const (
	textCell     cellSort = iota // text, or nothing
	numberCell                   // a number of a workbook
	booleanCell                  // TRUE or FALSE of a workbook
	isoDateCell                  // a workbook's date stored as text
	errorCell                    // an error value such as #N/A
	uncachedCell                 // a formula without a stored value
)

// A cellFormat says how a workbook shows a number. Values are never read
// through it; it is kept because a number that is shown as something else (a
// day, a percentage, digits behind zeros) may have been meant as that.
type cellFormat uint8

const (
	plainFormat   cellFormat = iota // a number as it is, or not known
	dateFormat                      // a day, a time or both
	percentFormat                   // a hundredfold, with a percent sign
	paddedFormat                    // whole digits behind leading zeros
)

// A rawCell is one cell as it lies in the file.
type rawCell struct {
	text   string // of an uncachedCell, the formula with its equals sign
	sort   cellSort
	format cellFormat // of a numberCell
}

// empty reports whether nothing was written in the cell.
func (c rawCell) empty() bool { return c.text == "" && c.sort != uncachedCell }

// A rawRow is one row of a sheet or one record of a text file. Its cells are
// valid until the next row is read.
type rawRow struct {
	number int // the sheet's row or the file's line
	cells  []rawCell
	hidden bool // not shown in the sheet
}

// A rowSource gives the rows of one table, header included, in order. Rows
// that the file leaves out are left out; empty rows may come or not.
type rowSource interface {
	// next gives the next row; the error is io.EOF after the last.
	next() (rawRow, error)
	// done is the number of bytes consumed, of the total.
	done() (n, total int64)
	// merged lists the merged areas, known after the last row.
	merged() []area
	close() error
}

// An area is a rectangle of cells, both corners included.
type area struct{ top, left, bottom, right int }
