package plots

import (
	"fmt"
	"math"
	"strconv"

	"heelcohort/stats"

	"gonum.org/v1/plot/vg"
)

// A Survival is a survival figure: curves with bands, and beneath them a table
// of numbers at risk, censored and events, aligned to the axis ticks.
//
// The y axis runs from 0 to 100 per cent, the x axis from 0 to the last tick
// or the last time, whichever is later. A curve is 1 from time 0 to its first
// time and ends at its last. Short upright strokes mark censoring. Where a
// limit is NaN there is no band, where the curve is NaN there is a gap; limits
// outside 0 to 1 are drawn at the edge.
type Survival struct {
	Title, XLabel, YLabel string
	Curves                []SurvivalCurve
	Ticks                 []float64 // of the time axis, from 0
	Note                  string    // under the table, such as the log-rank P
	Size                  Size
}

// A SurvivalCurve is one group's curve with its row of the table, one entry a
// tick: at risk just before it, events and censored up to and including it. A
// negative entry is shown as a dash: withheld, or not known. A block of the
// table that no curve has (nil for all) is left out. The name of a single
// curve may be left out.
type SurvivalCurve struct {
	Name                     string
	Curve                    stats.Curve
	AtRisk, Events, Censored []int
}

// Draw lays the figure out.
func (s Survival) Draw() (*Figure, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	natural := min(s.Size.width()*0.6, 215)
	c, err := s.Size.fit(natural, 60, s.layout)
	if err != nil {
		return nil, err
	}
	return &Figure{canvas: c, title: clean(s.Title), text: s.describe()}, nil
}

// check refuses what cannot be drawn.
func (s Survival) check() error {
	if err := s.checkFrame(); err != nil {
		return err
	}
	drawn := false
	for i, c := range s.Curves {
		if err := s.checkName(i); err != nil {
			return err
		}
		if err := c.check(); err != nil {
			return fmt.Errorf("plots: curve %d %q: %w", i+1, c.Name, err)
		}
		for _, v := range c.Curve.Survival {
			drawn = drawn || !math.IsNaN(v)
		}
	}
	return s.checkDrawn(drawn, s.end())
}

// check refuses a curve that is none.
func (c SurvivalCurve) check() error {
	k := c.Curve
	n := len(k.Time)
	for _, part := range []struct {
		name string
		n    int
		may  bool // be absent
	}{
		{"survival values", len(k.Survival), false},
		{"lower limits", len(k.Lower), true},
		{"upper limits", len(k.Upper), true},
		{"numbers censored", len(k.Censored), true},
	} {
		if part.n != n && !(part.may && part.n == 0) {
			return fmt.Errorf("%d %s for %d times", part.n, part.name, n)
		}
	}
	if len(k.Lower) != len(k.Upper) {
		return fmt.Errorf("%d lower and %d upper limits", len(k.Lower), len(k.Upper))
	}
	if err := checkTimes("time", k.Time); err != nil {
		return err
	}
	for i, t := range k.Time {
		if v := k.Survival[i]; v < 0 || v > 1 {
			return fmt.Errorf("survival %v at time %v, want 0 to 1", v, t)
		}
		if len(k.Lower) > 0 && k.Lower[i] > k.Upper[i] {
			return fmt.Errorf("lower limit %v is above upper limit %v at time %v", k.Lower[i], k.Upper[i], t)
		}
	}
	return nil
}

// end returns the end of the time axis.
func (s Survival) end() float64 {
	end := s.Ticks[len(s.Ticks)-1]
	for _, c := range s.Curves {
		if n := len(c.Curve.Time); n > 0 {
			end = max(end, c.Curve.Time[n-1])
		}
	}
	return end
}

// tickLabel returns a time as the axis shows it.
func tickLabel(t float64) string {
	if t >= 1e6 || t > 0 && t < 1e-4 {
		return exponent(t)
	}
	x, err := strconv.ParseFloat(strconv.FormatFloat(t, 'g', 5, 64), 64)
	if err != nil || t == math.Trunc(t) {
		x = t
	}
	return strconv.FormatFloat(x, 'f', -1, 64)
}

