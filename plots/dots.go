package plots

import (
	"fmt"
	"math"

	"heelcohort/stats"

	"gonum.org/v1/plot/vg"
)

// A Dots is a dot plot of rates in panels: one panel a level of a grouping
// (sport), in it one row a level of another (age), with the limits as a bar on
// an axis that all panels share.
//
// A rate of 0 has no dot: its bar runs from the left end of the axis to its
// upper limit, where an open arrowhead points back, and the legend says so.
// The axis reaches every rate and the reference, and limits that are at most
// three times the largest rate (ten times on a log axis) and, on a log axis,
// at least a tenth of the smallest rate that is not 0 (every upper limit where
// there are no events); a limit beyond ends in
// an arrow, and a note says what arrows mean. A linear axis begins at 0.
type Dots struct {
	Title, XLabel string       // XLabel names the rate
	GroupLabel    string       // above the labels of the rows
	Groups        []string     // rows of every panel, from the top
	Panels        []RateSeries // one level's rates, one Estimate a group; a NaN Value leaves a gap
	Log           bool
	Reference     float64 // a dashed line at this rate; 0 or NaN: none
	ReferenceName string
	Note          string
	Size          Size
}

const (
	zeroName = "no events: upper limit only"
	bareNote = "A rate of 0 without an upper limit is not drawn."
)

// Draw lays the figure out.
func (d Dots) Draw() (*Figure, error) {
	if err := d.check(); err != nil {
		return nil, err
	}
	g, err := d.grid()
	if err != nil {
		return nil, err
	}
	rows := vg.Length(g.down * len(d.Groups))
	c, err := d.Size.fit(rows*max(g.least, 13), rows*g.least, func(free vg.Length) (*canvas, error) {
		return d.layout(g, free/rows), nil
	})
	if err != nil {
		return nil, err
	}
	return &Figure{canvas: c, title: clean(d.Title), text: d.describe()}, nil
}

// rates is the same figure as a rate plot, which is checked and described
// alike.
func (d Dots) rates() Rates {
	return Rates{Title: d.Title, XLabel: d.GroupLabel, YLabel: d.XLabel, Groups: d.Groups, Series: d.Panels, Note: d.Note, Size: d.Size}
}

// check refuses what cannot be drawn.
func (d Dots) check() error {
	if err := d.rates().check(); err != nil {
		return err
	}
	if r := d.Reference; r != 0 && !math.IsNaN(r) && !(r >= leastValue && r <= mostValue) {
		return fmt.Errorf("plots: reference rate %v, want a number from %v to %v, or 0 for none", r, leastValue, mostValue)
	}
	return nil
}

// each calls visit with every estimate that has a value.
func (d Dots) each(visit func(stats.Estimate)) {
	for _, p := range d.Panels {
		for _, e := range p.Estimates {
			if !math.IsNaN(e.Value) {
				visit(e)
			}
		}
	}
}

// hasReference reports whether there is a line to draw.
func (d Dots) hasReference() bool { return d.Reference > 0 }

// reach returns the ends of the axis.
func (d Dots) reach() (low, high float64) {
	least, largest := math.Inf(1), 0.0
	d.each(func(e stats.Estimate) {
		if e.Value > 0 {
			least, largest = min(least, e.Value), max(largest, e.Value)
		}
	})
	low, high = least, largest
	if d.hasReference() {
		low, high = min(low, d.Reference), max(high, d.Reference)
	}
	if high == 0 { // every rate is 0: the axis is that of the upper limits
		d.each(func(e stats.Estimate) {
			if e.Upper >= leastValue && e.Upper <= mostValue {
				low, high = min(low, e.Upper/2), max(high, e.Upper)
			}
		})
		if high == 0 {
			low, high = 1, 1
		}
	}
	floor, ceiling := low/10, 3*high
	if d.Log {
		ceiling = 10 * high
	}
	cut := false
	d.each(func(e stats.Estimate) {
		if e.Upper > ceiling {
			cut = true
		} else if e.Upper > 0 {
			high = max(high, e.Upper)
		}
		if e.Value == 0 && e.Upper >= leastValue && e.Upper <= ceiling {
			low = min(low, e.Upper/2) // room for the sign of no events
		}
		if e.Lower >= floor {
			low = min(low, e.Lower)
		} else if e.Value > 0 && e.Lower > 0 {
			low = min(low, floor*2) // room for the arrow before every dot
		}
	})
	if cut {
		high = max(high, ceiling/2)
	}
	if d.Log {
		return logReach(low, high)
	}
	return 0, high
}

// A dotGrid is the arrangement of the panels.
type dotGrid struct {
	rows         [][]string // labels
	head         []string   // above them
	titles       [][]string
	titleLines   []int // the most in each row of panels
	across, down int
	x0           vg.Length // of the first panel
	width, apart vg.Length // of a panel; between two
	least        vg.Length // height of a row
	axis         scale     // of a panel that begins at 0
	ticks        []float64
	labels       []string
}

