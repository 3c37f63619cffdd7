package dataset

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"heelcohort/codebook"
	"heelcohort/codebook/value"
)

// A tableReader turns the rows of one source into a table and its findings.
type tableReader struct {
	where    Origin
	resource *codebook.Resource
	date1904 bool
	source   rowSource
	firstRow int // of the source; 2 where the first line names the separator
	header   *headerReader
	head     *heading // nil before the header is whole
	table    *Table
	findings []Finding
	last     int         // row of the last data, or of the header
	untitled map[int]int // column without a title that holds values: first row
	hidden   int         // rows of data that the sheet hides
	hiddenAt int         // the first of them
	screen   sheetScreen // of cells that no field is for
}

// readTable reads a source whole. Dates of the sheet count from 1904 or 1900.
func readTable(ctx context.Context, s rowSource, where Origin, r *codebook.Resource, date1904 bool, p *progress) (*Table, []Finding, error) {
	t := &tableReader{
		where: where, resource: r, date1904: date1904, source: s, untitled: make(map[int]int),
		table: &Table{
			Name: r.Name, Label: r.Title, Resource: r, File: where.File, Sheet: where.Sheet, Rows: []int{},
		},
	}
	if text, ok := s.(*textSource); ok {
		t.firstRow = text.firstRow()
	}
	t.header = newHeaderReader(where, r, date1904, t.firstRow)
	if t.table.Label == "" {
		t.table.Label = r.Name
	}
	for n := 0; ; n++ {
		if n%checkEvery == 0 {
			if err := ctx.Err(); err != nil {
				return nil, nil, fmt.Errorf("%s: %w", where, err)
			}
			p.report(s)
			if err := boundFindings(t.findings); err != nil {
				return nil, nil, err
			}
			if n == checkEvery {
				t.reserve(s)
			}
		}
		row, err := s.next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, nil, err
		}
		if err := t.row(row); err != nil {
			return nil, nil, err
		}
	}
	if t.head == nil {
		return nil, nil, t.header.missing()
	}
	for _, c := range t.table.Columns {
		c.filled()
	}
	if p.screens != nil {
		p.screens[r] = &t.screen
	}
	t.merged(s.merged())
	t.hiddenRows()
	for column, row := range t.untitled {
		t.findings = append(t.findings, untitled(where, t.head, r, column, row))
	}
	slices.SortStableFunc(t.findings, func(a, b Finding) int {
		if c := a.Where.compare(b.Where); c != 0 {
			return c
		}
		return strings.Compare(a.Rule, b.Rule)
	})
	if p.tell != nil && where.Sheet == "" {
		p.finish(s)
	}
	return t.table, t.findings, nil
}

// row takes one row of the source.
func (t *tableReader) row(row rawRow) error {
	if row.number < max(t.resource.HeaderRow, t.firstRow, 1) {
		t.screen.above(row)
		return nil
	}
	empty := !slices.ContainsFunc(row.cells, func(c rawCell) bool {
		return c.sort == uncachedCell || codebook.Bare(c.text) != ""
	})
	if t.head == nil {
		if whole, err := t.header.row(row, empty, t.extraLines(row)); !whole || err != nil {
			return err
		}
		t.last = row.number + t.extraLines(row)
		return t.heading()
	}
	if empty {
		return nil
	}
	if row.number > t.last+1 {
		t.emptyRows(t.last+1, row.number-1)
	}
	t.last = row.number + t.extraLines(row)
	t.data(row)
	return t.tooLarge()
}

// tooLarge refuses a table that is larger than what is read.
func (t *tableReader) tooLarge() error {
	if cells := t.table.Len() * len(t.table.Columns); cells > maxCells {
		return refuse(t.where, "more than the %d cells that are read of a table", int64(maxCells))
	}
	bytes := 0
	for _, c := range t.table.Columns {
		bytes += len(c.source.data) + c.held
	}
	if bytes > maxTextBytes {
		return refuse(t.where, "more than the %d bytes of text that are read of a table", int64(maxTextBytes))
	}
	return nil
}

// reserve makes room for as many rows as the source seems to have, so that
// columns need not be copied while they grow.
func (t *tableReader) reserve(s rowSource) {
	n, total := s.done()
	if n <= 0 || t.table.Len() == 0 {
		return
	}
	rows := int(float64(t.table.Len())*float64(total)/float64(n)*1.02) + 100
	rows = min(rows, maxCells/len(t.table.Columns), maxRows)
	t.table.Rows = slices.Grow(t.table.Rows, max(0, rows-t.table.Len()))
	for _, c := range t.table.Columns {
		c.reserve(rows)
	}
}

