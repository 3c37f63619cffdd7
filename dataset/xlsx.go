package dataset

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"os"
	"strconv"

	"github.com/xuri/excelize/v2"

	"heelcohort/codebook/document"
)

// A workbookReader is one workbook opened for reading.
type workbookReader struct {
	file    string
	pack    *workbookPackage
	book    *excelize.File
	tmp     string
	strings int // number of shared texts, -1 before they were counted
}

// openWorkbook opens a workbook held in memory. Large parts wait in a folder
// of their own, which close removes.
func openWorkbook(file string, data []byte) (*workbookReader, error) {
	where := Origin{File: file}
	pack, err := openPackage(data)
	if err != nil {
		return nil, &ReadError{Where: where, Message: err.Error(), Err: err}
	}
	tmp, err := os.MkdirTemp("", "heelcohort-")
	if err != nil {
		return nil, fmt.Errorf("dataset: %w", err)
	}
	w := &workbookReader{file: file, pack: pack, tmp: tmp, strings: -1}
	if w.book, err = openBook(where, data, tmp); err != nil {
		_ = w.close()
		return nil, err
	}
	return w, nil
}

// openBook hands a workbook to excelize.
func openBook(where Origin, data []byte, tmp string) (book *excelize.File, err error) {
	defer catch(where, &err)
	book, err = excelize.OpenReader(bytes.NewReader(data), excelize.Options{
		RawCellValue:      true,
		UnzipSizeLimit:    maxUnzippedBytes,
		UnzipXMLSizeLimit: memoryPartBytes,
		TmpDir:            tmp,
	})
	if err != nil {
		return book, &ReadError{Where: where, Message: "the workbook cannot be read: " + err.Error(), Err: err}
	}
	return book, nil
}

// catch turns a panic into an error. The library that decodes workbooks meets
// any damage a file can have; a damaged file must not end the program.
func catch(where Origin, err *error) {
	if p := recover(); p != nil {
		*err = refuse(where, "the workbook is damaged: %v", p)
	}
}

// close releases the workbook and its temporary files.
func (w *workbookReader) close() error {
	var err error
	if w.book != nil {
		err = w.book.Close()
	}
	return errors.Join(err, os.RemoveAll(w.tmp))
}

// find resolves a sheet's name; "" is the only sheet.
func (w *workbookReader) find(name string) (sheetPart, error) {
	names := make([]string, len(w.pack.sheets))
	for i, s := range w.pack.sheets {
		if s.name == name {
			return s, nil
		}
		names[i] = s.name
	}
	where := Origin{File: w.file}
	if name == "" {
		if len(names) == 1 {
			return w.pack.sheets[0], nil
		}
		return sheetPart{}, refuse(where, "the workbook has %d sheets (%s); name one in the codebook", len(names), quoteList(names))
	}
	e := refuse(where, "no sheet %q; the workbook has %s", name, quoteList(names))
	e.Nearest = document.Nearest(name, names)
	return sheetPart{}, e
}

// rows starts reading a sheet.
func (w *workbookReader) rows(s sheetPart) (*sheetSource, error) {
	where := Origin{File: w.file, Sheet: s.name}
	part, size, err := w.pack.open(s.part)
	if err != nil {
		return nil, &ReadError{Where: where, Message: err.Error(), Err: err}
	}
	values, err := w.book.Rows(s.name)
	if err != nil {
		_ = part.Close()
		return nil, &ReadError{Where: where, Message: err.Error(), Err: err}
	}
	counted := &countingReader{r: part}
	return &sheetSource{
		workbook: w, where: where, values: values, part: part, counted: counted,
		scanner: newCellScanner(counted), size: size,
	}, nil
}

// sharedTexts counts the shared texts, once.
func (w *workbookReader) sharedTexts() (int, error) {
	if w.strings >= 0 {
		return w.strings, nil
	}
	if w.pack.strings == "" {
		w.strings = 0
		return 0, nil
	}
	r, _, err := w.pack.open(w.pack.strings)
	if err != nil {
		return 0, err
	}
	defer r.Close()
	d := xml.NewDecoder(r)
	n := 0
	for {
		t, err := d.RawToken()
		if errors.Is(err, io.EOF) {
			w.strings = n
			return n, nil
		}
		if err != nil {
			return 0, fmt.Errorf("the shared texts: %w", err)
		}
		if t, ok := t.(xml.StartElement); ok && t.Name.Local == "si" {
			n++
		}
	}
}

// A sheetSource reads a sheet's values and, in step with them, how each cell
// is stored.
type sheetSource struct {
	workbook *workbookReader
	where    Origin
	values   *excelize.Rows
	part     io.Closer
	counted  *countingReader
	scanner  *cellScanner
	size     int64
	at       int // row of values last read
	cells    []rawCell
}

