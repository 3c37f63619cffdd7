package report

import (
	"slices"
	"strings"

	"heelcohort/cmd/heelcohort/internal/result"
)

// A Sheet is one table, ready to be shown on the page or written to the
// workbook. The first cell of a row is its heading.
type Sheet struct {
	ID      string // unique in the report: "table-2", "table-2-model"
	Title   string
	Columns []Column
	Rows    []SheetRow
	Notes   []Note
}

// A Column is one column. Neighbours with the same Group stand under one
// heading.
type Column struct {
	Group string
	Label string
	Text  bool // left aligned and wrapped
}

// A SheetRow is one row; a Section row is a heading over the rows below it and
// has one cell.
type SheetRow struct {
	Section bool
	Cells   []Cell
}

// A Cell is text in pieces, each traced to the result row it was made from.
type Cell struct {
	Pieces []Piece
	Value  result.Number // of a single count or amount; absent for other cells
	Marks  []string      // of footnotes
	Indent bool
}

// A Piece is a text and the address of its result row, "" for words.
type Piece struct {
	Text string
	Row  string
}

// A Note stands below a sheet; Mark is its footnote sign or "".
type Note struct {
	Mark   string
	Pieces []Piece
}

// words is a cell of plain text.
func words(text string) Cell {
	if text == "" {
		text = dash
	}
	return Cell{Pieces: []Piece{{Text: text}}, Value: result.None()}
}

// indented is the heading of a row below a section.
func indented(text string) Cell {
	c := words(text)
	c.Indent = true
	return c
}

// number is a cell that holds one count or amount of row r.
func number(r *result.Row, value result.Number, format func(float64) string) Cell {
	if r == nil || !value.Present() {
		return words(dash)
	}
	return Cell{Pieces: []Piece{{Text: format(float64(value)), Row: r.ID}}, Value: value}
}

// whole is a cell that holds a whole number without a result row.
func whole(n int) Cell {
	return Cell{Pieces: []Piece{{Text: count(float64(n))}}, Value: result.Number(n)}
}

// A placedCell is a cell that knows its sheet, for links to footnotes.
type placedCell struct {
	Cell
	Sheet string
}

// WithSheet is the cell within the sheet with the given id.
func (c Cell) WithSheet(id string) placedCell { return placedCell{c, id} }

// Text is the cell as it reads, without footnote signs.
func (c Cell) Text() string {
	return textOf(c.Pieces)
}

// textOf joins pieces.
func textOf(pieces []Piece) string {
	var b strings.Builder
	for _, p := range pieces {
		b.WriteString(p.Text)
	}
	return b.String()
}

// section is a heading row.
func section(text string) SheetRow {
	return SheetRow{Section: true, Cells: []Cell{words(text)}}
}

// A HeadCell is one cell of a sheet's head.
type HeadCell struct {
	Label            string
	ColSpan, RowSpan int
	Text             bool
}

// Head is the head of the sheet: two rows when columns stand in groups, else
// one.
func (s Sheet) Head() [][]HeadCell {
	grouped := false
	for _, c := range s.Columns {
		grouped = grouped || c.Group != ""
	}
	var top, below []HeadCell
	for i := 0; i < len(s.Columns); {
		c := s.Columns[i]
		cell := HeadCell{Label: c.Label, ColSpan: 1, RowSpan: 1, Text: c.Text}
		if c.Group == "" {
			if grouped {
				cell.RowSpan = 2
			}
			top = append(top, cell)
			i++
			continue
		}
		first := i
		for ; i < len(s.Columns) && s.Columns[i].Group == c.Group; i++ {
			below = append(below, HeadCell{Label: s.Columns[i].Label, ColSpan: 1, RowSpan: 1, Text: s.Columns[i].Text})
		}
		top = append(top, HeadCell{Label: c.Group, ColSpan: i - first, RowSpan: 1})
	}
	if !grouped {
		return [][]HeadCell{top}
	}
	return [][]HeadCell{top, below}
}

// Wide reports whether the sheet wants a landscape page.
func (s Sheet) Wide() bool { return len(s.Columns) > 7 }

// markName is the sign of footnote i: a to z, then aa, ab and so on.
func markName(i int) string {
	name := ""
	for i++; i > 0; i /= 26 {
		i--
		name = string(rune('a'+i%26)) + name
	}
	return name
}

// compareMarks puts z before aa.
func compareMarks(a, b string) int {
	if len(a) != len(b) {
		return len(a) - len(b)
	}
	return strings.Compare(a, b)
}

// A sheetBuilder fills a sheet and keeps its footnotes.
type sheetBuilder struct {
	Sheet
	marks map[string]string // sign by text
}

// newSheet begins a sheet.
func newSheet(id, title string) *sheetBuilder {
	return &sheetBuilder{Sheet: Sheet{ID: id, Title: title}, marks: map[string]string{}}
}

// mark is the sign of the footnote with the given text.
func (b *sheetBuilder) mark(text string) string {
	if sign, ok := b.marks[text]; ok {
		return sign
	}
	sign := markName(len(b.marks))
	b.marks[text] = sign
	b.Notes = append(b.Notes, Note{Mark: sign, Pieces: []Piece{{Text: text}}})
	return sign
}

// add adds a row below the heading.
func (b *sheetBuilder) add(cells ...Cell) {
	b.Rows = append(b.Rows, SheetRow{Cells: cells})
}

// done is the sheet with the other notes after its footnotes.
func (b *sheetBuilder) done(notes ...Note) Sheet {
	for _, n := range notes {
		if len(n.Pieces) > 0 {
			b.Notes = append(b.Notes, n)
		}
	}
	for _, row := range b.Rows {
		for _, c := range row.Cells {
			slices.SortFunc(c.Marks, compareMarks)
		}
	}
	for _, row := range b.Rows {
		for _, c := range row.Cells {
			if strings.Contains(c.Text(), infinity) {
				b.Notes = append(b.Notes, plainNote(infinity+": the data set no limit on this side."))
				return b.Sheet
			}
		}
	}
	return b.Sheet
}

// plainNote is a note of words.
func plainNote(text string) Note { return Note{Pieces: []Piece{{Text: text}}} }

// pad fills the row up to the width with dashes.
func (b *sheetBuilder) pad(cells []Cell) []Cell {
	for len(cells) < len(b.Columns) {
		cells = append(cells, words(dash))
	}
	return cells
}
