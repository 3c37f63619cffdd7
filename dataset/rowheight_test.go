package dataset

import "testing"

// Twenty letters are 22 wide in a heading and 17 in a note; figures and labels
// are left to the spreadsheet program.
func TestRowLines(t *testing.T) {
	text := "abcdefghijklmnopqrst"
	for _, c := range []struct {
		span   int
		widths []float64
		style  Style
		want   int
	}{
		{1, []float64{10}, Header, 3},
		{2, []float64{5, 5}, Note, 2},
		{3, []float64{10, 10, 10}, Header, 1},
		{1, nil, Header, 3},
		{1, []float64{3}, Label, 1},
		{1, []float64{10}, Figure, 1},
	} {
		if got := rowLines([]WorkbookCell{{Text: text, Style: c.style, Span: c.span}}, c.widths); got != c.want {
			t.Errorf("%+v: %d lines", c, got)
		}
	}
}
