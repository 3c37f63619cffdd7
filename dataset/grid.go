package dataset

import (
	"context"
	"errors"
	"fmt"
	"io"
	"iter"
	"strconv"
	"strings"
	"time"
)

// How a cell is stored in its file. A text file has texts alone.
type Stored uint8

// The ways of storing a cell.
const (
	StoredText    Stored = iota // text, or nothing
	StoredNumber                // a number of a workbook
	StoredBoolean               // TRUE or FALSE of a workbook
	StoredDate                  // a workbook's date stored as text
	StoredError                 // an error value such as #N/A
	StoredFormula               // a formula without a stored value
)

// How a workbook shows a number.
type Shown uint8

// The ways of showing a number.
const (
	ShownPlain   Shown = iota // as it is, or not known
	ShownDate                 // as a day, a time or both
	ShownPercent              // a hundredfold, with a percent sign
	ShownPadded               // whole digits behind leading zeros
)

// A GridCell is one cell as it lies in its file, before any codebook.
type GridCell struct {
	Text   string // as stored; of a StoredFormula, the formula
	Stored Stored
	Shown  Shown  // of a StoredNumber
	Day    string // of a number shown as a day and of a StoredDate: 2006-01-02; "" where it is no whole day
}

// Empty reports whether nothing was written in the cell.
func (c GridCell) Empty() bool { return c.Text == "" && c.Stored != StoredFormula }

// A GridRow is one row of a sheet or one record of a text file. Its cells are
// valid until the next row is read.
type GridRow struct {
	Number int // the sheet's row or the file's line, from 1
	Cells  []GridCell
	Hidden bool // not shown in the sheet
}

// A GridFile is a data file whose rows are read without a codebook. It serves
// the drafting of one; estimates are made from Tables alone.
type GridFile struct {
	File      File
	Sheets    []string // in their order; of a text file the one name ""
	Encoding  string   // of a text file, as a codebook writes it
	Delimiter string   // of a text file

	date1904 bool
	open     func(sheet int) (rowSource, error)
	close    func() error
}

// OpenGrid opens a data file, named relative to dir, for reading without a
// codebook. What Open refuses is refused in the same words.
func OpenGrid(dir, name string) (*GridFile, error) {
	data, file, err := readFile(dir, name)
	if err != nil {
		return nil, err
	}
	sort, err := sortOf(name, data)
	if err != nil {
		return nil, err
	}
	g := &GridFile{File: file}
	if sort == textFile {
		err = g.openText(data)
	} else {
		err = g.openWorkbook(data)
	}
	if err != nil {
		return nil, err
	}
	return g, nil
}

// where is the place of a sheet.
func (g *GridFile) where(sheet int) Origin { return Origin{File: g.File.Path, Sheet: g.Sheets[sheet]} }

// Close releases the file.
func (g *GridFile) Close() error { return g.close() }

// Rows gives the rows of a sheet, by its index in Sheets, in order; rows that
// the file leaves out are left out. After an error nothing more is given.
func (g *GridFile) Rows(ctx context.Context, sheet int) iter.Seq2[GridRow, error] {
	return func(yield func(GridRow, error) bool) {
		where := g.where(sheet)
		source, err := g.open(sheet)
		if err != nil {
			yield(GridRow{}, err)
			return
		}
		err = g.each(ctx, source, where, yield)
		if e := source.close(); err == nil && e != nil {
			err = &ReadError{Where: where, Message: "the sheet is damaged: " + e.Error(), Err: e}
		}
		if err != nil && !errors.Is(err, errStopped) {
			yield(GridRow{}, err)
		}
	}
}

// errStopped ends the reading where the caller wants no more rows.
var errStopped = errors.New("stopped")

func (g *GridFile) each(ctx context.Context, source rowSource, where Origin, yield func(GridRow, error) bool) error {
	var cells []GridCell
	total := 0
	for n := 0; ; n++ {
		if n%checkEvery == 0 {
			if err := ctx.Err(); err != nil {
				return fmt.Errorf("%s: %w", where, err)
			}
		}
		row, err := source.next()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		if total += len(row.cells); total > maxCells {
			return refuse(where, "more than the %d cells that are read of a table", int64(maxCells))
		}
		cells = cells[:0]
		for _, c := range row.cells {
			cells = append(cells, g.cell(c))
		}
		if !yield(GridRow{Number: row.number, Cells: cells, Hidden: row.hidden}, nil) {
			return errStopped
		}
	}
}

// cell translates one cell.
func (g *GridFile) cell(c rawCell) GridCell {
	out := GridCell{Text: c.text}
	switch c.sort {
	case textCell:
		out.Stored = StoredText
	case numberCell:
		out.Stored = StoredNumber
	case booleanCell:
		out.Stored = StoredBoolean
	case isoDateCell:
		out.Stored, out.Day = StoredDate, wholeDay(c.text)
	case errorCell:
		out.Stored = StoredError
	case uncachedCell:
		out.Stored = StoredFormula
	}
	switch c.format {
	case plainFormat:
	case dateFormat:
		out.Shown = ShownDate
		if c.sort == numberCell {
			out.Day = dayOfSerial(c.text, g.date1904)
		}
	case percentFormat:
		out.Shown = ShownPercent
	case paddedFormat:
		out.Shown = ShownPadded
	}
	return out
}

// dayOfSerial writes a sheet's day number as 2006-01-02. It is empty for a
// number with a time of day and for days of which programs disagree.
func dayOfSerial(text string, date1904 bool) string {
	const from1900, from1904 = 25569, 24107 // day numbers of 1970-01-01
	n, err := strconv.Atoi(text)
	zero, first := from1900, 61
	if date1904 {
		zero, first = from1904, 0
	}
	if err != nil || n < first || n > zero+2932896 { // 9999-12-31
		return ""
	}
	return time.Unix(int64(n-zero)*86400, 0).UTC().Format(time.DateOnly)
}

// wholeDay is the day of a date stored as text, or empty where it has a time of
// day other than midnight.
func wholeDay(text string) string {
	day, clock, _ := strings.Cut(text, "T")
	if _, err := time.Parse(time.DateOnly, day); err != nil || strings.Trim(strings.TrimSuffix(clock, "Z"), "0:.") != "" {
		return ""
	}
	return day
}
