package printedtable

import "strings"

// A Heading is what a table says of a cell: texts of its row, of the line above
// that heads its rows, and above its column.
type Heading struct {
	Row     []string
	Section string
	Column  []string // from the top
}

// All are the heading's texts in one.
func (h Heading) All() string {
	return strings.Join(append(append([]string{h.Section}, h.Row...), h.Column...), " ")
}

// body is the first row with a label and a number beside it; what stands above
// heads the columns.
func (t *Table) body() int {
	labelled := 0 // row of the last label
	for i, c := range t.Cells {
		content, err := t.read[i].content, t.read[i].err
		if content.Form == Words && err == nil {
			labelled = c.Where.Row
			continue
		}
		if (len(content.Numbers) > 0 || err != nil) && labelled == c.Where.Row && c.Where.Column > 1 && !t.heads(c) {
			return c.Where.Row
		}
	}
	return 1
}

// heads reports whether a cell with a number stands in a line of headings: all
// other cells of its row but the first are words too.
func (t *Table) heads(c Cell) bool {
	words := 0
	for i, other := range t.Cells {
		if other.Where.Row == c.Where.Row && other.Where.Column > 1 {
			content, err := t.read[i].content, t.read[i].err
			if err != nil || len(content.Numbers) > 0 {
				words--
			} else if content.Form == Words {
				words++
			}
		}
	}
	return words > 0
}

// Body are the cells below the headings that hold numbers, with what was read;
// of a cell that could not be read there is no content. A number in the first
// column heads its row where others follow.
func (t *Table) Body() (cells []Cell, contents []Content) {
	first, leftmost := t.first, 0
	for _, c := range t.Cells {
		if leftmost == 0 || c.Where.Column < leftmost {
			leftmost = c.Where.Column
		}
	}
	for i, c := range t.Cells {
		if c.Where.Row < first || c.Where.Column == leftmost && i+1 < len(t.Cells) && t.Cells[i+1].Where.Row == c.Where.Row {
			continue
		}
		if content, err := t.read[i].content, t.read[i].err; err != nil || len(content.Numbers) > 0 {
			cells, contents = append(cells, c), append(contents, content)
		}
	}
	return cells, contents
}

// Heading finds what the table says of a cell.
func (t *Table) Heading(c Cell) Heading {
	var h Heading
	first := t.first
	type line struct {
		label   string
		numbers bool
	}
	rows := map[int]*line{}
	above := map[int]string{} // by row: the text over this column, or over one to its left
	own := map[int]bool{}
	last := 0
	for i, other := range t.Cells {
		w := other.Where
		content, err := t.read[i].content, t.read[i].err
		isNumber := len(content.Numbers) > 0 || err != nil
		if rows[w.Row] == nil {
			rows[w.Row] = &line{}
		}
		switch {
		case w.Row < first:
			if w.Column <= c.Where.Column && w.Column > 1 {
				above[w.Row], own[w.Row] = other.Text, w.Column == c.Where.Column
			}
			last = max(last, w.Row)
		case isNumber:
			rows[w.Row].numbers = true
		case content.Form == Words && rows[w.Row].label == "":
			rows[w.Row].label = other.Text
		}
		if w.Row == c.Where.Row && w.Column < c.Where.Column && content.Form == Words {
			h.Row = append(h.Row, other.Text)
		}
	}
	for row := c.Where.Row - 1; row >= first; row-- {
		if l := rows[row]; l != nil && !l.numbers && l.label != "" {
			h.Section = l.label
			break
		}
	}
	for row := 1; row < first; row++ {
		if text, ok := above[row]; ok && (own[row] || row < last) {
			h.Column = append(h.Column, text)
		}
	}
	return h
}
