package plots

import (
	"fmt"
	"image/color"
	"math"
	"slices"
	"strconv"

	"heelcohort/stats"

	"gonum.org/v1/plot/vg"
)

// An Agreement shows the difference of two measurements against their mean,
// with the mean difference and the limits of agreement as lines and their
// confidence limits as bands. Pairs are points, or counts in cells where no
// single pair may be shown.
//
// Points are rings, those at one place one ring whose area grows with their
// number, so that what lies upon each other is seen. The axis of differences
// reaches every point and cell, 0, and limits within three times the span of
// the lines; a band beyond is cut at the edge, and a note says so.
type Agreement struct {
	Title, XLabel, YLabel string
	Bias, Lower, Upper    stats.Estimate // NaN limits: a line without a band
	Points                []AgreementPoint
	Cells                 []AgreementCell
	BandName              string // "95% CI"
	Note                  string
	Size                  Size
}

// An AgreementPoint is one pair.
type AgreementPoint struct{ Mean, Difference float64 }

// An AgreementCell is a rectangle with a number of pairs in it.
type AgreementCell struct {
	Left, Right, Bottom, Top float64
	Count                    int
}

// Draw lays the figure out.
func (a Agreement) Draw() (*Figure, error) {
	if err := a.check(); err != nil {
		return nil, err
	}
	c, err := a.Size.fit(min(a.Size.width()*0.6, 220), 80, a.layout)
	if err != nil {
		return nil, err
	}
	return &Figure{canvas: c, title: clean(a.Title), text: a.describe()}, nil
}

// lines lists the three lines from below.
func (a Agreement) lines() [3]stats.Estimate { return [3]stats.Estimate{a.Lower, a.Bias, a.Upper} }

// check refuses what cannot be drawn.
func (a Agreement) check() error {
	if err := a.Size.check(); err != nil {
		return err
	}
	for i, e := range a.lines() {
		name := [3]string{"lower limit of agreement", "mean difference", "upper limit of agreement"}[i]
		if math.IsNaN(e.Value) {
			return fmt.Errorf("plots: %w: the %s is not estimable", ErrNoData, name)
		}
		if !(math.Abs(e.Value) <= mostValue) {
			return fmt.Errorf("plots: %s %v, want a number of at most %v", name, e.Value, mostValue)
		}
		if err := checkLimits(e); err != nil {
			return fmt.Errorf("plots: %s: %w", name, err)
		}
	}
	if !(a.Lower.Value < a.Upper.Value) {
		return fmt.Errorf("plots: limits of agreement %v to %v, want ascending ones", a.Lower.Value, a.Upper.Value)
	}
	if len(a.Points) == 0 && len(a.Cells) == 0 {
		return fmt.Errorf("plots: %w: no point and no cell", ErrNoData)
	}
	for i, p := range a.Points {
		if !(math.Abs(p.Mean) <= mostValue && math.Abs(p.Difference) <= mostValue) {
			return fmt.Errorf("plots: point %d at %v, %v, want numbers", i+1, p.Mean, p.Difference)
		}
	}
	for i, c := range a.Cells {
		if !(c.Left < c.Right && c.Bottom < c.Top && math.Abs(c.Left)+math.Abs(c.Right)+math.Abs(c.Bottom)+math.Abs(c.Top) <= mostValue) || c.Count < 1 {
			return fmt.Errorf("plots: cell %d of %d pairs from %v to %v and %v to %v", i+1, c.Count, c.Left, c.Right, c.Bottom, c.Top)
		}
		for _, d := range a.Cells[:i] {
			if c.Left < d.Right-slack(d.Left, d.Right) && d.Left < c.Right-slack(d.Left, d.Right) &&
				c.Bottom < d.Top-slack(d.Bottom, d.Top) && d.Bottom < c.Top-slack(d.Bottom, d.Top) {
				return fmt.Errorf("plots: cell %d lies upon another", i+1)
			}
		}
	}
	return nil
}

// slack is what the edges of neighbours may differ by.
func slack(from, to float64) float64 { return 1e-6 * (to - from) }

// reach returns the ends of the axes.
func (a Agreement) reach() (left, right, low, high float64) {
	left, right = math.Inf(1), math.Inf(-1)
	low, high = min(0, a.Lower.Value), max(0, a.Upper.Value)
	visit := func(x, y float64) {
		left, right, low, high = min(left, x), max(right, x), min(low, y), max(high, y)
	}
	for _, p := range a.Points {
		visit(p.Mean, p.Difference)
	}
	for _, c := range a.Cells {
		visit(c.Left, c.Bottom)
		visit(c.Right, c.Top)
	}
	floor, ceiling := a.Lower.Value-(a.Upper.Value-a.Lower.Value), a.Upper.Value+(a.Upper.Value-a.Lower.Value)
	for _, e := range a.lines() {
		if e.Lower >= floor {
			low = min(low, e.Lower)
		} else if !math.IsNaN(e.Lower) {
			low = min(low, floor)
		}
		if e.Upper <= ceiling {
			high = max(high, e.Upper)
		} else if !math.IsNaN(e.Upper) {
			high = max(high, ceiling)
		}
	}
	if !(right-left > 1e-9*max(math.Abs(left), math.Abs(right), leastValue)) {
		wide := max(math.Abs(left)/2, 0.5)
		left, right = left-wide, right+wide
	}
	margin := 0.04 * (right - left)
	return left - margin, right + margin, low, high
}

