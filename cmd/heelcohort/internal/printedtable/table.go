package printedtable

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"unicode"

	"heelcohort/dataset"
)

// A Cell is one cell that holds something.
type Cell struct {
	Where  dataset.Origin
	Text   string // as printed
	Stored bool   // a number that a workbook stores: its printed decimals are not known
}

// A Table is one printed table: a sheet, or a text file.
type Table struct {
	Sheet string // "" of a text file
	Cells []Cell // by row, then column
	Style Style

	at    map[[2]int]int
	read  []reading // of each cell
	first int       // the first row below the headings
}

// A reading is what was read in a cell, or why it was not.
type reading struct {
	content Content
	err     error
}

// A File is a file of printed tables.
type File struct {
	Name   string
	SHA256 string
	Tables []*Table
}

// Read reads a file of printed tables. A style that is not pinned is detected,
// table by table.
func Read(ctx context.Context, path string, style Style) (*File, error) {
	dir, name := filepath.Split(path)
	if dir == "" {
		dir = "."
	}
	g, err := dataset.OpenGrid(dir, name)
	if err != nil {
		return nil, err
	}
	f := &File{Name: name, SHA256: g.File.SHA256}
	for i, sheet := range g.Sheets {
		t := &Table{Sheet: sheet, Style: style, at: map[[2]int]int{}}
		if err = t.take(ctx, g, i, name); err != nil {
			break
		}
		if len(t.Cells) > 0 {
			f.Tables = append(f.Tables, t)
		}
	}
	if err = errors.Join(err, g.Close()); err != nil {
		return nil, err
	}
	if len(f.Tables) == 0 {
		return nil, fmt.Errorf("%s: found no cell with content, expected a printed table", name)
	}
	for _, t := range f.Tables {
		if t.Style == Detect {
			if t.Style, err = detect(t.Cells); err != nil {
				return nil, err
			}
		}
		for _, c := range t.Cells {
			content, err := t.parse(c)
			t.read = append(t.read, reading{content, err})
		}
		t.first = t.body()
	}
	return f, nil
}

func (t *Table) take(ctx context.Context, g *dataset.GridFile, sheet int, name string) error {
	for row, err := range g.Rows(ctx, sheet) {
		if err != nil {
			return err
		}
		for i, c := range row.Cells {
			text := strings.TrimFunc(c.Text, unicode.IsSpace)
			if c.Empty() || text == "" {
				continue
			}
			cell := Cell{Where: dataset.Origin{File: name, Sheet: t.Sheet, Row: row.Number, Column: i + 1}, Text: text}
			switch {
			case c.Stored == dataset.StoredNumber && c.Shown == dataset.ShownDate || c.Stored == dataset.StoredDate:
				return fmt.Errorf("%s: found a day, expected text: a workbook made a day of what was printed there", cell.Where)
			case c.Stored == dataset.StoredNumber && c.Shown == dataset.ShownPercent:
				return fmt.Errorf("%s: found the number %s shown as a percentage, expected text: a workbook does not keep the decimals that were printed", cell.Where, text)
			case c.Stored == dataset.StoredError || c.Stored == dataset.StoredFormula:
				return fmt.Errorf("%s: found %q, expected the text that was printed", cell.Where, text)
			case c.Stored == dataset.StoredNumber:
				cell.Stored = true
			}
			t.at[[2]int{row.Number, i + 1}] = len(t.Cells)
			t.Cells = append(t.Cells, cell)
		}
	}
	return nil
}

// At is the cell of a row and a column.
func (t *Table) At(row, column int) (Cell, bool) {
	i, ok := t.at[[2]int{row, column}]
	if !ok {
		return Cell{}, false
	}
	return t.Cells[i], true
}

// Parse gives the numbers of a cell of this table.
func (t *Table) Parse(c Cell) (Content, error) {
	i, ok := t.at[[2]int{c.Where.Row, c.Where.Column}]
	if !ok {
		return Content{Form: Nothing}, nil
	}
	return t.read[i].content, t.read[i].err
}

func (t *Table) parse(c Cell) (Content, error) {
	if c.Stored {
		return parseStored(c.Text)
	}
	return Parse(c.Text, t.Style)
}

// Table is the table of a sheet, or the file's only one for "".
func (f *File) Table(sheet string) (*Table, bool) {
	if sheet == "" && len(f.Tables) == 1 {
		return f.Tables[0], true
	}
	for _, t := range f.Tables {
		if t.Sheet == sheet {
			return t, true
		}
	}
	return nil, false
}
