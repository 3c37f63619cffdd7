package plots

import (
	"fmt"
	"math"
	"strings"

	"heelcohort/stats"

	"gonum.org/v1/plot/vg"
)

// A Visits shows the means of groups over planned visits: markers with bars
// from limit to limit, joined by lines, the groups side by side at each visit,
// and beneath them a table of the numbers behind the means.
//
// Visits stand to the scale of their days where their labels have room, and
// evenly otherwise, which a note says. The y axis reaches every mean, every
// limit, and 0. An absent mean leaves a gap, which no line crosses; absent
// limits leave the marker without bar.
type Visits struct {
	Title, XLabel, YLabel string
	Visits                []string  // labels
	Days                  []float64 // of Visits, ascending; nil or with a NaN: they stand evenly
	Series                []VisitSeries
	Note                  string
	Size                  Size
}

// A VisitSeries is one group's means, an Estimate a visit, with the numbers
// behind them; nil Counts for all series leave the table out. The name of a
// single series may be left out.
type VisitSeries struct {
	Name      string
	Estimates []stats.Estimate
	Counts    []int
}

const evenNote = "Visits stand evenly, not to the scale of time."

// Draw lays the figure out.
func (v Visits) Draw() (*Figure, error) {
	if err := v.check(); err != nil {
		return nil, err
	}
	natural := min(v.Size.width()*0.55, 200)
	c, err := v.Size.fit(natural, 60, v.layout)
	if err != nil {
		return nil, err
	}
	return &Figure{canvas: c, title: clean(v.Title), text: v.describe()}, nil
}

// check refuses what cannot be drawn.
func (v Visits) check() error {
	if err := v.Size.check(); err != nil {
		return err
	}
	if len(v.Visits) == 0 || len(v.Series) == 0 {
		return fmt.Errorf("plots: %w: %d visits and %d series", ErrNoData, len(v.Visits), len(v.Series))
	}
	if len(v.Series) > seriesLimit {
		return fmt.Errorf("plots: %w: %d series, at most %d can be told apart", ErrNoRoom, len(v.Series), seriesLimit)
	}
	if v.Days != nil && len(v.Days) != len(v.Visits) {
		return fmt.Errorf("plots: %d days for %d visits", len(v.Days), len(v.Visits))
	}
	drawn := 0
	for _, s := range v.Series {
		if clean(s.Name) == "" && len(v.Series) > 1 {
			return fmt.Errorf("plots: a series of %d has no name", len(v.Series))
		}
		if len(s.Estimates) != len(v.Visits) || s.Counts != nil && len(s.Counts) != len(v.Visits) {
			return fmt.Errorf("plots: series %q has %d estimates and %d counts for %d visits", s.Name, len(s.Estimates), len(s.Counts), len(v.Visits))
		}
		for i, e := range s.Estimates {
			if math.IsNaN(e.Value) {
				continue
			}
			drawn++
			for _, x := range []float64{e.Value, e.Lower, e.Upper} {
				if math.Abs(x) > mostValue {
					return fmt.Errorf("plots: series %q, visit %q: %v, want a number up to %v", s.Name, v.Visits[i], x, mostValue)
				}
			}
			if e.Lower > e.Value || e.Upper < e.Value {
				return fmt.Errorf("plots: series %q, visit %q: mean %v outside its limits %v to %v", s.Name, v.Visits[i], e.Value, e.Lower, e.Upper)
			}
		}
	}
	if drawn == 0 {
		return fmt.Errorf("plots: %w: no mean is estimable", ErrNoData)
	}
	return nil
}

// reach returns the ends that the y axis must show.
func (v Visits) reach() (low, high float64) {
	for _, s := range v.Series {
		for _, e := range s.Estimates {
			for _, x := range []float64{e.Value, e.Lower, e.Upper} {
				if !math.IsNaN(e.Value) && !math.IsNaN(x) {
					low, high = min(low, x), max(high, x)
				}
			}
		}
	}
	if high-low < leastValue {
		high = low + 1
	}
	return low, high
}

