package dataset

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"heelcohort/codebook"
	"heelcohort/codebook/value"
	"heelcohort/dataset/ooxml"
)

// A headerReader gathers the rows of a header and makes a title of each
// column.
type headerReader struct {
	where    Origin
	resource *codebook.Resource
	date1904 bool
	rows     []rawRow
	expected int // number of the next row
}

// A mergedAhead source knows its merged areas before its rows are read to the
// end. A header over several rows needs them.
type mergedAhead interface{ mergedAhead() ([]area, error) }

// newHeaderReader begins at the row that the codebook says, or at the first of
// the source.
func newHeaderReader(where Origin, r *codebook.Resource, date1904 bool, first int) *headerReader {
	return &headerReader{where: where, resource: r, date1904: date1904, expected: max(r.HeaderRow, first, 1)}
}

// missing refuses a table whose header has an empty row.
func (h *headerReader) missing() error {
	where := h.where
	where.Row = h.expected
	return refuse(where, "empty, expected the names of the columns of table %q", h.resource.Name)
}

// row takes the next row of the file and reports whether the header is whole.
func (h *headerReader) row(row rawRow, empty bool, extraLines int) (whole bool, err error) {
	if empty || row.number != h.expected {
		return false, h.missing()
	}
	row.cells = slices.Clone(row.cells)
	h.rows = append(h.rows, row)
	h.expected += 1 + extraLines
	return len(h.rows) >= len(h.resource.HeaderRows), nil
}

// last is the number of the header's last row.
func (h *headerReader) last() int { return h.rows[len(h.rows)-1].number }

// titles are the names of the columns. A name over several rows is made of its
// parts that are not empty, from above; a part that is merged over several
// columns is part of each.
func (h *headerReader) titles(areas []area) ([]string, error) {
	width := 0
	for _, row := range h.rows {
		width = max(width, len(row.cells))
	}
	for _, f := range h.resource.Schema.Fields {
		_, column, ok := ooxml.ParseCell(f.Column + "1")
		for _, a := range areas {
			if ok && a.left <= column && column <= a.right && a.top >= h.rows[0].number && a.top <= h.last() {
				width = max(width, column)
			}
		}
	}
	titles := make([]string, width)
	parts := make([][]string, width)
	for _, row := range h.rows {
		texts := make([]string, width)
		for i, c := range row.cells {
			where := h.where
			where.Row, where.Column = row.number, i+1
			switch c.sort {
			case errorCell:
				return nil, refuse(where, "error value %s where a column's name should be", c.text)
			case uncachedCell:
				return nil, refuse(where, "a formula without a stored value where a column's name should be")
			}
			texts[i] = titleText(c, h.date1904)
		}
		if len(h.rows) > 1 {
			for _, a := range areas {
				for i := a.left; i < min(a.right, width) && a.top == row.number; i++ {
					texts[i] = texts[a.left-1]
				}
			}
		}
		for i, text := range texts {
			if text != "" {
				parts[i] = append(parts[i], text)
			}
		}
	}
	for i := range titles {
		titles[i] = codebook.Heading(strings.Join(parts[i], h.resource.HeaderJoin))
	}
	return titles, nil
}

// mostTitleRows is how many rows below a row without the columns are looked at
// for a row that has them.
const mostTitleRows = 20

// elsewhere adds to the refusal of a header of one row where the columns are,
// if that is a row below it.
func (t *tableReader) elsewhere(err error) error {
	var e *ReadError
	if len(t.resource.HeaderRows) > 1 || !errors.As(err, &e) {
		return err
	}
	for range mostTitleRows {
		row, end := t.source.next()
		if end != nil {
			break
		}
		h := newHeaderReader(t.where, t.resource, t.date1904, t.firstRow)
		h.rows = []rawRow{row}
		titles, bad := h.titles(nil)
		if bad != nil {
			continue
		}
		if _, bad = readHeading(t.where, titles, &t.resource.Schema); bad == nil {
			e.Message += fmt.Sprintf("; row %d has them all: heelcohort.header_row or dialect.headerRows names it", row.number)
			e.Nearest = ""
			break
		}
	}
	return err
}

// titleText is a cell's text as a title. A number that the sheet shows as a
// date is the day.
func titleText(c rawCell, date1904 bool) string {
	switch {
	case c.sort == numberCell && c.format == dateFormat:
		if days, expected := serialDay(c.text, date1904, false); expected == "" {
			return value.Day(days).String()
		}
	case c.sort == isoDateCell:
		if days, ok := isoDay(c.text, false); ok {
			return value.Day(days).String()
		}
	}
	return codebook.Heading(c.text)
}