// grid arranges the panels: as many side by side as are wide enough, the same
// number in each row of panels as far as possible.
func (d Dots) grid() (g dotGrid, err error) {
	const enough = 72
	width := d.Size.width()
	var column vg.Length
	g.rows, column = rowLabels(d.Groups, width, 0.28)
	column = max(column, min(plain.longestWord(d.GroupLabel), width*0.28))
	g.head = plain.wrap(d.GroupLabel, column)
	g.x0 = margin + column + 2*gap
	g.least = 10
	for _, l := range g.rows {
		g.least = max(g.least, vg.Length(len(l))*plain.line()+1)
	}
	n := len(d.Panels)
	room := width - margin - g.x0
	most := min(max(int((room+14)/(enough+14)), 1), n)
	g.down = (n + most - 1) / most
	g.across = (n + g.down - 1) / g.down
	low, high := d.reach()
	g.apart = 14
	half := vg.Length(0) // of the last label
	for range 3 {        // the labels of neighbours' ticks must keep apart
		g.width = (room - g.apart*vg.Length(g.across-1) - half) / vg.Length(g.across)
		if g.width < 40 {
			return g, fmt.Errorf("plots: %w: the labels leave %.0f mm for a panel", ErrNoRoom, float64(g.width/vg.Millimeter))
		}
		g.axis = scale{low: low, high: high, to: g.width, log: d.Log}
		if d.Log {
			g.ticks, g.labels = rateTicks(g.axis)
		} else {
			g.ticks, g.labels = d.linear(high, g.width)
			g.axis.high = max(high*1.02, g.ticks[len(g.ticks)-1])
		}
		g.apart = max(g.apart, plain.widest(g.labels)+6)
		half = max(half, plain.widest(g.labels)/2)
	}
	g.titleLines = make([]int, g.down)
	g.titleLines[0] = len(g.head)
	for i, p := range d.Panels {
		room := g.width + g.apart - 8
		if (i+1)%g.across == 0 {
			room = g.width
		}
		g.titles = append(g.titles, bold.wrap(p.Name, room))
		g.titleLines[i/g.across] = max(g.titleLines[i/g.across], len(g.titles[i]))
	}
	return g, nil
}

// linear returns ticks from 0 whose labels keep apart.
func (d Dots) linear(high float64, length vg.Length) (ticks []float64, labels []string) {
	for most := 5; most >= 1; most-- {
		ticks, labels = linearTicks(0, high, most)
		if last := len(ticks) - 1; last > 1 && ticks[last] > 1.12*high {
			ticks, labels = ticks[:last], labels[:last]
		}
		if length/vg.Length(len(ticks)-1) >= plain.widest(labels)+4 {
			break
		}
	}
	return ticks, labels
}

// layout draws the figure with rows of the given height.
func (d Dots) layout(g dotGrid, row vg.Length) *canvas {
	c := newCanvas(d.Size.width())
	y := c.heading(d.Title, d.keys()) + 2
	panel := row * vg.Length(len(d.Groups))
	var seen dotSigns
	for k := range g.down {
		y += vg.Length(g.titleLines[k])*bold.line() + 2
		if k == 0 {
			c.lines(g.head, g.x0-2*gap, y-2-vg.Length(len(g.head))*plain.line(), right, plain)
		}
		for i := range d.Groups {
			block := vg.Length(len(g.rows[i])) * plain.line()
			c.lines(g.rows[i], g.x0-2*gap, y+row*vg.Length(i)+(row-block)/2, right, plain)
		}
		for j := range g.across {
			at := k*g.across + j
			if at == len(d.Panels) {
				break
			}
			xs := g.axis
			xs.from = g.x0 + (g.width+g.apart)*vg.Length(j)
			xs.to = xs.from + g.width
			lines := g.titles[at]
			c.lines(lines, xs.from, y-2-vg.Length(len(lines))*bold.line(), left, bold)
			seen = d.panel(c, d.Panels[at].Estimates, g, xs, y, row, seen)
		}
		y += panel + tickLength + 1 + plain.line() + gap
	}
	y = c.axisLabel(d.XLabel, g.x0+(g.width*vg.Length(g.across)+g.apart*vg.Length(g.across-1))/2, y-gap)
	note := d.Note
	if seen.cut {
		note = sentence(" ", note, arrowNote)
	}
	if seen.bare {
		note = sentence(" ", note, bareNote)
	}
	return c.finish(c.note(note, y) + margin)
}

// dotSigns are the signs in a figure that need words.
type dotSigns struct{ cut, bare bool }