// table is the table of the numbers behind the means.
func (v Visits) table(ticks []float64, width vg.Length) riskTable {
	t := riskTable{ticks: ticks}
	block := riskBlock{name: "With a value"}
	var widest vg.Length
	for _, s := range v.Series {
		if s.Counts != nil {
			block.counts = append(block.counts, s.Counts)
		}
		lines := plain.wrap(s.Name, width*0.3)
		t.names = append(t.names, lines)
		widest = max(widest, plain.widest(lines)+indent)
	}
	if len(block.counts) == len(v.Series) {
		t.blocks = []riskBlock{block}
		t.left = max(widest, bold.width(block.name)) + nameGap + t.columnWidth(0)/2
	}
	return t
}

// scaled reports whether the visits stand to the scale of their days between
// the two ends: each label and number then has its room.
func (v Visits) scaled(from, to vg.Length, t riskTable) (lines [][]string, ok bool) {
	n := len(v.Visits)
	if v.Days == nil || n < 2 {
		return nil, false
	}
	for i, d := range v.Days {
		if math.IsNaN(d) || i > 0 && !(v.Days[i-1] < d) {
			return nil, false
		}
	}
	xs := scale{low: v.Days[0], high: v.Days[n-1], from: from, to: to}
	for i, name := range v.Visits {
		room := to - from
		if i > 0 {
			room = min(room, xs.at(v.Days[i])-xs.at(v.Days[i-1]))
		}
		if i+1 < n {
			room = min(room, xs.at(v.Days[i+1])-xs.at(v.Days[i]))
		}
		label := plain.wrap(name, room-4)
		if plain.longestWord(name) > room-4 || len(label) > 3 || t.columnWidth(i) > room-4 || vg.Length(len(v.Series))*slotWidth > room {
			return nil, false
		}
		lines = append(lines, label)
	}
	return lines, true
}

// slotWidth is how far the groups stand apart at a visit.
const slotWidth vg.Length = 5

// layout draws the figure with a panel of the given height.
func (v Visits) layout(panel vg.Length) (*canvas, error) {
	c := newCanvas(v.Size.width())
	low, high := v.reach()
	yTicks, yLabels := linearTicks(low, high, 6)
	slack := 0.12 * (high - low) // the axis need not reach a tick far beyond
	if yTicks[0] < low-slack {
		yTicks, yLabels = yTicks[1:], yLabels[1:]
	}
	if k := len(yTicks) - 1; yTicks[k] > high+slack {
		yTicks, yLabels = yTicks[:k], yLabels[:k]
	}
	if low < yTicks[0] {
		low -= slack / 6
	}
	if high > yTicks[len(yTicks)-1] {
		high += slack / 6
	}
	yLabel := plain.wrap(v.YLabel, panel)
	n := len(v.Visits)
	ticks := make([]float64, n)
	for i := range ticks {
		ticks[i] = float64(i)
	}
	table := v.table(ticks, c.width)
	inset := max(slotWidth*vg.Length(len(v.Series)+1)/2, 14)
	x0 := margin + max(yMargin(yLabels, yLabel), table.left-inset)
	x1 := c.width - margin
	band := (x1 - x0) / vg.Length(n)
	if band < slotWidth*vg.Length(len(v.Series)) {
		return nil, fmt.Errorf("plots: %w: %d visits of %d series are too many for a width of %.0f mm", ErrNoRoom, n, len(v.Series), float64(c.width/vg.Millimeter))
	}
	xs := scale{low: 0, high: float64(max(1, n-1)), from: x0 + band/2, to: x1 - band/2}
	if n == 1 {
		xs = scale{low: -1, high: 1, from: x0, to: x1}
	}
	note, upright := v.Note, false
	lines, even := [][]string(nil), false
	outer := max(inset, plain.width(v.Visits[n-1])/2)
	if scaled, ok := v.scaled(x0+inset, x1-outer, table); ok {
		lines, ticks = scaled, v.Days
		table.ticks = ticks
		xs = scale{low: ticks[0], high: ticks[n-1], from: x0 + inset, to: x1 - outer}
	} else {
		var err error
		if lines, upright, err = wrapGroups(v.Visits, band); err != nil {
			return nil, err
		}
		even = v.Days != nil && n > 2
	}
	if even {
		note = sentence(" ", note, evenNote)
	}

	y := c.heading(v.Title, v.keys()) + 2
	bottom := y + panel
	ys := scale{low: min(low, yTicks[0]), high: max(high, yTicks[len(yTicks)-1]), from: bottom, to: y}
	for _, t := range yTicks {
		if ys.at(t) < bottom-0.1 {
			p := pen{color: pale, width: hairline}
			if t == 0 {
				p = axisPen
			}
			c.line(p, vg.Point{X: x0, Y: ys.at(t)}, vg.Point{X: x1, Y: ys.at(t)})
		}
	}
	for j, s := range v.Series {
		c.means(s, j, slotWidth*(vg.Length(j)-vg.Length(len(v.Series)-1)/2), ticks, xs, ys)
	}
	c.yAxis(x0, ys, yTicks, yLabels, yLabel, margin)
	c.line(axisPen, vg.Point{X: x0, Y: bottom}, vg.Point{X: x1, Y: bottom})
	under := bottom
	for i, t := range ticks {
		mid := xs.at(t)
		c.line(axisPen, vg.Point{X: mid, Y: bottom}, vg.Point{X: mid, Y: bottom + tickLength})
		under = max(under, c.groupLabel(lines[i], upright, mid, bottom+tickLength+2))
	}
	if clean(v.XLabel) != "" {
		under = c.axisLabel(v.XLabel, (x0+x1)/2, under)
	}
	under = table.draw(c, under, xs)
	return c.finish(c.note(note, under) + margin), nil
}

