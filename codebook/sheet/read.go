package sheet

import (
	"fmt"
	"strings"

	"heelcohort/codebook/document"
)

// Read turns the sheets of a workbook into a codebook's document. The name of
// the file is used in messages. Every fault is an *document.Error at its cell;
// several come together as document.Errors. The sheets study, tables and
// variables must be there; a sheet without a name here must be empty.
func Read(file string, sheets []Sheet) (*document.Node, error) {
	r := &reader{file: file, root: &document.Node{Kind: document.Map, Position: document.Position{File: file}}}
	byName := r.sheets(sheets)
	if len(r.faults) == 0 {
		r.study(byName[studySheet])
		for _, l := range layouts {
			if s := byName[l.name]; s != nil {
				r.rows(s, l)
			}
			if len(r.faults) > 0 && (l == &tables || l == &variables) {
				break // what hangs on them would seem to be at fault too
			}
		}
	}
	if err := document.Join(r.faults...); err != nil {
		return nil, err
	}
	sorted(r.root)
	return r.root, nil
}

type reader struct {
	file   string
	root   *document.Node
	faults []error
}

// cell is the position of a cell; column 0 is the whole sheet.
func (r *reader) cell(sheet string, row, column int) document.Position {
	p := fmt.Sprintf("%s, sheet %q", r.file, sheet)
	if column > 0 {
		p += ", " + letters(column) + fmt.Sprint(row)
	}
	return document.Position{File: p}
}

func letters(column int) string {
	text := ""
	for ; column > 0; column = (column - 1) / 26 {
		text = string(rune('A'+(column-1)%26)) + text
	}
	return text
}

func (r *reader) refuse(p document.Position, nearest, format string, args ...any) {
	r.faults = append(r.faults, (&document.Node{}).ErrorAt(p, nearest, format, args...))
}

// sheets finds the sheets by their names.
func (r *reader) sheets(all []Sheet) map[string]*Sheet {
	names := []string{ReadMe, studySheet}
	for _, l := range layouts {
		names = append(names, l.name)
	}
	found := map[string]*Sheet{}
	for i := range all {
		s := &all[i]
		name := plainWords(s.Name)
		switch {
		case found[name] != nil:
			r.refuse(r.cell(s.Name, 0, 0), "", "the sheet %s stands twice", name)
		case contains(names, name):
			found[name] = s
		case len(filled(s)) > 0:
			r.refuse(r.cell(s.Name, 0, 0), document.Nearest(name, names), "unknown sheet, expected one of %s", strings.Join(names, ", "))
		}
	}
	for _, name := range []string{studySheet, tableSheet, variableSheet} {
		if found[name] == nil {
			r.refuse(document.Position{File: r.file}, "", "the sheet %q is missing", name)
		}
	}
	return found
}

// plainWords is a heading in small letters with single blanks.
func plainWords(text string) string {
	return strings.Join(strings.Fields(strings.ToLower(strings.ReplaceAll(text, "_", " "))), " ")
}

// filled lists the rows that are not blank.
func filled(s *Sheet) []Row {
	var rows []Row
	for _, row := range s.Rows {
		for _, c := range row.Cells {
			if strings.TrimSpace(c.Text) != "" {
				rows = append(rows, row)
				break
			}
		}
	}
	return rows
}

// A record is one row under its headings.
type record struct {
	reader *reader
	sheet  string
	row    Row
	column map[string]int // by heading, from 1
}

// records reads the headings of a sheet and gives its rows. Each heading must
// be known and stand once; those of need must be there.
func (r *reader) records(s *Sheet, headings, need []string, alias map[string]string) []record {
	rows := filled(s)
	if len(rows) == 0 {
		r.refuse(r.cell(s.Name, 0, 0), "", "the sheet has no headings, expected %s", strings.Join(headings, ", "))
		return nil
	}
	column, sound := map[string]int{}, true
	for i, c := range rows[0].Cells {
		p, word := r.cell(s.Name, rows[0].Number, i+1), plainWords(c.Text)
		switch {
		case word == "":
			for _, row := range rows[1:] {
				if i < len(row.Cells) && strings.TrimSpace(row.Cells[i].Text) != "" {
					r.refuse(r.cell(s.Name, row.Number, i+1), "", "found %q in a column without a heading", strings.TrimSpace(row.Cells[i].Text))
					break
				}
			}
		case !contains(headings, word):
			nearest := document.Nearest(word, headings)
			if other := alias[strings.TrimSpace(c.Text)]; other != "" {
				nearest = other
			}
			r.refuse(p, nearest, "unknown heading %q, expected one of %s", strings.TrimSpace(c.Text), strings.Join(headings, ", "))
			sound = false
		case column[word] > 0:
			r.refuse(p, "", "the heading %q stands twice, first in column %s", word, letters(column[word]))
			sound = false
		default:
			column[word] = i + 1
		}
	}
	for _, h := range need {
		if column[h] == 0 {
			r.refuse(r.cell(s.Name, rows[0].Number, 0), "", "the heading %q is missing", h)
			sound = false
		}
	}
	if !sound {
		return nil
	}
	var records []record
	for _, row := range rows[1:] {
		for i := len(rows[0].Cells); i < len(row.Cells); i++ {
			if strings.TrimSpace(row.Cells[i].Text) != "" {
				r.refuse(r.cell(s.Name, row.Number, i+1), "", "found %q in a column without a heading", strings.TrimSpace(row.Cells[i].Text))
			}
		}
		records = append(records, record{r, s.Name, row, column})
	}
	return records
}

// cell is the cell under a heading, its blanks dropped.
func (d *record) cell(heading string) (Cell, document.Position) {
	at := d.column[heading]
	if at == 0 {
		return Cell{}, d.place()
	}
	p := d.reader.cell(d.sheet, d.row.Number, at)
	if at > len(d.row.Cells) {
		return Cell{}, p
	}
	c := d.row.Cells[at-1]
	c.Text = strings.TrimSpace(c.Text)
	return c, p
}

// place is the row's first filled cell.
func (d *record) place() document.Position {
	for i, c := range d.row.Cells {
		if strings.TrimSpace(c.Text) != "" {
			return d.reader.cell(d.sheet, d.row.Number, i+1)
		}
	}
	return d.reader.cell(d.sheet, d.row.Number, 1)
}

// study reads the properties of the codebook itself.
func (r *reader) study(s *Sheet) {
	var words []string
	for _, c := range study {
		words = append(words, c.heading)
	}
	words = append(words, furtherHeading)
	for _, d := range r.records(s, []string{propertyHeading, valueHeading}, []string{propertyHeading, valueHeading}, nil) {
		named, at := d.cell(propertyHeading)
		value, p := d.cell(valueHeading)
		word := plainWords(named.Text)
		if word == furtherHeading {
			r.further(r.root, value, p)
			continue
		}
		known := false
		for i := range study {
			if c := &study[i]; c.heading == word {
				known = true
				r.property(r.root, c, value, p, "")
			}
		}
		if !known {
			nearest := document.Nearest(word, words)
			for _, c := range study {
				if c.path[0] == named.Text {
					nearest = c.heading
				}
			}
			r.refuse(at, nearest, "unknown property %q, expected one of %s", named.Text, strings.Join(words, ", "))
		}
	}
}
