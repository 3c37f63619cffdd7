package plots

import (
	"fmt"
	"image/color"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/plot/vg"
)

// A HeatMap shows a rate for each pair of levels of two groupings: columns
// (age) and rows (sport). Cells are shaded from 0 to the largest rate among
// the cells that rest on enough events; a larger rate in a cell of few events
// has the darkest shade too, and the legend says so. Cells of few events are
// hatched around their text, and cells without a rate are white, crossed by
// the sign of their reason.
type HeatMap struct {
	Title, XLabel, YLabel string
	Unit                  string // of the shade, at the legend
	Columns, Rows         []string
	Cells                 [][]HeatCell // by row, then by column
	FewName               string       // what hatching means: "fewer than 5 events"
	Note                  string
	Size                  Size
}

// A HeatCell is one cell of a heat map.
type HeatCell struct {
	Value  float64  // 0 or more; NaN: no rate
	Text   []string // written in the cell, one line each, the first in bold
	Few    bool     // rests on few events
	Absent string   // why there is no rate, of a cell whose Value is NaN
}

// absentSigns is the number of reasons for absence that can be told apart.
const absentSigns = 3

// Draw lays the figure out.
func (h HeatMap) Draw() (*Figure, error) {
	if err := h.check(); err != nil {
		return nil, err
	}
	g, err := h.grid()
	if err != nil {
		return nil, err
	}
	least := vg.Length(len(h.Rows)) * g.least
	c, err := h.Size.fit(max(least, vg.Length(len(h.Rows))*min(g.width*0.6, 34)), least, func(free vg.Length) (*canvas, error) {
		return h.layout(g, free)
	})
	if err != nil {
		return nil, err
	}
	return &Figure{canvas: c, title: clean(h.Title), text: h.describe()}, nil
}

// check refuses what cannot be drawn.
func (h HeatMap) check() error {
	if err := h.Size.check(); err != nil {
		return err
	}
	if len(h.Columns) == 0 || len(h.Rows) == 0 {
		return fmt.Errorf("plots: %w: %d columns and %d rows", ErrNoData, len(h.Columns), len(h.Rows))
	}
	if len(h.Cells) != len(h.Rows) {
		return fmt.Errorf("plots: cells of %d rows, want %d", len(h.Cells), len(h.Rows))
	}
	drawn := 0
	for i, line := range h.Cells {
		if len(line) != len(h.Columns) {
			return fmt.Errorf("plots: row %q has %d cells for %d columns", h.Rows[i], len(line), len(h.Columns))
		}
		for j, cell := range line {
			place := fmt.Sprintf("row %q, column %q", h.Rows[i], h.Columns[j])
			switch v := cell.Value; {
			case math.IsNaN(v) && clean(cell.Absent) == "":
				return fmt.Errorf("plots: %s: no rate and no reason", place)
			case math.IsNaN(v):
				continue
			case v != 0 && !(v >= leastValue && v <= mostValue):
				return fmt.Errorf("plots: %s: rate %v, want 0 or a number from %v to %v", place, v, leastValue, mostValue)
			}
			drawn++
		}
	}
	if n := len(h.absences()); n > absentSigns {
		return fmt.Errorf("plots: %w: %d reasons for absence, at most %d can be told apart", ErrNoRoom, n, absentSigns)
	}
	if drawn == 0 {
		return fmt.Errorf("plots: %w: no rate is estimable", ErrNoData)
	}
	return nil
}

// cells calls visit with every cell in reading order.
func (h HeatMap) cells(visit func(HeatCell)) {
	for _, line := range h.Cells {
		for _, cell := range line {
			visit(cell)
		}
	}
}

// absences lists the reasons for absence in reading order.
func (h HeatMap) absences() (reasons []string) {
	h.cells(func(cell HeatCell) {
		if r := clean(cell.Absent); math.IsNaN(cell.Value) && !slices.Contains(reasons, r) {
			reasons = append(reasons, r)
		}
	})
	return reasons
}

// reach returns the rate at the dark end of the scale, and whether a cell has
// a larger one.
func (h HeatMap) reach() (top float64, beyond bool) {
	all := 0.0
	h.cells(func(cell HeatCell) {
		if math.IsNaN(cell.Value) {
			return
		}
		all = max(all, cell.Value)
		if !cell.Few {
			top = max(top, cell.Value)
		}
	})
	switch {
	case all == 0:
		return 1, false
	case top == 0:
		return all, false
	}
	return top, all > top
}

// A heatGrid holds what a heat map's rows and columns need.
type heatGrid struct {
	x0, width, least vg.Length // of the grid; of a column; the least height of a row
	rows, columns    [][]string
	upright          bool
}

