package dataset

import (
	"errors"
	"io"

	"heelcohort/codebook/document"
	"heelcohort/dataset/ooxml"
)

// A workbookReader is one workbook opened for reading.
type workbookReader struct {
	file string
	book *ooxml.Book
}

// openWorkbook opens a workbook held in memory.
func openWorkbook(file string, data []byte) (*workbookReader, error) {
	book, err := ooxml.Open(data)
	if err != nil {
		return nil, sheetError(file, err)
	}
	return &workbookReader{file: file, book: book}, nil
}

// sheetError places what the reader of workbooks refused.
func sheetError(file string, err error) error {
	where := Origin{File: file}
	message := err.Error()
	var e *ooxml.Error
	if errors.As(err, &e) {
		where.Sheet, where.Row, where.Column = e.Sheet, e.Row, e.Column
		message = e.Message
	}
	return &ReadError{Where: where, Message: message, Err: err}
}

// find resolves a sheet's name to its index; "" is the only sheet.
func (w *workbookReader) find(name string) (int, error) {
	sheets := w.book.Sheets
	names := make([]string, len(sheets))
	for i, s := range sheets {
		if s.Name == name {
			return i, nil
		}
		names[i] = s.Name
	}
	where := Origin{File: w.file}
	if name == "" {
		if len(names) == 1 {
			return 0, nil
		}
		return 0, refuse(where, "the workbook has %d sheets (%s); name one in the codebook", len(names), quoteList(names))
	}
	e := refuse(where, "no sheet %q; the workbook has %s", name, quoteList(names))
	e.Nearest = document.Nearest(name, names)
	return 0, e
}

// rows starts reading a sheet.
func (w *workbookReader) rows(sheet int) (*sheetSource, error) {
	where := Origin{File: w.file, Sheet: w.book.Sheets[sheet].Name}
	rows, err := w.book.Rows(sheet)
	if err != nil {
		return nil, sheetError(w.file, err)
	}
	return &sheetSource{where: where, book: w.book, sheet: sheet, rows: rows}, nil
}

// A sheetSource gives a sheet's cells by their columns.
type sheetSource struct {
	where Origin
	book  *ooxml.Book
	sheet int
	rows  *ooxml.Rows
	cells []rawCell
	held  []int // indexes of cells that the last row set
	wide  int   // cells given so far, empty ones too
}

// sorts and formats of cells, by those of the workbook.
var (
	sheetSorts = [...]cellSort{
		ooxml.Text: textCell, ooxml.Number: numberCell, ooxml.Boolean: booleanCell,
		ooxml.ISODate: isoDateCell, ooxml.Fault: errorCell, ooxml.Uncached: uncachedCell,
	}
	sheetFormats = [...]cellFormat{
		ooxml.Plain: plainFormat, ooxml.Date: dateFormat, ooxml.Percent: percentFormat, ooxml.Padded: paddedFormat,
	}
)

// next gives the next row that the sheet holds.
func (s *sheetSource) next() (rawRow, error) {
	row, err := s.rows.Next()
	if errors.Is(err, io.EOF) {
		return rawRow{}, io.EOF
	}
	if err != nil {
		return rawRow{}, sheetError(s.where.File, err)
	}
	for _, i := range s.held {
		s.cells[i] = rawCell{}
	}
	s.held = s.held[:0]
	width := 0
	if n := len(row.Cells); n > 0 {
		width = row.Cells[n-1].Column
	}
	if width > len(s.cells) {
		s.cells = append(s.cells, make([]rawCell, width-len(s.cells))...)
	}
	if s.wide += width; s.wide > maxSpread {
		where := s.where
		where.Row = row.Number
		return rawRow{}, refuse(where, "up to here the rows reach over more than the %d cells that are read of a sheet, empty ones among them", maxSpread)
	}
	for i := range row.Cells {
		c := &row.Cells[i]
		s.cells[c.Column-1] = rawCell{text: c.Text, sort: sheetSorts[c.Sort], format: sheetFormats[c.Format]}
		s.held = append(s.held, c.Column-1)
	}
	return rawRow{number: row.Number, cells: s.cells[:width], hidden: row.Hidden}, nil
}

func (s *sheetSource) done() (n, total int64) { return s.rows.Done() }

func (s *sheetSource) merged() []area { return mergedAreas(s.rows) }

func (s *sheetSource) close() error { return s.rows.Close() }
