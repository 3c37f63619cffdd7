package plots

import (
	"fmt"

	"gonum.org/v1/plot/vg"
)

// wrapGroups wraps the labels of groups along an x axis to the width of their
// band, or lets all of them read upwards where words would break.
func wrapGroups(groups []string, band vg.Length) (lines [][]string, upright bool, err error) {
	for _, g := range groups {
		w := plain.wrap(g, band-3)
		upright = upright || len(w) > 4 || plain.longestWord(g) > band-3
		lines = append(lines, w)
	}
	if !upright {
		return lines, false, nil
	}
	most := max(1, int(band/plain.line())) // lines that stand side by side
	if band < plain.size {
		return nil, false, fmt.Errorf("plots: %w: labels of %d groups are too many for the width", ErrNoRoom, len(groups))
	}
	for i, g := range groups {
		length := vg.Length(90)
		for lines[i] = plain.wrap(g, length); len(lines[i]) > most; lines[i] = plain.wrap(g, length) {
			if length *= 1.25; length > 600 {
				return nil, false, fmt.Errorf("plots: %w: the label of group %q is too long", ErrNoRoom, g)
			}
		}
	}
	return lines, true, nil
}

// groupLabel draws the wrapped label of a group beneath y, in the middle of
// its band, and returns the y beneath it.
func (c *canvas) groupLabel(lines []string, upright bool, middle, y vg.Length) vg.Length {
	if upright {
		block := vg.Length(len(lines)) * plain.line()
		c.verticals(lines, middle-block/2, y, right, plain)
		return y + plain.widest(lines)
	}
	return c.lines(lines, middle, y-1, center, plain)
}

// rowLabels wraps the labels of rows to a column at the left of a figure, at
// most a share of the figure's width, and returns the column's width.
func rowLabels(labels []string, width, share vg.Length) (lines [][]string, column vg.Length) {
	for _, l := range labels {
		w := plain.wrap(l, width*share)
		lines = append(lines, w)
		column = max(column, plain.widest(w))
	}
	return lines, column
}
