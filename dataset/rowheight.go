package dataset

import (
	"math"
	"strings"
	"unicode/utf8"
)

// Heights and widths of a written sheet, where none are given.
const (
	lineHeight   = 15.0 // points
	defaultWidth = 9.0  // characters
)

// glyphWidths are the widths of a letter in the styles whose texts are wrapped
// over merged cells or over lines of their own, in the digits that column
// widths count.
var glyphWidths = map[Style]float64{Header: 1.1, Note: 0.85, Entry: 0.92}

// rowLines is how many lines the wrapped texts of a row need. A spreadsheet
// program finds that out by itself for single cells, but not for merged ones.
func rowLines(row []WorkbookCell, widths []float64) int {
	lines, column := 1, 0
	for _, c := range row {
		span := max(c.Span, 1)
		width := 0.0
		for i := column; i < column+span; i++ {
			if i < len(widths) {
				width += widths[i]
			} else {
				width += defaultWidth
			}
		}
		column += span
		if need := linesOf(c, max(width, 1)); need > float64(lines) {
			lines = int(min(need, 27)) // the greatest height is 409 points
		}
	}
	return lines
}

// linesOf is how many lines a cell of a width needs. Only an Entry shows its
// own line ends.
func linesOf(c WorkbookCell, width float64) float64 {
	texts := []string{c.Text}
	if c.Style == Entry {
		texts = strings.Split(c.Text, "\n")
	}
	need := 0.0
	for _, text := range texts {
		need += max(math.Ceil(glyphWidths[c.Style]*float64(utf8.RuneCountInString(text))/width), 1)
	}
	return need
}