// grid measures the labels.
func (h HeatMap) grid() (g heatGrid, err error) {
	width := h.Size.width()
	var column vg.Length
	g.rows, column = rowLabels(h.Rows, width, 0.3)
	g.x0 = margin + column + gap
	for i, line := range h.Cells {
		g.least = max(g.least, vg.Length(len(g.rows[i]))*plain.line()+4, 14)
		for _, cell := range line {
			g.least = max(g.least, vg.Length(len(cell.Text))*plain.line()+5)
		}
	}
	if label := plain.wrap(h.YLabel, g.least*vg.Length(len(h.Rows))); len(label) > 0 {
		g.x0 += vg.Length(len(label))*plain.line() + gap
	}
	g.width = (width - margin - g.x0) / vg.Length(len(h.Columns))
	if g.columns, g.upright, err = wrapGroups(h.Columns, g.width); err != nil {
		return g, err
	}
	for i, line := range h.Cells {
		for j, cell := range line {
			need := vg.Length(0)
			for k, s := range cell.Text {
				need = max(need, cellStyle(k).width(s))
			}
			if need > g.width-3 {
				return g, fmt.Errorf("plots: %w: %q, %q: the text needs %.0f mm, its cell has %.0f mm",
					ErrNoRoom, h.Rows[i], h.Columns[j], float64((need+3)/vg.Millimeter), float64(g.width/vg.Millimeter))
			}
		}
	}
	return g, nil
}

// cellStyle is the style of line k of a cell's text.
func cellStyle(k int) style {
	if k == 0 {
		return bold
	}
	return plain
}

// layout draws the figure with a grid of the given height.
func (h HeatMap) layout(g heatGrid, height vg.Length) (*canvas, error) {
	c := newCanvas(h.Size.width())
	top, beyond := h.reach()
	y0 := h.legend(c, c.heading(h.Title, h.keys()), top, beyond) + 2
	row := height / vg.Length(len(h.Rows))
	absent := h.absences()
	for i, line := range h.Cells {
		y := y0 + row*vg.Length(i)
		block := vg.Length(len(g.rows[i])) * plain.line()
		c.lines(g.rows[i], g.x0-gap, y+(row-block)/2, right, plain)
		for j, cell := range line {
			x := g.x0 + g.width*vg.Length(j)
			c.cell(cell, x, y, x+g.width, y+row, top, slices.Index(absent, clean(cell.Absent)))
		}
	}
	for i := range len(h.Rows) + 1 {
		y := y0 + row*vg.Length(i)
		c.line(pen{color: white, width: lineWidth}, vg.Point{X: g.x0, Y: y}, vg.Point{X: c.width - margin, Y: y})
	}
	for j := range len(h.Columns) + 1 {
		x := g.x0 + g.width*vg.Length(j)
		c.line(pen{color: white, width: lineWidth}, vg.Point{X: x, Y: y0}, vg.Point{X: x, Y: y0 + height})
	}
	c.frame(g.x0, y0, c.width-margin, y0+height, axisPen)
	c.verticals(plain.wrap(h.YLabel, height), margin, y0+height/2, center, plain)
	under := y0 + height
	for j := range h.Columns {
		under = max(under, c.groupLabel(g.columns[j], g.upright, g.x0+g.width*(vg.Length(j)+0.5), y0+height+3))
	}
	under = c.axisLabel(h.XLabel, (g.x0+c.width-margin)/2, under)
	return c.finish(c.note(h.Note, under) + margin), nil
}

// cell draws one cell; sign is that of its absence.
func (c *canvas) cell(cell HeatCell, x0, y0, x1, y1 vg.Length, top float64, sign int) {
	if math.IsNaN(cell.Value) {
		c.absence(sign, x0, y0, x1, y1)
		return
	}
	ground := shade(cell.Value / top)
	c.rect(x0, y0, x1, y1, ground)
	ink := inkOn(ground)
	block := vg.Length(len(cell.Text)) * plain.line()
	y := (y0+y1)/2 - block/2
	if cell.Few {
		c.hatch(x0, y0, x1, y1, hatchPen(ink))
		wide := vg.Length(0)
		for k, s := range cell.Text {
			wide = max(wide, cellStyle(k).width(s))
		}
		if wide > 0 {
			half := min(wide/2+2, (x1-x0)/2)
			c.rect((x0+x1)/2-half, y-0.5, (x0+x1)/2+half, y+block+0.5, ground)
		}
	}
	for k, s := range cell.Text {
		st := cellStyle(k)
		c.place(text{s: clean(s), at: vg.Point{X: (x0 + x1) / 2, Y: y + st.ascent()}, align: center, style: st, ink: ink})
		y += st.line()
	}
}