// next gives the next row that the sheet holds.
func (s *sheetSource) next() (row rawRow, err error) {
	defer catch(s.where, &err)
	number, stored, err := s.scanner.next()
	if errors.Is(err, io.EOF) {
		if s.values.Next() {
			return rawRow{}, refuse(s.where, "the sheet's cells do not agree with its rows")
		}
		if err := s.values.Error(); err != nil {
			return rawRow{}, &ReadError{Where: s.where, Message: err.Error(), Err: err}
		}
		return rawRow{}, io.EOF
	}
	if err != nil {
		return rawRow{}, &ReadError{Where: s.where, Message: "the sheet is damaged: " + err.Error(), Err: err}
	}
	var texts []string
	for s.at < number {
		if !s.values.Next() {
			return rawRow{}, refuse(s.where, "the sheet is damaged: it ends before row %d", number)
		}
		s.at++
		if texts, err = s.values.Columns(); err != nil {
			return rawRow{}, &ReadError{Where: s.where, Message: err.Error(), Err: err}
		}
	}
	return s.join(number, texts, stored)
}

// join puts values and storage together.
func (s *sheetSource) join(number int, texts []string, stored []storedCell) (rawRow, error) {
	width := len(texts)
	if n := len(stored); n > 0 {
		width = max(width, stored[n-1].column)
	}
	s.cells = append(s.cells[:0], make([]rawCell, width)...)
	for i, text := range texts {
		s.cells[i] = rawCell{text: text, sort: errorCell}
	}
	for _, c := range stored {
		cell := &s.cells[c.column-1]
		cell.sort = c.sort
		switch {
		case c.sort == uncachedCell:
			cell.text = c.formula
		case c.shared && cell.text == "":
			n, err := s.workbook.sharedTexts()
			if err == nil && c.index >= n {
				err = fmt.Errorf("cell %s%d names shared text %d of %d", columnLetters(c.column), number, c.index, n)
			}
			if err != nil {
				return rawRow{}, &ReadError{Where: s.where, Message: "the sheet is damaged: " + err.Error(), Err: err}
			}
		case c.sort == numberCell:
			cell.text = shortestNumber(cell.text)
		case c.sort == booleanCell:
			cell.text = booleanWord(cell.text)
		}
	}
	// A value without a stored cell would mean that the two readings went out
	// of step.
	next := 0
	for i := range texts {
		if next < len(stored) && stored[next].column == i+1 {
			next++
			continue
		}
		if texts[i] != "" {
			if _, _, err := s.scanner.next(); err != nil && !errors.Is(err, io.EOF) {
				return rawRow{}, &ReadError{Where: s.where, Message: "the sheet is damaged: " + err.Error(), Err: err}
			}
			return rawRow{}, refuse(s.where, "the sheet is damaged: cell %s%d was read twice with different results", columnLetters(i+1), number)
		}
		s.cells[i].sort = textCell
	}
	return rawRow{number: number, cells: s.cells, hidden: s.scanner.hidden}, nil
}

func (s *sheetSource) done() (n, total int64) { return s.counted.n, s.size }

func (s *sheetSource) merged() []area { return s.scanner.areas }

func (s *sheetSource) close() error {
	return errors.Join(s.values.Close(), s.part.Close())
}

// shortestNumber rewrites a stored number in the shortest form that reads back
// as the same number: programs store 9.1 as 9.0999999999999996, which would
// miss a category or a missing code written 9.1. A text that is no number is
// left alone.
func shortestNumber(text string) string {
	if len(text) <= 15 && isPlainNumber(text) {
		return text
	}
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return text
	}
	if a := max(x, -x); x == 0 || a >= 1e-6 && a < 1e21 {
		return strconv.FormatFloat(x, 'f', -1, 64)
	}
	return strconv.FormatFloat(x, 'g', -1, 64)
}

// isPlainNumber reports whether text is digits with at most a minus sign, that
// is, already in its shortest form.
func isPlainNumber(text string) bool {
	if len(text) > 1 && text[0] == '-' {
		text = text[1:]
	}
	if text == "" || text[0] == '0' && len(text) > 1 {
		return false
	}
	for _, c := range []byte(text) {
		if c < '0' || c > '9' {
			return false
		}
	}
	return true
}

// booleanWord is how a stored boolean is shown in the sheet.
func booleanWord(text string) string {
	switch text {
	case "1", "true":
		return "TRUE"
	case "0", "false":
		return "FALSE"
	}
	return text
}

// A countingReader counts the bytes that pass.
type countingReader struct {
	r io.Reader
	n int64
}

func (c *countingReader) Read(p []byte) (int, error) {
	n, err := c.r.Read(p)
	c.n += int64(n)
	return n, err
}
