package plots

import (
	"fmt"
	"math"
	"strings"

	"heelcohort/stats"

	"gonum.org/v1/plot/vg"
)

// A Rates is a rate plot: rates with limits by an ordered grouping on the x
// axis (age), one series a level of another (sport).
//
// The y axis begins at 0. It reaches every rate, and every upper limit that is
// at most three times the largest rate; a limit beyond, or an unbounded one,
// ends in an arrow at the top, and a note says what arrows mean. Where all
// rates are 0 it reaches every finite limit. A lower limit below 0 is drawn to
// 0, as no rate lies there.
type Rates struct {
	Title, XLabel, YLabel string
	Groups                []string // along the x axis
	Series                []RateSeries
	Note                  string // beneath the figure
	Size                  Size
}

// A RateSeries is one level's rates, one Estimate a group; a NaN Value leaves
// a gap, an infinite Upper ends in an arrow. The names of a single series may
// be left out: there is no legend then.
type RateSeries struct {
	Name      string
	Estimates []stats.Estimate
}

const arrowNote = "Arrows: the limit lies beyond the axis."

// Draw lays the figure out.
func (r Rates) Draw() (*Figure, error) {
	if err := r.check(); err != nil {
		return nil, err
	}
	top := r.reach()
	natural := min(r.Size.width()*0.55, 200)
	c, err := r.Size.fit(natural, 60, func(panel vg.Length) (*canvas, error) { return r.layout(panel, top) })
	if err != nil {
		return nil, err
	}
	return &Figure{canvas: c, title: clean(r.Title), text: r.describe()}, nil
}

// check refuses what cannot be drawn.
func (r Rates) check() error {
	if err := r.Size.check(); err != nil {
		return err
	}
	if len(r.Groups) == 0 || len(r.Series) == 0 {
		return fmt.Errorf("plots: %w: %d groups and %d series", ErrNoData, len(r.Groups), len(r.Series))
	}
	if len(r.Series) > seriesLimit {
		return fmt.Errorf("plots: %w: %d series, at most %d can be told apart", ErrNoRoom, len(r.Series), seriesLimit)
	}
	drawn := 0
	for _, s := range r.Series {
		if len(s.Estimates) != len(r.Groups) {
			return fmt.Errorf("plots: series %q has %d estimates for %d groups", s.Name, len(s.Estimates), len(r.Groups))
		}
		if clean(s.Name) == "" && len(r.Series) > 1 {
			return fmt.Errorf("plots: a series of %d has no name", len(r.Series))
		}
		for i, e := range s.Estimates {
			if math.IsNaN(e.Value) {
				continue
			}
			drawn++
			place := fmt.Sprintf("series %q, group %q", s.Name, r.Groups[i])
			if e.Value != 0 && !(e.Value >= leastValue && e.Value <= mostValue) {
				return fmt.Errorf("plots: %s: rate %v, want 0 or a number from %v to %v", place, e.Value, leastValue, mostValue)
			}
			if err := checkLimits(e); err != nil {
				return fmt.Errorf("plots: %s: %w", place, err)
			}
		}
	}
	if drawn == 0 {
		return fmt.Errorf("plots: %w: no rate is estimable", ErrNoData)
	}
	return nil
}

// reach returns the largest value that the y axis must show.
func (r Rates) reach() float64 {
	largest := 0.0
	for _, s := range r.Series {
		for _, e := range s.Estimates {
			if !math.IsNaN(e.Value) {
				largest = max(largest, e.Value)
			}
		}
	}
	bound := mostValue
	if largest > 0 {
		bound = 3 * largest
	}
	top, cut := largest, false
	for _, s := range r.Series {
		for _, e := range s.Estimates {
			switch {
			case math.IsNaN(e.Value) || math.IsNaN(e.Upper):
			case e.Upper > bound:
				cut = true
			default:
				top = max(top, e.Upper)
			}
		}
	}
	if cut && largest > 0 {
		top = max(top, 1.25*largest) // room for the arrow above every marker
	}
	if top < leastValue {
		top = 1
	}
	return top
}

