package dataset

import (
	"testing"
)

func TestOrigin(t *testing.T) {
	for _, c := range []struct {
		origin     Origin
		cell, line string
	}{
		{Origin{"data/a.xlsx", "visits", 7, 2}, "B7", `data/a.xlsx, sheet "visits", B7`},
		{Origin{"data/a.xlsx", "visits", 7, 0}, "row 7", `data/a.xlsx, sheet "visits", row 7`},
		{Origin{"data/a.xlsx", "visits", 0, 0}, "", `data/a.xlsx, sheet "visits"`},
		{Origin{"data/a.csv", "", 7, 2}, "line 7, column 2", "data/a.csv, line 7, column 2"},
		{Origin{"data/a.csv", "", 7, 0}, "line 7", "data/a.csv, line 7"},
		{Origin{"data/a.csv", "", 0, 0}, "", "data/a.csv"},
		{Origin{}, "", ""},
	} {
		if got := c.origin.Cell(); got != c.cell {
			t.Errorf("%#v: cell %q, want %q", c.origin, got, c.cell)
		}
		if got := c.origin.String(); got != c.line {
			t.Errorf("%#v: %q, want %q", c.origin, got, c.line)
		}
	}
}