// extraLines is the number of lines that a text record takes beyond its first.
func (t *tableReader) extraLines(row rawRow) int {
	if t.where.Sheet != "" {
		return 0
	}
	n := 0
	for _, c := range row.cells {
		n += strings.Count(c.text, "\n")
	}
	return n
}

// heading takes the header once it is whole.
func (t *tableReader) heading() error {
	var areas []area
	if ahead, ok := t.source.(mergedAhead); ok && len(t.resource.HeaderRows) > 1 {
		var err error
		if areas, err = ahead.mergedAhead(); err != nil {
			return err
		}
	}
	titles, err := t.header.titles(areas)
	if err != nil {
		return err
	}
	where := t.where
	where.Row = t.header.last()
	h, err := readHeading(where, titles, &t.resource.Schema)
	if err != nil {
		return t.elsewhere(err)
	}
	t.head = h
	t.screen.heading(h, titles, t.date1904)
	t.findings = append(t.findings, undeclared(t.where, h, titles, t.resource)...)
	for i, f := range t.resource.Schema.Fields {
		t.table.Columns = append(t.table.Columns, fieldColumn(f, h.columns[i]+1))
	}
	return nil
}

// emptyRows warns of empty rows with data after them.
func (t *tableReader) emptyRows(from, to int) {
	where := t.where
	where.Row = from
	message := "the row is empty and was left out"
	if to > from {
		message = fmt.Sprintf("rows %d to %d are empty and were left out", from, to)
	}
	t.findings = append(t.findings, Finding{
		Rule: RuleEmptyRow, Severity: Warning, Table: t.resource.Name, Where: where, Expected: "data", Message: message,
	})
}

// data takes a row of values.
func (t *tableReader) data(row rawRow) {
	t.table.Rows = append(t.table.Rows, row.number)
	t.screen.row(row)
	if row.hidden {
		if t.hidden == 0 {
			t.hiddenAt = row.number
		}
		t.hidden++
	}
	width := len(t.head.titled)
	for i, c := range row.cells {
		if (i >= width || !t.head.titled[i]) && t.where.Sheet != "" && !c.empty() {
			t.noteUntitled(i+1, row.number)
		}
	}
	ragged := t.where.Sheet == "" && t.ragged(row, width)
	for i, f := range t.resource.Schema.Fields {
		c := t.table.Columns[i]
		var cell rawCell
		if at := t.head.columns[i]; at < len(row.cells) {
			cell = row.cells[at]
		}
		if ragged {
			c.add(value.Value{}, Invalid)
		} else {
			t.cell(f, c, row.number, cell)
		}
		c.addSource(cell.text)
	}
}

func (t *tableReader) noteUntitled(column, row int) {
	if _, ok := t.untitled[column]; !ok {
		t.untitled[column] = row
	}
}

// ragged reports, with a finding, a record that does not fit the head. Empty
// cells past the head's end are harmless.
func (t *tableReader) ragged(row rawRow, width int) bool {
	n := len(row.cells)
	for n > width && codebook.Bare(row.cells[n-1].text) == "" {
		n--
	}
	if n == width {
		for i := range width {
			if !t.head.titled[i] && !row.cells[i].empty() {
				t.noteUntitled(i+1, row.number)
			}
		}
		return false
	}
	where := t.where
	where.Row = row.number
	t.findings = append(t.findings, Finding{
		Rule: RuleRowLength, Table: t.resource.Name, Where: where,
		Found: fmt.Sprintf("%d cells", n), Expected: fmt.Sprintf("%d cells", width),
		Message: fmt.Sprintf("the line has %d cells, expected the %d of the head; none of them was used", n, width),
	})
	return true
}

// hiddenRows warns of rows that are read but not seen in the sheet, left over
// from a filter perhaps: who counts on the screen gets another number.
func (t *tableReader) hiddenRows() {
	if t.hidden == 0 {
		return
	}
	where := t.where
	where.Row = t.hiddenAt
	t.findings = append(t.findings, Finding{
		Rule: RuleHiddenRows, Severity: Warning, Table: t.resource.Name, Where: where,
		Found: fmt.Sprint(t.hidden), Expected: "no hidden rows",
		Message: fmt.Sprintf("%d rows with data are hidden in the sheet, the first is row %d; they were read like all others", t.hidden, t.hiddenAt),
	})
}
