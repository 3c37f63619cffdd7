package dataset

import (
	"errors"
	"fmt"
	"io"
	"strings"
)

// A CellSort says how a workbook stores a cell.
type CellSort uint8

// The sorts of stored cells.
const (
	TextSort    CellSort = iota // a text, or nothing
	NumberSort                  // a number, shown as one
	BooleanSort                 // TRUE or FALSE
	OtherSort                   // a number shown as a day or percentage, a stored date, an error, a formula without result
)

// A SheetCell is one cell as it is stored.
type SheetCell struct {
	Text string
	Sort CellSort
}

// A SheetRow is one row that a sheet holds.
type SheetRow struct {
	Number int // from 1
	Cells  []SheetCell
}

// A Sheet is one sheet of a workbook, read without a codebook.
type Sheet struct {
	Name string
	Rows []SheetRow
}

// maxSheetCells limits what ReadSheets holds in memory.
const maxSheetCells = 1 << 20

// ReadSheets reads every cell of a small workbook in xlsx format, such as a
// codebook kept as one. The name of the file is used in messages; errors are
// *ReadError. Formulas are read as the value stored with them.
func ReadSheets(file string, data []byte) (sheets []Sheet, err error) {
	sort, err := sortOf(file, data)
	if err != nil {
		return nil, err
	}
	if sort != workbookFile {
		return nil, refuse(Origin{File: file}, "a text file, expected a workbook in xlsx format")
	}
	w, err := openWorkbook(file, data)
	if err != nil {
		return nil, err
	}
	cells := 0
	for i, sheet := range w.book.Sheets {
		source, err := w.rows(i)
		if err != nil {
			return nil, err
		}
		s, err := wholeSheet(sheet.Name, source, &cells)
		if e := source.close(); err == nil && e != nil {
			err = &ReadError{Where: source.where, Message: "the sheet is damaged: " + e.Error(), Err: e}
		}
		if err != nil {
			return nil, err
		}
		sheets = append(sheets, s)
	}
	return sheets, nil
}

// wholeSheet reads all rows of a sheet; cells counts those of the workbook.
func wholeSheet(name string, source rowSource, cells *int) (Sheet, error) {
	s := Sheet{Name: name}
	for {
		row, err := source.next()
		if errors.Is(err, io.EOF) {
			return s, nil
		}
		if err != nil {
			return Sheet{}, err
		}
		if *cells += len(row.cells) + 1; *cells > maxSheetCells {
			return Sheet{}, fmt.Errorf("sheet %q: more than the %d cells that are read of such a workbook", name, maxSheetCells)
		}
		out := SheetRow{Number: row.number, Cells: make([]SheetCell, len(row.cells))}
		for i, c := range row.cells {
			out.Cells[i] = SheetCell{Text: strings.ReplaceAll(c.text, "\r\n", "\n"), Sort: storedSort(c)}
		}
		s.Rows = append(s.Rows, out)
	}
}

func storedSort(c rawCell) CellSort {
	switch {
	case c.sort == textCell:
		return TextSort
	case c.sort == numberCell && c.format == plainFormat:
		return NumberSort
	case c.sort == booleanCell:
		return BooleanSort
	}
	return OtherSort
}
