package dataset

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
)

// A storedCell is what the sheet's XML says of a cell beside its value.
type storedCell struct {
	column  int
	sort    cellSort
	shared  bool   // the value is an index into the shared strings
	index   int    // that index
	formula string // of a formula without a stored value
}

// A cellScanner streams a sheet's XML beside the reading of its values. Values
// alone cannot tell an error from a text, a formula that was never computed
// from an empty cell, or TRUE from 1; and a damaged sheet could end early
// without anyone noticing. The scanner tells them apart and refuses XML that
// is not well formed, not in order or cut short.
type cellScanner struct {
	decoder *xml.Decoder
	open    []xml.Name
	row     int // the row last read
	hidden  bool
	cells   []storedCell
	areas   []area
	inData  bool
	ended   bool
}

func newCellScanner(r io.Reader) *cellScanner {
	return &cellScanner{decoder: xml.NewDecoder(r)}
}

// token is the next raw token, with nesting checked.
func (s *cellScanner) token() (xml.Token, error) {
	t, err := s.decoder.RawToken()
	if err != nil {
		if errors.Is(err, io.EOF) && len(s.open) > 0 {
			return nil, fmt.Errorf("the sheet is cut short inside <%s>", s.open[len(s.open)-1].Local)
		}
		return nil, err
	}
	switch t := t.(type) {
	case xml.StartElement:
		s.open = append(s.open, t.Name)
	case xml.EndElement:
		if len(s.open) == 0 || s.open[len(s.open)-1] != t.Name {
			return nil, fmt.Errorf("</%s> closes nothing", t.Name.Local)
		}
		s.open = s.open[:len(s.open)-1]
	}
	return t, nil
}

// next reads one row: its number, and its cells in ascending order. The error
// is io.EOF after the last row; merged areas are known then.
func (s *cellScanner) next() (int, []storedCell, error) {
	for {
		t, err := s.token()
		if errors.Is(err, io.EOF) {
			if !s.ended {
				return 0, nil, errors.New("the sheet has no cells' section")
			}
			return 0, nil, io.EOF
		}
		if err != nil {
			return 0, nil, err
		}
		switch t := t.(type) {
		case xml.StartElement:
			switch {
			case t.Name.Local == "sheetData" && len(s.open) == 2:
				s.inData, s.ended = true, true
			case t.Name.Local == "row" && s.inData:
				if err := s.startRow(t); err != nil {
					return 0, nil, err
				}
				if err := s.readRow(); err != nil {
					return 0, nil, fmt.Errorf("row %d: %w", s.row, err)
				}
				return s.row, s.cells, nil
			case t.Name.Local == "mergeCell" && !s.inData:
				if err := s.merge(attribute(t, "ref")); err != nil {
					return 0, nil, err
				}
			}
		case xml.EndElement:
			if t.Name.Local == "sheetData" && len(s.open) == 1 {
				s.inData = false
			}
		}
	}
}

// startRow takes the row's number, or counts on where it has none.
func (s *cellScanner) startRow(t xml.StartElement) error {
	number := s.row + 1
	if r := attribute(t, "r"); r != "" {
		n, err := strconv.Atoi(r)
		if err != nil || n < 1 || n > maxRows {
			return fmt.Errorf("row number %q, expected 1 to %d", r, maxRows)
		}
		number = n
	}
	if number <= s.row {
		return fmt.Errorf("row %d stands after row %d", number, s.row)
	}
	if number > maxRows {
		return fmt.Errorf("more than %d rows", maxRows)
	}
	s.row = number
	hidden := attribute(t, "hidden")
	s.hidden = hidden == "1" || hidden == "true"
	return nil
}