// layout draws the figure with a panel of the given height.
func (s Survival) layout(panel vg.Length) (*canvas, error) {
	c := newCanvas(s.Size.width())
	ticks := []float64{0, 0.2, 0.4, 0.6, 0.8, 1}
	labels := []string{"0%", "20%", "40%", "60%", "80%", "100%"}
	yLabel := plain.wrap(s.YLabel, panel)
	axis, err := s.timeAxis(c, yMargin(labels, yLabel), s.end())
	if err != nil {
		return nil, err
	}
	xs := axis.scale
	y := c.heading(s.Title, s.keys()) + 2
	bottom := y + panel
	ys := scale{low: 0, high: 1, from: bottom, to: y}
	// Bands before curves, so that no band hides a line.
	for i, k := range s.Curves {
		c.band(k.Curve, xs, ys, i)
	}
	for i, k := range s.Curves {
		c.curve(k.Curve, xs, ys, i)
	}
	c.yAxis(xs.from, ys, ticks, labels, yLabel, xs.from-yMargin(labels, yLabel))
	return c.finish(c.note(s.Note, axis.under(c, bottom, s)) + margin), nil
}

// keys returns the legend; a single curve without name has none.
func (s Survival) keys() []key {
	var keys []key
	for i, k := range s.Curves {
		if clean(k.Name) == "" {
			return nil
		}
		keys = append(keys, key{name: k.Name, width: 22, sample: func(c *canvas, p vg.Point) {
			c.line(pen{color: colour(i), width: lineWidth, dash: dash(i)}, p, vg.Point{X: p.X + 22, Y: p.Y})
		}})
	}
	return keys
}

// band draws the band between the limits of curve i as steps: a light tint,
// through which other bands remain visible, and thin edges.
func (c *canvas) band(k stats.Curve, xs, ys scale, i int) {
	if len(k.Lower) == 0 {
		return
	}
	ok := func(j int) bool {
		return j < len(k.Time) && !math.IsNaN(k.Lower[j]) && !math.IsNaN(k.Upper[j]) && !math.IsNaN(k.Survival[j])
	}
	edge := func(v float64) vg.Length { return ys.at(min(max(v, 0), 1)) }
	tint := colour(i)
	tint.A = 36
	for j := 0; j < len(k.Time); j++ {
		if !ok(j) {
			continue
		}
		var upper, lower []vg.Point
		for ; ok(j) && j+1 < len(k.Time); j++ {
			a, b := xs.at(k.Time[j]), xs.at(k.Time[j+1])
			u, l := edge(k.Upper[j]), edge(k.Lower[j])
			upper = append(upper, vg.Point{X: a, Y: u}, vg.Point{X: b, Y: u})
			lower = append(lower, vg.Point{X: a, Y: l}, vg.Point{X: b, Y: l})
		}
		if len(upper) == 0 {
			continue
		}
		var p vg.Path
		p.Move(upper[0])
		for _, q := range upper[1:] {
			p.Line(q)
		}
		for m := len(lower) - 1; m >= 0; m-- {
			p.Line(lower[m])
		}
		p.Close()
		c.fill(p, tint)
		thin := pen{color: colour(i), width: 0.35, dash: dash(i)}
		c.line(thin, upper...)
		c.line(thin, lower...)
	}
}

// curve draws the steps of curve i and its censorings.
func (c *canvas) curve(k stats.Curve, xs, ys scale, i int) {
	n := pen{color: colour(i), width: lineWidth, dash: dash(i)}
	points := []vg.Point{{X: xs.at(0), Y: ys.at(1)}}
	var strokes vg.Path
	value := 1.0
	for j, t := range k.Time {
		x := xs.at(t)
		if !math.IsNaN(value) {
			points = append(points, vg.Point{X: x, Y: ys.at(value)})
		}
		if was := value; math.IsNaN(k.Survival[j]) || math.IsNaN(was) {
			if len(points) > 1 {
				c.line(n, points...)
			}
			points = nil
		}
		value = k.Survival[j]
		if math.IsNaN(value) {
			continue
		}
		y := ys.at(value)
		points = append(points, vg.Point{X: x, Y: y})
		if len(k.Censored) > 0 && k.Censored[j] > 0 {
			strokes.Move(vg.Point{X: x, Y: y - 2})
			strokes.Line(vg.Point{X: x, Y: y + 2})
		}
	}
	if len(points) > 1 {
		c.line(n, points...)
	}
	if len(strokes) > 0 {
		c.stroke(strokes, pen{color: colour(i), width: 0.6})
	}
}

// describe returns the figure in words: each curve at the ticks.
func (s Survival) describe() string {
	return s.words("Survival curves:", func(i int, t float64) string { return s.Curves[i].at(t) })
}

// at returns the curve's value at time t in words.
func (k SurvivalCurve) at(t float64) string {
	value := 1.0
	for j, u := range k.Curve.Time {
		if u <= t {
			value = k.Curve.Survival[j]
		}
	}
	n := len(k.Curve.Time)
	if n == 0 || t > k.Curve.Time[n-1] || math.IsNaN(value) {
		return "no estimate"
	}
	return strconv.FormatFloat(100*value, 'f', 1, 64) + "%"
}