// layout draws the figure with a panel of the given height.
func (r Rates) layout(panel vg.Length, top float64) (*canvas, error) {
	c := newCanvas(r.Size.width())
	ticks, labels := linearTicks(0, top, 5)
	high := ticks[len(ticks)-1]
	if high > 1.12*top { // the axis need not reach a tick far above
		high = 1.04 * top
		ticks, labels = ticks[:len(ticks)-1], labels[:len(labels)-1]
	}
	high = max(high, 1.02*top) // a limit that is not cut ends below the edge
	yLabel := plain.wrap(r.YLabel, panel)
	x0 := margin + yMargin(labels, yLabel)
	x1 := c.width - margin
	band := (x1 - x0) / vg.Length(len(r.Groups))
	slot := min(12, band*0.82/vg.Length(len(r.Series)))
	if slot < 3 && len(r.Series) > 1 || band < plain.size*0.5 {
		return nil, fmt.Errorf("plots: %w: %d groups of %d series are too many for a width of %.0f mm",
			ErrNoRoom, len(r.Groups), len(r.Series), float64(c.width/vg.Millimeter))
	}
	groupLabels, upright, err := wrapGroups(r.Groups, band)
	if err != nil {
		return nil, err
	}

	radius := min(2.3, slot*0.42)
	y := c.heading(r.Title, r.keys()) + 2
	bottom := y + panel
	ys := scale{low: 0, high: high, from: bottom, to: y}
	for _, t := range ticks[1:] {
		c.line(pen{color: pale, width: hairline}, vg.Point{X: x0, Y: ys.at(t)}, vg.Point{X: x1, Y: ys.at(t)})
	}
	if len(r.Series) > 1 {
		for i := 1; i < len(r.Groups); i++ {
			x := x0 + band*vg.Length(i)
			c.line(pen{color: pale, width: axisWidth}, vg.Point{X: x, Y: y}, vg.Point{X: x, Y: bottom})
		}
	}
	c.yAxis(x0, ys, ticks, labels, yLabel, margin)
	c.line(axisPen, vg.Point{X: x0, Y: bottom}, vg.Point{X: x1, Y: bottom})

	under, cut := bottom, false
	for i := range r.Groups {
		mid := x0 + band*(vg.Length(i)+0.5)
		c.line(axisPen, vg.Point{X: mid, Y: bottom}, vg.Point{X: mid, Y: bottom + tickLength})
		under = max(under, c.groupLabel(groupLabels[i], upright, mid, bottom+tickLength+2))
		for j, s := range r.Series {
			shift := slot * (vg.Length(j) - vg.Length(len(r.Series)-1)/2)
			cut = c.rate(s.Estimates[i], j, mid+shift, ys, radius) || cut
		}
	}
	under = c.axisLabel(r.XLabel, (x0+x1)/2, under)
	note := r.Note
	if cut {
		note = sentence(" ", note, arrowNote)
	}
	return c.finish(c.note(note, under) + margin), nil
}

// rate draws one estimate at x and reports whether its upper limit lies beyond
// the axis.
func (c *canvas) rate(e stats.Estimate, series int, x vg.Length, ys scale, radius vg.Length) (cut bool) {
	if math.IsNaN(e.Value) {
		return false
	}
	col := colour(series)
	low, high := e.Value, e.Value
	if !math.IsNaN(e.Lower) {
		low = max(0, min(low, e.Lower))
	}
	if !math.IsNaN(e.Upper) {
		cut = e.Upper > ys.high
		high = max(high, min(e.Upper, ys.high))
	}
	if high > low {
		tip := ys.at(high)
		if cut {
			c.arrow(vg.Point{X: x, Y: tip}, 0, -1, col)
			tip += 3
		}
		c.line(pen{color: col, width: 0.8}, vg.Point{X: x, Y: ys.at(low)}, vg.Point{X: x, Y: tip})
	}
	c.marker(shape(series%int(shapes)), vg.Point{X: x, Y: ys.at(e.Value)}, radius, col)
	return cut
}

// keys returns the legend; a single series without name has none.
func (r Rates) keys() []key {
	var keys []key
	for i, s := range r.Series {
		if clean(s.Name) == "" {
			return nil
		}
		keys = append(keys, key{name: s.Name, width: 6, sample: func(c *canvas, p vg.Point) {
			c.marker(shape(i%int(shapes)), vg.Point{X: p.X + 3, Y: p.Y}, 2.3, colour(i))
		}})
	}
	return keys
}

// describe returns the figure in words.
func (r Rates) describe() string {
	var b strings.Builder
	b.WriteString(sentence(", by ", sentence(" ", "Rates:", r.YLabel), r.XLabel) + ".")
	for i, g := range r.Groups {
		b.WriteString(" " + clean(g) + ":")
		for j, s := range r.Series {
			if j > 0 {
				b.WriteByte(';')
			}
			b.WriteString(" " + sentence(" ", s.Name, describe(s.Estimates[i])))
		}
		b.WriteByte('.')
	}
	if n := clean(r.Note); n != "" {
		b.WriteString(" " + n)
	}
	return b.String()
}