// readRow reads cells up to the row's end.
func (s *cellScanner) readRow() error {
	s.cells = s.cells[:0]
	column := 0
	for {
		t, err := s.token()
		if err != nil {
			return unexpectedEnd(err)
		}
		switch t := t.(type) {
		case xml.StartElement:
			if t.Name.Local != "c" {
				continue
			}
			at := column + 1
			if ref := attribute(t, "r"); ref != "" {
				row, c, ok := parseCell(ref)
				if !ok || row != s.row {
					return fmt.Errorf("cell reference %q does not fit", ref)
				}
				at = c
			}
			if at <= column || at > maxColumns {
				return fmt.Errorf("cell %s%d is out of order", columnLetters(at), s.row)
			}
			column = at
			cell, err := s.readCell(t)
			if err != nil {
				return fmt.Errorf("cell %s%d: %w", columnLetters(at), s.row, err)
			}
			cell.column = at
			s.cells = append(s.cells, cell)
		case xml.EndElement:
			if t.Name.Local == "row" {
				return nil
			}
		}
	}
}

// readCell reads one cell: how it is stored, and whether a formula has its
// value beside it. A formula whose result is the empty text is stored with
// type str and an empty value; without a value element nothing was computed.
func (s *cellScanner) readCell(start xml.StartElement) (storedCell, error) {
	kind := attribute(start, "t")
	var formula, value strings.Builder
	var hasFormula, hasValue bool
	inside := ""
	depth := len(s.open)
	for {
		t, err := s.token()
		if err != nil {
			return storedCell{}, unexpectedEnd(err)
		}
		switch t := t.(type) {
		case xml.StartElement:
			if len(s.open) == depth+1 {
				inside = t.Name.Local
				hasFormula = hasFormula || inside == "f"
				if inside == "v" {
					if hasValue {
						return storedCell{}, errors.New("two values")
					}
					hasValue = true
				}
			}
		case xml.CharData:
			switch {
			case inside == "f":
				formula.Write(t)
			case inside == "v":
				value.Write(t)
			}
		case xml.EndElement:
			switch len(s.open) {
			case depth:
				inside = ""
			case depth - 1:
				c := storedCell{}
				if hasFormula && (!hasValue || value.Len() == 0 && kind != "str") {
					c.sort, c.formula = uncachedCell, "="+formula.String()
					return c, nil
				}
				return c, c.setSort(kind, value.String())
			}
		}
	}
}

// setSort translates the cell's type.
func (c *storedCell) setSort(kind, value string) error {
	switch kind {
	case "", "n":
		c.sort = numberCell
	case "b":
		c.sort = booleanCell
	case "e":
		c.sort = errorCell
	case "d":
		c.sort = isoDateCell
	case "str", "inlineStr":
		c.sort = textCell
	case "s":
		c.sort = textCell
		value = strings.TrimSpace(value)
		if value == "" {
			return nil
		}
		n, err := strconv.Atoi(value)
		if err != nil || n < 0 {
			return fmt.Errorf("index %q of a shared text", value)
		}
		c.shared, c.index = true, n
	default:
		return fmt.Errorf("unknown type %q of a cell", kind)
	}
	return nil
}

// merge notes one merged area.
func (s *cellScanner) merge(ref string) error {
	from, to, ok := strings.Cut(ref, ":")
	if !ok {
		to = from
	}
	top, left, ok1 := parseCell(from)
	bottom, right, ok2 := parseCell(to)
	if !ok1 || !ok2 || bottom < top || right < left {
		return fmt.Errorf("merged area %q does not fit", ref)
	}
	s.areas = append(s.areas, area{top, left, bottom, right})
	return nil
}

// attribute is the value of an attribute without name space, or "".
func attribute(t xml.StartElement, name string) string {
	for _, a := range t.Attr {
		if a.Name.Local == name && a.Name.Space == "" {
			return a.Value
		}
	}
	return ""
}

// unexpectedEnd turns the end of the file inside an element into a sentence.
func unexpectedEnd(err error) error {
	if errors.Is(err, io.EOF) {
		return errors.New("the sheet is cut short")
	}
	return err
}
