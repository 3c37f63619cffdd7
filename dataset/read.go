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
	head     *heading
	table    *Table
	findings []Finding
	last     int         // row of the last data, or of the header
	untitled map[int]int // column without a title that holds values: first row
}

// readTable reads a source whole. Dates of the sheet count from 1904 or 1900.
func readTable(ctx context.Context, s rowSource, where Origin, r *codebook.Resource, date1904 bool, p *progress) (*Table, []Finding, error) {
	t := &tableReader{
		where: where, resource: r, date1904: date1904, untitled: make(map[int]int),
		table: &Table{
			Name: r.Name, Label: r.Title, Resource: r, File: where.File, Sheet: where.Sheet, Rows: []int{},
		},
	}
	if t.table.Label == "" {
		t.table.Label = r.Name
	}
	for n := 0; ; n++ {
		if n%checkEvery == 0 {
			if err := ctx.Err(); err != nil {
				return nil, nil, fmt.Errorf("%s: %w", where, err)
			}
			p.report(s)
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
		return nil, nil, t.noHeading()
	}
	t.merged(s.merged())
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

// headerRow is the row of the header, 1 where the codebook names none.
func (t *tableReader) headerRow() int { return max(t.resource.HeaderRow, 1) }

func (t *tableReader) noHeading() error {
	where := t.where
	where.Row = t.headerRow()
	return refuse(where, "empty, expected the names of the columns of table %q", t.resource.Name)
}

// row takes one row of the source.
func (t *tableReader) row(row rawRow) error {
	if row.number < t.headerRow() {
		return nil
	}
	empty := !slices.ContainsFunc(row.cells, func(c rawCell) bool {
		return c.sort == uncachedCell || strings.TrimSpace(c.text) != ""
	})
	if t.head == nil {
		if empty || row.number > t.headerRow() {
			return t.noHeading()
		}
		return t.heading(row)
	}
	if empty {
		return nil
	}
	if row.number > t.last+1 {
		t.emptyRows(t.last+1, row.number-1)
	}
	t.last = row.number + t.extraLines(row)
	t.data(row)
	if cells := t.table.Len() * len(t.table.Columns); cells > maxCells {
		return refuse(t.where, "more than the %d cells that are read of a table", int64(maxCells))
	}
	return nil
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

// heading takes the header row.
func (t *tableReader) heading(row rawRow) error {
	h, titles, err := readHeading(t.where, row, &t.resource.Schema)
	if err != nil {
		return err
	}
	t.head = h
	t.last = row.number + t.extraLines(row)
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
		c.Source = append(c.Source, cell.text)
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
	for n > width && strings.TrimSpace(row.cells[n-1].text) == "" {
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

// cell reads one cell into its column.
func (t *tableReader) cell(f *codebook.Field, c *Column, row int, cell rawCell) {
	text, fault := cellText(f, cell, t.date1904)
	if fault == nil {
		var v value.Value
		if v, fault = f.Parse(text); fault == nil {
			state := Present
			if v.Missing {
				state = Missing
			}
			c.add(v, state)
			return
		}
	}
	c.add(value.Value{}, Invalid)
	where := t.where
	where.Row, where.Column = row, c.Index
	t.findings = append(t.findings, Finding{
		Rule: fault.Rule, Table: t.resource.Name, Variable: f.Name, Where: where,
		Found: cell.text, Expected: fault.Expected, Nearest: fault.Nearest, Message: faultMessage(f, cell, fault),
	})
}

// cellText is the text that the codebook is asked about, or a fault of the
// cell itself.
func cellText(f *codebook.Field, cell rawCell, date1904 bool) (string, *codebook.Fault) {
	switch cell.sort {
	case errorCell:
		return "", &codebook.Fault{Rule: RuleErrorCell, Expected: "a value"}
	case uncachedCell:
		return "", &codebook.Fault{Rule: RuleFormula, Expected: "a formula with its result stored"}
	case isoDateCell:
		if f.Kind() == value.Date {
			return isoDate(cell.text), nil
		}
	case numberCell:
		if f.Kind() == value.Date && cell.text != "" && !declaredMissing(f, cell.text) {
			date, expected := serialDate(cell.text, date1904)
			if expected != "" {
				return "", &codebook.Fault{Rule: RuleDate, Expected: expected}
			}
			return date, nil
		}
	}
	return cell.text, nil
}

// declaredMissing reports whether a number in a date's column is a missing
// code, such as 999, and not a day.
func declaredMissing(f *codebook.Field, text string) bool {
	v, fault := f.Parse(text)
	return fault == nil && v.Missing
}

// faultMessage is the sentence of a cell's fault.
func faultMessage(f *codebook.Field, cell rawCell, fault *codebook.Fault) string {
	switch fault.Rule {
	case RuleErrorCell:
		return fmt.Sprintf("%s: the cell shows the error %s", f.Name, cell.text)
	case RuleFormula:
		return fmt.Sprintf("%s: the formula has no stored result; open the workbook in a spreadsheet program and save it", f.Name)
	}
	found := fmt.Sprintf("found %q", cell.text)
	if cell.text == "" {
		found = "found nothing"
	}
	message := fmt.Sprintf("%s: %s, expected %s", f.Name, found, fault.Expected)
	if fault.Nearest != "" {
		message += fmt.Sprintf(" (did you mean %q?)", fault.Nearest)
	}
	return message
}

// merged makes the covered cells of merged areas invalid: a merged area stores
// one value, and the rest of it would pass for empty.
func (t *tableReader) merged(areas []area) {
	for _, a := range areas {
		if a.bottom <= t.head.row || a.top == a.bottom && a.left == a.right {
			continue
		}
		var hit *Column
		for _, c := range t.table.Columns {
			if c.Index < a.left || c.Index > a.right {
				continue
			}
			i, _ := slices.BinarySearch(t.table.Rows, a.top)
			for ; i < t.table.Len() && t.table.Rows[i] <= a.bottom; i++ {
				if hit == nil {
					hit = c
				}
				if t.table.Rows[i] != a.top || c.Index != a.left {
					c.spoil(i)
				}
			}
		}
		if hit == nil {
			continue
		}
		where := t.where
		where.Row, where.Column = a.top, a.left
		ref := fmt.Sprintf("%s%d:%s%d", columnLetters(a.left), a.top, columnLetters(a.right), a.bottom)
		t.findings = append(t.findings, Finding{
			Rule: RuleMergedCells, Table: t.resource.Name, Variable: hit.Name, Where: where, Found: ref,
			Expected: "one value in each cell",
			Message:  fmt.Sprintf("cells %s are merged into one; all but the first were not used", ref),
		})
	}
}
