package ooxml

import (
	"errors"
	"io"
	"strconv"
)

// A Row is one row of a sheet. Its cells are valid until the next row is read;
// their texts stay.
type Row struct {
	Number int
	Hidden bool   // not shown, by hand or by a filter
	Cells  []Cell // that hold something, in order of their columns
}

// Rows reads the rows of one sheet.
type Rows struct {
	book    *Book
	sheet   string
	part    *partReader
	scanner *scanner
	row     Row
	cells   []Cell
	spans   []int  // where the text of each cell begins in buf, or -1
	buf     []byte // the texts of the row that are not shared
	areas   []Area
	inData  bool
	hadData bool
	err     error
}

// Rows begins to read the sheet with the given index in Sheets. Several sheets
// may be open at once, each by itself.
func (b *Book) Rows(sheet int) (*Rows, error) {
	s := b.Sheets[sheet]
	p, err := b.archive.open(s.Part)
	if err != nil {
		var e *Error
		if errors.As(err, &e) {
			e.Sheet = s.Name
		}
		return nil, err
	}
	return &Rows{book: b, sheet: s.Name, part: p, scanner: newScanner(s.Part, p, mainSpace)}, nil
}

// Done is the number of the part's bytes that were read, of the total that the
// archive gives for it.
func (r *Rows) Done() (n, total int64) { return r.scanner.offset(), r.part.size }

// Merged lists the merged areas, which are known after the last row.
func (r *Rows) Merged() []Area { return r.areas }

// Close ends the reading.
func (r *Rows) Close() error { return r.part.Close() }

// at gives an error its place in the sheet.
func (r *Rows) at(column int, err error) error {
	var e *Error
	if !errors.As(err, &e) {
		e = &Error{Message: err.Error(), Err: err}
	}
	if e.Sheet == "" {
		e.Sheet = r.sheet
		e.Row, e.Column = r.row.Number, column
	}
	return e
}

// place names a cell.
func place(row, column int) string { return ColumnLetters(column) + strconv.Itoa(row) }

// Next reads the next row that the sheet holds, which may be without cells. The
// error is io.EOF after the last one, when the whole part was read and found
// sound; otherwise it is an *Error.
func (r *Rows) Next() (*Row, error) {
	if r.err != nil {
		return nil, r.err
	}
	row, err := r.next()
	if err != nil {
		if !errors.Is(err, io.EOF) {
			err = r.at(0, err)
		}
		r.err = err
		return nil, err
	}
	return row, nil
}

func (r *Rows) next() (*Row, error) {
	s := r.scanner
	for {
		t, err := s.next()
		if err != nil {
			return nil, err
		}
		switch t {
		case endOfPart:
			if !r.hadData {
				return nil, refuse("the sheet has no cells' section")
			}
			return nil, io.EOF
		case endTag:
			if r.inData && s.depth() == 1 {
				r.inData = false
				r.row.Number = 0 // what follows is in no row
			}
		case charData:
			if r.inData && !blank(s.text) {
				return nil, s.fail("text stands between the rows")
			}
		case startTag:
			if r.inData {
				is, err := r.rowTag()
				if err != nil {
					return nil, err
				}
				if is {
					return r.readRow()
				}
				continue
			}
			if err := r.outside(); err != nil {
				return nil, err
			}
		}
	}
}

// outside takes a start tag that is not within the section of cells.
func (r *Rows) outside() error {
	s := r.scanner
	switch depth := s.depth(); {
	case depth == 1 && (!s.ours || string(s.local) != "worksheet"):
		return s.fail("<%s> stands where a worksheet was expected", printable(string(s.local)))
	case depth == 2 && string(s.local) == "sheetData":
		if !s.ours {
			return s.fail("<sheetData> stands in another name space")
		}
		if r.hadData {
			return s.fail("it has two sections of cells")
		}
		r.inData, r.hadData = true, true
	case depth == 3 && s.ours && string(s.local) == "mergeCell":
		ref := s.attribute("ref")
		area, ok := parseArea(ref)
		if !ok {
			return refuse("merged area %s does not fit", quote(ref))
		}
		if len(r.areas) == maxMergedAreas {
			return refuse("more than %d merged areas", maxMergedAreas)
		}
		r.areas = append(r.areas, area)
	}
	return nil
}

// rowTag takes a start tag between the rows. It reports false for what is no
// row, which is passed over.
func (r *Rows) rowTag() (bool, error) {
	s := r.scanner
	if string(s.local) != "row" {
		return false, r.pass()
	}
	if !s.ours {
		return false, s.fail("<row> stands in another name space")
	}
	number, hidden := r.row.Number+1, false
	for _, a := range s.attributes {
		switch string(a.name) {
		case "r":
			n, ok := parseIndex(a.value, MaxRows)
			if !ok || n < 1 || a.value[0] == '0' {
				return false, refuse("row number %s, expected 1 to %d", quote(string(a.value)), MaxRows)
			}
			number = n
		case "hidden":
			hidden = isTrue(string(a.value))
		}
	}
	if number <= r.row.Number {
		return false, refuse("row %d stands after row %d", number, r.row.Number)
	}
	if number > MaxRows {
		return false, refuse("more than %d rows", MaxRows)
	}
	r.row.Number, r.row.Hidden = number, hidden
	return true, nil
}

// pass goes past an element that is none of the format's own. Alternatives
// could hold cells and are refused.
func (r *Rows) pass() error {
	s := r.scanner
	if name := string(s.local); name == "AlternateContent" || name == "c" || name == "row" {
		return s.fail("<%s> stands where it cannot be read", name)
	}
	return s.skip()
}

// readRow reads cells up to the row's end.
func (r *Rows) readRow() (*Row, error) {
	s := r.scanner
	r.cells, r.spans, r.buf = r.cells[:0], r.spans[:0], r.buf[:0]
	depth, column := s.depth(), 0
	for {
		t, err := s.next()
		if err != nil {
			return nil, err
		}
		if t == endTag && s.depth() < depth {
			break
		}
		if t == charData {
			if !blank(s.text) {
				return nil, s.fail("text stands between the cells")
			}
			continue
		}
		if len(s.local) != 1 || s.local[0] != 'c' {
			if err := r.pass(); err != nil {
				return nil, err
			}
			continue
		}
		if !s.ours {
			return nil, s.fail("<c> stands in another name space")
		}
		tag, err := r.cellTag(column)
		if err != nil {
			return nil, err
		}
		column = tag.column
		if s.empty { // the most frequent cell of a formatted sheet
			s.empty = false
			s.pop()
			continue
		}
		if err := r.readCell(tag); err != nil {
			return nil, r.at(column, err)
		}
	}
	// One string holds the texts of the row, so that a cell costs no memory of
	// its own.
	all, end := string(r.buf), len(r.buf)
	for i := len(r.cells) - 1; i >= 0; i-- {
		if from := r.spans[i]; from >= 0 {
			r.cells[i].Text = all[from:end]
			end = from
		}
	}
	r.row.Cells = r.cells
	return &r.row, nil
}