// means draws the line, the bars and the markers of one series, moved aside.
func (c *canvas) means(s VisitSeries, j int, aside vg.Length, ticks []float64, xs, ys scale) {
	at := func(i int, y float64) vg.Point { return vg.Point{X: xs.at(ticks[i]) + aside, Y: ys.at(y)} }
	var run []vg.Point
	flush := func() {
		if len(run) > 1 {
			c.line(pen{color: colour(j), width: lineWidth, dash: dash(j)}, run...)
		}
		run = nil
	}
	for i, e := range s.Estimates {
		if math.IsNaN(e.Value) {
			flush()
			continue
		}
		run = append(run, at(i, e.Value))
	}
	flush()
	for i, e := range s.Estimates {
		if math.IsNaN(e.Value) {
			continue
		}
		if !math.IsNaN(e.Lower) && !math.IsNaN(e.Upper) {
			c.line(pen{color: colour(j), width: 0.8}, at(i, e.Lower), at(i, e.Upper))
		}
		c.marker(shape(j%int(shapes)), at(i, e.Value), 2.3, colour(j))
	}
}

// keys returns the legend; a single series without name has none.
func (v Visits) keys() []key {
	const wide = 22
	var keys []key
	for j, s := range v.Series {
		if clean(s.Name) == "" {
			return nil
		}
		keys = append(keys, key{name: s.Name, width: wide, sample: func(c *canvas, p vg.Point) {
			c.line(pen{color: colour(j), width: lineWidth, dash: dash(j)}, p, vg.Point{X: p.X + wide, Y: p.Y})
			c.marker(shape(j%int(shapes)), vg.Point{X: p.X + wide/2, Y: p.Y}, 2.3, colour(j))
		}})
	}
	return keys
}

// describe returns the figure in words.
func (v Visits) describe() string {
	var b strings.Builder
	b.WriteString(sentence(" ", "Means over visits:", v.YLabel) + ".")
	for i, name := range v.Visits {
		b.WriteString(" " + clean(name) + ":")
		for j, s := range v.Series {
			if j > 0 {
				b.WriteByte(';')
			}
			b.WriteString(" " + sentence(" ", s.Name, describe(s.Estimates[i])))
			if s.Counts != nil {
				b.WriteString(", n " + count(s.Counts[i]))
			}
		}
		b.WriteByte('.')
	}
	if n := clean(v.Note); n != "" {
		b.WriteString(" " + n)
	}
	return b.String()
}