// panel draws one panel with its upper edge at y.
func (d Dots) panel(c *canvas, estimates []stats.Estimate, g dotGrid, xs scale, y, row vg.Length, seen dotSigns) dotSigns {
	bottom := y + row*vg.Length(len(estimates))
	for i := range estimates {
		mid := y + row*(vg.Length(i)+0.5)
		c.line(pen{color: pale, width: hairline}, vg.Point{X: xs.from, Y: mid}, vg.Point{X: xs.to, Y: mid})
	}
	if d.hasReference() {
		x := xs.at(d.Reference)
		c.line(referencePen, vg.Point{X: x, Y: y}, vg.Point{X: x, Y: bottom})
	}
	c.line(axisPen, vg.Point{X: xs.from, Y: y}, vg.Point{X: xs.from, Y: bottom})
	c.xAxis(bottom, xs, g.ticks, g.labels)
	for i, e := range estimates {
		one := c.dot(e, xs, y+row*(vg.Length(i)+0.5))
		seen.cut, seen.bare = seen.cut || one.cut, seen.bare || one.bare
	}
	return seen
}

var referencePen = pen{color: grey, width: 0.7, dash: []vg.Length{3, 2}}

// dot draws one estimate at the height y.
func (c *canvas) dot(e stats.Estimate, xs scale, y vg.Length) (signs dotSigns) {
	const long = 4.5 // of an arrow head
	if math.IsNaN(e.Value) {
		return signs
	}
	if e.Value == 0 && !(e.Upper >= leastValue) {
		signs.bare = true
		return signs
	}
	n := pen{color: black, width: 0.8}
	from, to := xs.at(max(e.Value, xs.low)), xs.at(max(e.Value, xs.low))
	switch {
	case e.Value == 0:
		from = xs.from
	case !math.IsNaN(e.Lower) && e.Lower >= xs.low:
		from = xs.at(min(e.Lower, e.Value))
	case !math.IsNaN(e.Lower) && !xs.log:
		from = xs.from // no rate lies below 0
	case !math.IsNaN(e.Lower):
		signs.cut = true
		c.arrow(vg.Point{X: xs.from, Y: y}, -1, 0, black)
		from = xs.from + long*0.7
	}
	switch {
	case math.IsNaN(e.Upper):
	case e.Upper > xs.high:
		signs.cut = true
		c.arrow(vg.Point{X: xs.to, Y: y}, 1, 0, black)
		to = xs.to - long*0.7
	default:
		to = xs.at(max(e.Upper, e.Value, xs.low))
	}
	if to > from {
		c.line(n, vg.Point{X: from, Y: y}, vg.Point{X: to, Y: y})
	}
	switch {
	case e.Value > 0:
		c.marker(disc, vg.Point{X: xs.at(e.Value), Y: y}, 2.2, black)
	case e.Upper <= xs.high:
		c.openHead(vg.Point{X: to, Y: y})
	}
	return signs
}

// openHead draws an open arrowhead that points to the left, its flat side at p.
func (c *canvas) openHead(p vg.Point) {
	var path vg.Path
	path.Move(vg.Point{X: p.X, Y: p.Y - 2.4})
	path.Line(vg.Point{X: p.X, Y: p.Y + 2.4})
	path.Line(vg.Point{X: p.X - 4.4, Y: p.Y})
	path.Close()
	c.fill(path, white)
	c.stroke(path, pen{color: black, width: 0.8})
}

// keys returns the legend: the dot with its limits, the sign of no events and
// the reference, as far as they occur.
func (d Dots) keys() []key {
	const wide = 18
	var zero, dots bool
	d.each(func(e stats.Estimate) {
		zero = zero || e.Value == 0 && e.Upper >= leastValue
		dots = dots || e.Value > 0
	})
	bar := func(c *canvas, p vg.Point, to vg.Length) {
		c.line(pen{color: black, width: 0.8}, p, vg.Point{X: p.X + to, Y: p.Y})
	}
	var keys []key
	if dots && zero {
		keys = append(keys, key{name: "rate with limits", width: wide, sample: func(c *canvas, p vg.Point) {
			bar(c, p, wide)
			c.marker(disc, vg.Point{X: p.X + wide/2, Y: p.Y}, 2.2, black)
		}})
	}
	if zero {
		keys = append(keys, key{name: zeroName, width: wide, sample: func(c *canvas, p vg.Point) {
			bar(c, p, wide-2)
			c.openHead(vg.Point{X: p.X + wide - 2, Y: p.Y})
		}})
	}
	if name := clean(d.ReferenceName); d.hasReference() && name != "" {
		keys = append(keys, key{name: name, width: wide, sample: func(c *canvas, p vg.Point) {
			c.line(referencePen, p, vg.Point{X: p.X + wide, Y: p.Y})
		}})
	}
	return keys
}

// describe returns the figure in words.
func (d Dots) describe() string {
	s := d.rates().describe()
	if name := clean(d.ReferenceName); d.hasReference() && name != "" {
		s += " Dashed line: " + name + ", " + number(d.Reference) + "."
	}
	return s
}
