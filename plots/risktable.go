package plots

import (
	"strconv"

	"gonum.org/v1/plot/vg"
)

// A riskBlock is one block of the table beneath survival curves: a count a
// curve and tick.
type riskBlock struct {
	name   string
	counts [][]int // one a curve
}

// blocks returns the blocks that at least one curve has.
func (s Survival) blocks() []riskBlock {
	var blocks []riskBlock
	for _, b := range []struct {
		name string
		of   func(SurvivalCurve) []int
	}{
		{"At risk", func(c SurvivalCurve) []int { return c.AtRisk }},
		{"Events", func(c SurvivalCurve) []int { return c.Events }},
		{"Censored", func(c SurvivalCurve) []int { return c.Censored }},
	} {
		block := riskBlock{name: b.name}
		present := false
		for _, c := range s.Curves {
			counts := b.of(c)
			present = present || counts != nil
			block.counts = append(block.counts, counts)
		}
		if present {
			blocks = append(blocks, block)
		}
	}
	return blocks
}

// A riskTable is the table ready to draw. Its numbers are centred on the ticks
// by the scale of the curves' axis.
type riskTable struct {
	blocks []riskBlock
	ticks  []float64
	names  [][]string // wrapped, one a curve; empty when the curve has no name
	left   vg.Length  // room for the names and half of the first column
}

// nameGap keeps the numbers of the first column from being read as part of the
// name, which may end in a number itself.
const nameGap vg.Length = 12

// table measures the table for a figure of the given width.
func (s Survival) table(width vg.Length) riskTable {
	t := riskTable{blocks: s.blocks(), ticks: s.Ticks}
	limit := width * 0.3
	var widest vg.Length
	for _, c := range s.Curves {
		lines := plain.wrap(c.Name, limit)
		t.names = append(t.names, lines)
		widest = max(widest, plain.widest(lines)+indent)
	}
	for _, b := range t.blocks {
		widest = max(widest, bold.width(b.name))
	}
	if len(t.blocks) > 0 {
		t.left = widest + nameGap + t.columnWidth(0)/2
	}
	return t
}

// count returns a count as shown.
func count(n int) string {
	if n < 0 {
		return "–"
	}
	return strconv.Itoa(n)
}

// columnWidth returns the width of the numbers under tick i.
func (t riskTable) columnWidth(i int) vg.Length {
	var w vg.Length
	for _, b := range t.blocks {
		for _, c := range b.counts {
			w = max(w, plain.width(count(c[i])))
		}
	}
	return w
}

// draw draws the table from y on and returns the y beneath it.
func (t riskTable) draw(c *canvas, y vg.Length, xs scale) vg.Length {
	for _, b := range t.blocks {
		y += gap
		c.text(b.name, vg.Point{X: margin, Y: y + bold.ascent()}, left, bold)
		if len(t.names) > 1 || len(t.names[0]) > 0 {
			y += bold.line()
		}
		for j, counts := range b.counts {
			for i, tick := range t.ticks {
				c.text(count(counts[i]), vg.Point{X: xs.at(tick), Y: y + plain.ascent()}, center, plain)
			}
			y = max(y+plain.line(), c.lines(t.names[j], margin+indent, y, left, plain))
		}
	}
	return y
}
