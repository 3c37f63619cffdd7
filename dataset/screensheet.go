package dataset

import (
	"maps"
	"slices"

	"heelcohort/codebook/identifier"
)

// A sheetScreen screens the cells of a sheet that no field is for: the rows
// above the header, and the columns that the codebook does not know.
type sheetScreen struct {
	row1904 bool
	head    int    // row of the header, 0 before it
	known   []bool // columns that fields are for
	titles  []string
	columns map[int]*identifier.Column // by column from 0
	upper   map[int]*identifier.Column // the same of the rows above the header
}

// above takes a row above the header.
func (s *sheetScreen) above(row rawRow) {
	for i, cell := range row.cells {
		if !cell.empty() {
			s.cell(&s.upper, i, "", row.number, cell)
		}
	}
}

// heading takes the header row.
func (s *sheetScreen) heading(h *heading, titles []string, date1904 bool) {
	s.head, s.known, s.titles, s.row1904 = h.row, h.known, titles, date1904
}

// row takes a row of data.
func (s *sheetScreen) row(row rawRow) {
	for i, cell := range row.cells {
		if i < len(s.known) && s.known[i] || cell.empty() {
			continue
		}
		title := ""
		if i < len(s.titles) {
			title = s.titles[i]
		}
		s.cell(&s.columns, i, title, row.number, cell)
	}
}

// cell gives one cell to the screen of its column.
func (s *sheetScreen) cell(columns *map[int]*identifier.Column, i int, title string, row int, cell rawCell) {
	c := (*columns)[i]
	if c == nil {
		if *columns == nil {
			*columns = make(map[int]*identifier.Column)
		}
		about := identifier.About{}
		if title != "" {
			about.Titles = []string{title}
		}
		c = identifier.NewColumn(about)
		(*columns)[i] = c
	}
	switch cell.sort {
	case textCell:
		c.Text(row, cell.text)
	case booleanCell:
		c.Known(1)
	case isoDateCell:
		if day, ok := isoDay(cell.text, true); ok {
			c.Day(row, int(day))
			return
		}
		c.Text(row, cell.text)
	case numberCell:
		if cell.format == dateFormat {
			if day, expected := serialDay(cell.text, s.row1904, true); expected == "" {
				c.Day(row, int(day))
				return
			}
		}
		c.Number(row, cell.text)
	}
}

// byIndex lists columns from left to right.
func byIndex(columns map[int]*identifier.Column) []int {
	return slices.Sorted(maps.Keys(columns))
}

// title is the title of a column from 0, or "".
func (s *sheetScreen) title(i int) string {
	if i < len(s.titles) {
		return s.titles[i]
	}
	return ""
}
