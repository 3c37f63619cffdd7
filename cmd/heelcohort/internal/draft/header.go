package draft

import (
	"regexp"
	"strings"

	"heelcohort/dataset"
)

// headerSearch is the number of rows with content among which the header is
// sought.
const headerSearch = 40

// noHeader is said of a sheet whose first full row looks like data.
const noHeader = "no row of column names was found: the first full row looks like data; put the names above it"

// findHeader is the index of the row of titles: the first that is about as
// full as the fullest row and mostly text. Rows above it are titles of the
// sheet. A full row of numbers before any such row is data without names.
func findHeader(rows []gridRow) (at int, reason string) {
	full := 0
	for _, row := range rows {
		full = max(full, filled(row.cells))
	}
	if full == 0 {
		return 0, "nothing is written in it"
	}
	for i, row := range rows {
		if 10*filled(row.cells) < 6*full {
			continue
		}
		words := 0
		for _, c := range row.cells {
			if !blank(c) && wordy(c) {
				words++
			}
		}
		switch {
		case 10*words >= 6*filled(row.cells):
			return i, ""
		case 10*filled(row.cells) >= 8*full:
			return 0, noHeader
		}
	}
	return 0, noHeader
}

// filled is the number of cells with content.
func filled(cells []dataset.GridCell) int {
	n := 0
	for _, c := range cells {
		if !blank(c) {
			n++
		}
	}
	return n
}

// wordy reports whether a cell is a text that could be a title and not a
// number or a day.
func wordy(c dataset.GridCell) bool {
	return c.Stored == dataset.StoredText && !numberLike.MatchString(strings.TrimSpace(c.Text))
}

var numberLike = regexp.MustCompile(`^[-+]?[0-9][0-9.,:/ '-]*%?$`)

// looksHeadless reports whether the titles look like the cells below them: a
// title is also one of its column's repeated values, or has digits and the
// shape of most cells. A row of data taken for titles would put its cells into
// the codebook.
func (s *sheet) looksHeadless() bool {
	alike, filled := 0, 0
	for _, c := range s.columns {
		n, same, shaped := 0, 0, 0
		shape := shapeOf(c.title)
		for _, v := range c.seen {
			if blank(v.GridCell) {
				continue
			}
			n += v.count
			if strings.TrimSpace(v.Text) == c.title {
				same += v.count
			}
			if shape != "" && shapeOf(strings.TrimSpace(v.Text)) == shape {
				shaped += v.count
			}
		}
		if n < 2 {
			continue
		}
		filled++
		if 20*same > n || numberLike.MatchString(c.title) || 10*shaped >= 8*n {
			alike++
		}
	}
	return alike > 0 && 3*alike >= filled
}

// looksLikeNotes reports whether a sheet is remarks for its readers: one column
// without any row, or with sentences for a title or in its cells.
func (s *sheet) looksLikeNotes() bool {
	if len(s.columns) != 1 {
		return false
	}
	c := s.columns[0]
	return s.rows == 0 && s.name != "" || len(strings.Fields(c.title)) >= 5 || long(c.seen)
}

// shapeOf writes a text with A for each letter and 0 for each digit: SM-0001
// is AA-0000. It is empty for a text without digits.
func shapeOf(text string) string {
	digits := false
	shape := strings.Map(func(r rune) rune {
		switch {
		case r >= '0' && r <= '9':
			digits = true
			return '0'
		case r >= 'A' && r <= 'Z' || r >= 'a' && r <= 'z':
			return 'A'
		}
		return r
	}, text)
	if !digits {
		return ""
	}
	return shape
}
