package draft

import (
	"context"
	"iter"
	"slices"
	"strings"
	"unicode"

	"heelcohort/codebook"
	"heelcohort/dataset"
)

// A sheet is one sheet of a data file, held by column.
type sheet struct {
	path, name string // name is "" in a text file
	encoding   string // of a text file
	delimiter  string // of a text file
	header     int    // row of the titles, from 1
	rows       int    // rows of data
	columns    []*column
	notes      []string
	refused    string // why no table is drafted of it; "" where one is
}

// A column is the cells under one title. Equal cells are held once.
type column struct {
	title   string
	at      int  // in the sheet, from 1
	doubled bool // another column has the title too
	seen    []seenCell
	cells   []uint32 // for each row, its cell in seen
	index   map[dataset.GridCell]uint32
}

// A seenCell is a cell with the number of rows that hold it.
type seenCell struct {
	dataset.GridCell
	count int
}

// newColumn is a column of the given cells.
func newColumn(title string, cells ...dataset.GridCell) *column {
	c := &column{title: title, index: map[dataset.GridCell]uint32{}}
	for _, cell := range cells {
		c.add(cell)
	}
	return c
}

// add takes the cell of the next row.
func (c *column) add(cell dataset.GridCell) {
	i, ok := c.index[cell]
	if !ok {
		i = uint32(len(c.seen))
		c.index[cell] = i
		c.seen = append(c.seen, seenCell{GridCell: cell})
	}
	c.seen[i].count++
	c.cells = append(c.cells, i)
}

// A gridRow is a row of a sheet that is kept.
type gridRow struct {
	number int
	cells  []dataset.GridCell
}

// readSheet reads a sheet whole. The error is that of the reading; a sheet
// that is no table has a reason in refused.
func readSheet(ctx context.Context, g *dataset.GridFile, i int) (*sheet, error) {
	s, err := gather(g.File.Path, g.Sheets[i], g.Rows(ctx, i))
	if err != nil {
		return nil, err
	}
	s.encoding, s.delimiter = g.Encoding, g.Delimiter
	return s, nil
}

// gather puts rows into columns once the header is found among the first of
// them.
func gather(path, name string, rows iter.Seq2[dataset.GridRow, error]) (*sheet, error) {
	s := &sheet{path: path, name: name}
	var top []gridRow
	var titles []string
	hidden, repeated := 0, 0
	take := func(row gridRow, isHidden bool) {
		if blankRow(row.cells) {
			return
		}
		if repeats(row.cells, titles) {
			repeated++
		}
		if isHidden {
			hidden++
		}
		s.rows++
		for _, c := range s.columns {
			var cell dataset.GridCell
			if c.at <= len(row.cells) {
				cell = row.cells[c.at-1]
			}
			c.add(cell)
		}
	}
	begin := func() bool {
		at, reason := findHeader(top)
		if reason != "" {
			s.refused = reason
			return false
		}
		s.header = top[at].number
		titles, s.refused = s.title(top[at].cells)
		if s.refused != "" {
			return false
		}
		if at > 0 {
			s.notes = append(s.notes, "rows above the column names are not read")
		}
		for _, row := range top[at+1:] {
			take(row, false)
		}
		return true
	}
	begun := false
	for row, err := range rows {
		if err != nil {
			return nil, err
		}
		switch {
		case begun:
			take(gridRow{row.Number, row.Cells}, row.Hidden)
		case !blankRow(row.Cells):
			top = append(top, gridRow{row.Number, append([]dataset.GridCell(nil), row.Cells...)})
			if len(top) == headerSearch {
				if begun = begin(); !begun {
					return s, nil
				}
			}
		}
	}
	if !begun && !begin() {
		return s, nil
	}
	switch {
	case s.looksHeadless():
		s.refused = noHeader
	case s.looksLikeNotes():
		s.refused = "one column of text: notes and no table"
	}
	if repeated > 0 {
		s.notes = append(s.notes, plural(repeated, "row")+" below it repeat the column names; take them out of the file")
	}
	if hidden > 0 {
		s.notes = append(s.notes, plural(hidden, "row")+" are hidden in the sheet; they are read like all others")
	}
	return s, nil
}

// title makes the columns of the header row.
func (s *sheet) title(cells []dataset.GridCell) (titles []string, refused string) {
	seen := map[string]int{}
	for i, c := range cells {
		title := strings.TrimSpace(c.Text)
		titles = append(titles, title)
		title = codebook.Heading(title) // as the codebook compares them
		switch {
		case c.Stored == dataset.StoredError || c.Stored == dataset.StoredFormula:
			return nil, "a column's name is an error or a formula without a stored value"
		case title == "":
			continue
		}
		col := newColumn(title)
		if seen[title] > 0 {
			col.doubled = true
			s.columns[slices.IndexFunc(s.columns, func(o *column) bool { return o.at == seen[title] })].doubled = true
		} else {
			seen[title] = i + 1
		}
		col.at = i + 1
		s.columns = append(s.columns, col)
	}
	if s.name == "" && len(s.columns) == 1 && strings.ContainsAny(titles[s.columns[0].at-1], ";\t,") {
		return nil, "its one column name holds a semicolon, a tab or a comma; separate the columns by commas in .csv and by tabs in .tsv"
	}
	return titles, ""
}

// around reports whether a character around a title does not count.
func around(r rune) bool {
	return unicode.IsSpace(r) || r >= '\u200b' && r <= '\u200f' || r == '\u2060' || r == '\ufeff'
}

// blankRow reports whether nothing is written in a row.
func blankRow(cells []dataset.GridCell) bool {
	for _, c := range cells {
		if !blank(c) {
			return false
		}
	}
	return true
}

func blank(c dataset.GridCell) bool {
	return c.Stored != dataset.StoredFormula && strings.TrimSpace(c.Text) == ""
}

// repeats reports whether a row holds the titles once more.
func repeats(cells []dataset.GridCell, titles []string) bool {
	for i, title := range titles {
		text := ""
		if i < len(cells) {
			text = strings.TrimSpace(cells[i].Text)
		}
		if text != title {
			return false
		}
	}
	return len(titles) > 0
}