// innerTicks are round values within low and high.
func innerTicks(low, high float64, fits func(ticks []float64, labels []string) bool) (ticks []float64, labels []string) {
	for most := 8; most >= 1; most-- {
		all, words := linearTicks(low, high, most)
		ticks, labels = nil, nil
		for i, t := range all {
			if slack := 1e-9 * (high - low); t >= low-slack && t <= high+slack {
				ticks, labels = append(ticks, t), append(labels, words[i])
			}
		}
		if fits(ticks, labels) {
			break
		}
	}
	return ticks, labels
}

// layout draws the figure with a panel of the given height.
func (a Agreement) layout(panel vg.Length) (*canvas, error) {
	c := newCanvas(a.Size.width())
	left, right, low, high := a.reach()
	y := c.heading(a.Title, a.keys()) + 6
	bottom := y + panel
	ys := scale{low: low, high: high, from: bottom - 4, to: y + 4}
	yTicks, yLabels := innerTicks(low, high, func(t []float64, _ []string) bool {
		return len(t) < 2 || ys.at(t[0])-ys.at(t[1]) > 1.6*plain.line()
	})
	yLabel := plain.wrap(a.YLabel, panel)
	x0 := margin + yMargin(yLabels, yLabel)
	x1 := c.width - margin
	xs := scale{low: left, high: right, from: x0 + 4, to: x1 - 4}
	xTicks, xLabels := innerTicks(left, right, func(t []float64, l []string) bool {
		for i := range t {
			if half := plain.width(l[i]) / 2; xs.at(t[i])+half > c.width-margin || xs.at(t[i])-half < margin {
				return false
			}
		}
		return tickRoom(xs, t, l)
	})
	if xs.to-xs.from < 40 || !tickRoom(xs, xTicks, xLabels) {
		return nil, fmt.Errorf("plots: %w: the axis is %.0f mm wide", ErrNoRoom, float64((xs.to-xs.from)/vg.Millimeter))
	}
	a.cells(c, xs, ys)
	cut := a.bands(c, x0, x1, ys)
	c.line(pen{color: grey, width: hairline}, vg.Point{X: x0, Y: ys.at(0)}, vg.Point{X: x1, Y: ys.at(0)})
	a.points(c, xs, ys)
	for i, e := range a.lines() {
		c.line(agreementPen(i), vg.Point{X: x0, Y: ys.at(e.Value)}, vg.Point{X: x1, Y: ys.at(e.Value)})
	}
	a.counts(c, xs, ys)
	c.line(axisPen, vg.Point{X: x0, Y: bottom}, vg.Point{X: x0, Y: y})
	c.yAxis(x0, ys, yTicks, yLabels, yLabel, margin)
	under := c.xAxis(bottom, xs, xTicks, xLabels)
	c.line(axisPen, vg.Point{X: x0, Y: bottom}, vg.Point{X: x1, Y: bottom})
	under = c.axisLabel(a.XLabel, (x0+x1)/2, under)
	note := a.Note
	if cut {
		note = sentence(" ", note, cutNote)
	}
	return c.finish(c.note(note, under) + margin), nil
}

// agreementPen is that of line i from below: the mean difference is whole, the
// limits of agreement are dashed.
func agreementPen(i int) pen {
	if i == 1 {
		return pen{color: black, width: lineWidth}
	}
	return pen{color: black, width: lineWidth, dash: dash(1)}
}

// bandColour is light enough for lines and rings on it.
func bandColour() color.NRGBA {
	tint := colour(1)
	tint.A = 44
	return tint
}

// bands draws the confidence limits of the lines and reports whether any was
// cut.
func (a Agreement) bands(c *canvas, x0, x1 vg.Length, ys scale) (cut bool) {
	for _, e := range a.lines() {
		if math.IsNaN(e.Lower) || math.IsNaN(e.Upper) {
			continue
		}
		at := func(v float64) vg.Length { return ys.at(min(max(v, ys.low), ys.high)) }
		c.rect(x0, at(e.Upper), x1, at(e.Lower), bandColour())
		for _, v := range []float64{e.Upper, e.Lower} {
			if v < ys.low || v > ys.high {
				cut = true // no edge along the edge of the axis
				continue
			}
			c.line(pen{color: grey, width: hairline}, vg.Point{X: x0, Y: at(v)}, vg.Point{X: x1, Y: at(v)})
		}
	}
	return cut
}