func hatchPen(ink color.NRGBA) pen { return pen{color: ink, width: 0.4} }

// absence draws the sign of a cell without a rate on white: a stroke from
// corner to corner, a cross, a dash in the middle.
func (c *canvas) absence(sign int, x0, y0, x1, y1 vg.Length) {
	n := pen{color: grey, width: axisWidth}
	c.rect(x0, y0, x1, y1, white)
	switch sign {
	case 0:
		c.line(n, vg.Point{X: x0, Y: y1}, vg.Point{X: x1, Y: y0})
	case 1:
		c.line(n, vg.Point{X: x0, Y: y1}, vg.Point{X: x1, Y: y0})
		c.line(n, vg.Point{X: x0, Y: y0}, vg.Point{X: x1, Y: y1})
	default:
		mid, third := (y0+y1)/2, (x1-x0)/3
		c.line(n, vg.Point{X: x0 + third, Y: mid}, vg.Point{X: x1 - third, Y: mid})
	}
}

// keys returns the legend of hatching and of absence, as far as they occur.
func (h HeatMap) keys() []key {
	const wide, up, down = 14, 4, 3.5
	box := func(name string, draw func(c *canvas, x0, y0, x1, y1 vg.Length)) key {
		return key{name: name, width: wide, sample: func(c *canvas, p vg.Point) {
			draw(c, p.X, p.Y-up, p.X+wide, p.Y+down)
			c.frame(p.X, p.Y-up, p.X+wide, p.Y+down, axisPen)
		}}
	}
	var keys []key
	few := false
	h.cells(func(cell HeatCell) { few = few || cell.Few && !math.IsNaN(cell.Value) })
	if name := clean(h.FewName); few && name != "" {
		keys = append(keys, box(name, func(c *canvas, x0, y0, x1, y1 vg.Length) {
			c.rect(x0, y0, x1, y1, shade(0))
			c.hatch(x0, y0, x1, y1, hatchPen(black))
		}))
	}
	for i, reason := range h.absences() {
		keys = append(keys, box(reason, func(c *canvas, x0, y0, x1, y1 vg.Length) { c.absence(i, x0, y0, x1, y1) }))
	}
	return keys
}

// legend draws the scale with its unit and returns the y beneath it.
func (h HeatMap) legend(c *canvas, y vg.Length, top float64, beyond bool) vg.Length {
	const bar, thick = 130, 8
	ticks, labels := linearTicks(0, top, 4)
	if last := len(ticks) - 1; ticks[last] > top*(1+1e-9) {
		ticks, labels = ticks[:last], labels[:last]
	}
	room := c.width - 2*margin
	lines := plain.wrap(h.Unit, max(room-bar-14, room/3))
	half := plain.widest(labels) / 2
	x := margin + half
	if len(lines) > 0 {
		x += plain.widest(lines) + gap
	}
	length := min(bar, c.width-margin-half-x)
	textEnd := c.lines(lines, margin, y, left, plain)
	c.gradient(x, y+1, x+length, y+1+thick)
	s := scale{low: 0, high: top, from: x, to: x + length}
	end := y + 1 + thick
	for i, t := range ticks {
		c.line(axisPen, vg.Point{X: s.at(t), Y: end}, vg.Point{X: s.at(t), Y: end + 2})
		c.text(labels[i], vg.Point{X: s.at(t), Y: end + 2 + plain.ascent()}, center, plain)
	}
	end += 2 + plain.line()
	if beyond {
		end = c.lines(plain.wrap("Larger rates on few events have the darkest shade too.", room), margin, max(end, textEnd)+1, left, plain)
	}
	return max(end, textEnd) + gap
}

// describe returns the figure in words.
func (h HeatMap) describe() string {
	var b strings.Builder
	b.WriteString(sentence(", by ", sentence(" ", "Heat map:", h.Unit), sentence(" and ", h.XLabel, h.YLabel)) + ".")
	if n := clean(h.Note); n != "" {
		b.WriteString(" " + n)
	}
	for i, line := range h.Cells {
		b.WriteString(" " + clean(h.Rows[i]) + ":")
		for j, cell := range line {
			if j > 0 {
				b.WriteByte(';')
			}
			words := sentence(", ", cell.Text...)
			switch {
			case math.IsNaN(cell.Value):
				words = clean(cell.Absent)
			case words == "":
				words = number(cell.Value)
			}
			if cell.Few && !math.IsNaN(cell.Value) {
				words = sentence(", ", words, h.FewName)
			}
			b.WriteString(" " + sentence(" ", h.Columns[j]+":", words))
		}
		b.WriteByte('.')
	}
	return b.String()
}