// places counts the points at each place, in order of their first.
func (a Agreement) places() (places []AgreementPoint, counts []int) {
	index := map[AgreementPoint]int{}
	for _, p := range a.Points {
		i, known := index[p]
		if !known {
			i = len(places)
			index[p] = i
			places, counts = append(places, p), append(counts, 0)
		}
		counts[i]++
	}
	return places, counts
}

// ringRadius is the half width of the ring of n points.
func ringRadius(n int) vg.Length { return vg.Length(min(1.5*math.Sqrt(float64(n)), 9)) }

// ring draws the ring of n points at one place.
func (c *canvas) ring(p vg.Point, n int) {
	path := disc.path(p, ringRadius(n))
	tint := colour(2)
	tint.A = 60
	c.fill(path, tint)
	c.stroke(path, pen{color: colour(2), width: 0.7})
}

func (a Agreement) points(c *canvas, xs, ys scale) {
	places, counts := a.places()
	for i, p := range places {
		c.ring(vg.Point{X: xs.at(p.Mean), Y: ys.at(p.Difference)}, counts[i])
	}
}

// most is the largest number of pairs in a cell.
func (a Agreement) most() int {
	most := 0
	for _, c := range a.Cells {
		most = max(most, c.Count)
	}
	return most
}

// cells shades the cells; the fullest one is not the darkest shade, so that
// lines are seen on it.
func (a Agreement) cells(c *canvas, xs, ys scale) {
	for _, k := range a.Cells {
		x0, x1, y0, y1 := xs.at(k.Left), xs.at(k.Right), ys.at(k.Top), ys.at(k.Bottom)
		c.rect(x0, y0, x1, y1, a.ground(k))
		c.frame(x0, y0, x1, y1, pen{color: white, width: axisWidth})
	}
}

// ground is the shade of a cell.
func (a Agreement) ground(k AgreementCell) color.NRGBA {
	return shade(0.7 * float64(k.Count) / float64(a.most()))
}

// counts writes the number of pairs in each cell that has room for it.
func (a Agreement) counts(c *canvas, xs, ys scale) {
	for _, k := range a.Cells {
		x0, x1, y0, y1 := xs.at(k.Left), xs.at(k.Right), ys.at(k.Top), ys.at(k.Bottom)
		s := strconv.Itoa(k.Count)
		wide := plain.width(s)
		if wide+2 > x1-x0 || plain.line() > y1-y0 {
			continue
		}
		p := vg.Point{X: (x0 + x1) / 2, Y: (y0+y1)/2 + plain.size*0.35}
		c.rect(p.X-wide/2-1, p.Y-plain.size*0.8, p.X+wide/2+1, p.Y+plain.size*0.15, a.ground(k))
		c.place(text{s: s, at: p, align: center, style: plain, ink: inkOn(a.ground(k))})
	}
}

// keys returns the legend.
func (a Agreement) keys() []key {
	const wide = 22
	line := func(name string, i int) key {
		return key{name: name, width: wide, sample: func(c *canvas, p vg.Point) {
			c.line(agreementPen(i), p, vg.Point{X: p.X + wide, Y: p.Y})
		}}
	}
	keys := []key{line("mean difference", 1), line("limits of agreement", 0)}
	if name := clean(a.BandName); name != "" {
		keys = append(keys, key{name: name, width: wide, sample: func(c *canvas, p vg.Point) {
			c.rect(p.X, p.Y-3.5, p.X+wide, p.Y+3, bandColour())
			c.frame(p.X, p.Y-3.5, p.X+wide, p.Y+3, pen{color: grey, width: hairline})
		}})
	}
	ring := func(name string, n int) key {
		wide := 2*ringRadius(n) + 2
		return key{name: name, width: wide, sample: func(c *canvas, p vg.Point) { c.ring(vg.Point{X: p.X + wide/2, Y: p.Y}, n) }}
	}
	if _, counts := a.places(); len(counts) > 0 {
		keys = append(keys, ring("one pair", 1))
		if most := slices.Max(counts); most > 1 {
			keys = append(keys, ring(strconv.Itoa(most)+" pairs at one place", most))
		}
	}
	if len(a.Cells) > 0 {
		ground := shade(0.4)
		keys = append(keys, key{name: "cell with its number of pairs", width: 14, sample: func(c *canvas, p vg.Point) {
			c.rect(p.X, p.Y-3.5, p.X+14, p.Y+3, ground)
		}})
	}
	return keys
}

// describe returns the figure in words; of points only their number.
func (a Agreement) describe() string {
	text := sentence(" against ", a.YLabel, a.XLabel) + "."
	text += " Mean difference: " + describe(a.Bias) + ". Lower limit of agreement: " + describe(a.Lower) +
		". Upper limit of agreement: " + describe(a.Upper) + "."
	if n := len(a.Points); n > 0 {
		text += fmt.Sprintf(" %d pairs as points.", n)
	}
	for _, k := range a.Cells {
		text += fmt.Sprintf(" %s to %s, difference %s to %s: %d.", number(k.Left), number(k.Right), number(k.Bottom), number(k.Top), k.Count)
	}
	return sentence(" ", text, a.Note)
}
