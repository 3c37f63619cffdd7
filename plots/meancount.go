package plots

import (
	"fmt"
	"math"
	"strconv"

	"heelcohort/stats"

	"gonum.org/v1/plot/vg"
)

// A MeanCount is a figure of events that recur: mean cumulative counts as steps
// from 0 with their bands, and beneath them a table of numbers at risk and
// events, aligned to the axis ticks.
//
// The y axis runs from 0 to above the highest curve and, unless they are far
// above it, the limits; the x axis from 0 to the last tick or the last time,
// whichever is later. A curve is 0 from time 0 to its first time and is drawn
// to End. Where a limit is NaN there is no band, where the count is NaN a gap;
// limits beyond the axis are drawn at its edge.
type MeanCount struct {
	Title, XLabel, YLabel string
	Curves                []MeanCountCurve
	Ticks                 []float64 // of the time axis, from 0
	Note                  string    // under the table, such as the P of a test
	Size                  Size
}

// A MeanCountCurve is one group's curve with its row of the table, one entry a
// tick: at risk there, events up to and including it. A negative entry is shown
// as a dash. Nil for all curves leaves the block of the table out. The name of a
// single curve may be left out.
type MeanCountCurve struct {
	Name           string
	Curve          stats.CountCurve
	End            float64 // the last time under observation; 0: the last time of the curve
	AtRisk, Events []int
}

// limitRoom is how far above the highest count the axis goes for limits.
const limitRoom = 2.5

// Draw lays the figure out.
func (m MeanCount) Draw() (*Figure, error) {
	if err := m.check(); err != nil {
		return nil, err
	}
	natural := min(m.Size.width()*0.6, 215)
	c, err := m.Size.fit(natural, 60, m.layout)
	if err != nil {
		return nil, err
	}
	return &Figure{canvas: c, title: clean(m.Title), text: m.describe()}, nil
}

// check refuses what cannot be drawn.
func (m MeanCount) check() error {
	table := m.asSurvival()
	if err := table.checkFrame(); err != nil {
		return err
	}
	drawn := false
	for i, c := range m.Curves {
		if err := table.checkName(i); err != nil {
			return err
		}
		if err := c.check(); err != nil {
			return fmt.Errorf("plots: curve %q: %w", c.Name, err)
		}
		for _, v := range c.Curve.Count {
			drawn = drawn || !math.IsNaN(v)
		}
	}
	return table.checkDrawn(drawn, m.end())
}

// check refuses a curve that is none.
func (c MeanCountCurve) check() error {
	k := c.Curve
	n := len(k.Time)
	if len(k.Count) != n {
		return fmt.Errorf("%d counts for %d times", len(k.Count), n)
	}
	if len(k.Lower) != len(k.Upper) || len(k.Lower) != 0 && len(k.Lower) != n {
		return fmt.Errorf("%d lower and %d upper limits for %d times", len(k.Lower), len(k.Upper), n)
	}
	if !(c.End >= 0) || math.IsInf(c.End, 0) {
		return fmt.Errorf("end %v, want a finite time", c.End)
	}
	if err := checkTimes("time", k.Time); err != nil {
		return err
	}
	for i, t := range k.Time {
		if v := k.Count[i]; v < 0 || math.IsInf(v, 0) {
			return fmt.Errorf("count %v at time %v, want finite counts from 0", v, t)
		}
		if len(k.Lower) > 0 && k.Lower[i] > k.Upper[i] {
			return fmt.Errorf("lower limit %v is above upper limit %v at time %v", k.Lower[i], k.Upper[i], t)
		}
	}
	return nil
}

// end returns the end of the time axis.
func (m MeanCount) end() float64 {
	end := m.Ticks[len(m.Ticks)-1]
	for _, c := range m.Curves {
		end = max(end, c.end())
	}
	return end
}

// end is the last time to which the curve is drawn.
func (c MeanCountCurve) end() float64 {
	if n := len(c.Curve.Time); n > 0 {
		return max(c.End, c.Curve.Time[n-1])
	}
	return c.End
}

// top is the end of the axis of counts.
func (m MeanCount) top() float64 {
	count, limit := 0.0, 0.0
	for _, c := range m.Curves {
		for i, v := range c.Curve.Count {
			if math.IsNaN(v) {
				continue
			}
			count = max(count, v)
			lasts := i+1 < len(c.Curve.Time) || c.end() > c.Curve.Time[i]
			if lasts && len(c.Curve.Upper) > 0 && !math.IsNaN(c.Curve.Upper[i]) {
				limit = max(limit, c.Curve.Upper[i])
			}
		}
	}
	if count == 0 {
		return 1
	}
	return max(count, min(limit, limitRoom*count))
}

// above reports whether a limit is beyond the axis.
func (m MeanCount) above(top float64) bool {
	for _, c := range m.Curves {
		for i, v := range c.Curve.Upper {
			if v > top && c.end() > c.Curve.Time[i] {
				return true
			}
		}
	}
	return false
}

// asSurvival has the labels, the names, and the ticks and numbers of the table.
func (m MeanCount) asSurvival() Survival {
	s := Survival{XLabel: m.XLabel, YLabel: m.YLabel, Ticks: m.Ticks, Note: m.Note, Size: m.Size}
	for _, c := range m.Curves {
		s.Curves = append(s.Curves, SurvivalCurve{Name: c.Name, AtRisk: c.AtRisk, Events: c.Events})
	}
	return s
}

// layout draws the figure with a panel of the given height.
func (m MeanCount) layout(panel vg.Length) (*canvas, error) {
	c := newCanvas(m.Size.width())
	ticks, labels := linearTicks(0, m.top(), 6)
	top := ticks[len(ticks)-1]
	yLabel := plain.wrap(m.YLabel, panel)
	frame := m.asSurvival()
	axis, err := frame.timeAxis(c, yMargin(labels, yLabel), m.end())
	if err != nil {
		return nil, err
	}
	xs := axis.scale
	y := c.heading(m.Title, frame.keys()) + 2
	bottom := y + panel
	ys := scale{low: 0, high: top, from: bottom, to: y}
	for i, k := range m.Curves { // bands before curves, so that no band hides a line
		c.countBand(k, xs, ys, i)
	}
	for i, k := range m.Curves {
		c.countCurve(k, xs, ys, i)
	}
	c.yAxis(xs.from, ys, ticks, labels, yLabel, xs.from-yMargin(labels, yLabel))
	under := axis.under(c, bottom, frame)
	note := m.Note
	if m.above(top) {
		note = sentence(" ", note, "Limits above the axis are cut off at it.")
	}
	return c.finish(c.note(note, under) + margin), nil
}

// countBand draws the band between the limits of curve i as steps. The last
// step goes on to the end of the curve.
func (c *canvas) countBand(k MeanCountCurve, xs, ys scale, i int) {
	as := stats.Curve{Time: k.Curve.Time, Survival: k.Curve.Count}
	for j := range k.Curve.Lower {
		as.Lower = append(as.Lower, min(k.Curve.Lower[j], ys.high)/ys.high)
		as.Upper = append(as.Upper, min(k.Curve.Upper[j], ys.high)/ys.high)
	}
	if n := len(as.Time); n > 0 && k.end() > as.Time[n-1] && len(as.Lower) > 0 {
		as.Time = append(as.Time[:n:n], k.end())
		as.Survival = append(as.Survival[:n:n], as.Survival[n-1])
		as.Lower, as.Upper = append(as.Lower, as.Lower[n-1]), append(as.Upper, as.Upper[n-1])
	}
	c.band(as, xs, scale{low: 0, high: 1, from: ys.from, to: ys.to}, i)
}

// countCurve draws the steps of curve i.
func (c *canvas) countCurve(k MeanCountCurve, xs, ys scale, i int) {
	n := pen{color: colour(i), width: lineWidth, dash: dash(i)}
	points := []vg.Point{{X: xs.at(0), Y: ys.at(0)}}
	value := 0.0
	flush := func() {
		if len(points) > 1 {
			c.line(n, points...)
		}
		points = nil
	}
	step := func(at, next float64) {
		if !math.IsNaN(value) {
			points = append(points, vg.Point{X: xs.at(at), Y: ys.at(value)})
		}
		if math.IsNaN(next) || math.IsNaN(value) {
			flush()
		}
		if value = next; !math.IsNaN(value) {
			points = append(points, vg.Point{X: xs.at(at), Y: ys.at(value)})
		}
	}
	for j, t := range k.Curve.Time {
		step(t, k.Curve.Count[j])
	}
	if end := k.end(); !math.IsNaN(value) && end > 0 {
		points = append(points, vg.Point{X: xs.at(end), Y: ys.at(value)})
	}
	flush()
}

// describe returns the figure in words: each curve at the ticks.
func (m MeanCount) describe() string {
	return m.asSurvival().words("Mean cumulative counts:", func(i int, t float64) string { return m.Curves[i].at(t) })
}

// at returns the count at time t in words.
func (k MeanCountCurve) at(t float64) string {
	value := 0.0
	for j, u := range k.Curve.Time {
		if u <= t {
			value = k.Curve.Count[j]
		}
	}
	if t > k.end() || math.IsNaN(value) {
		return "no estimate"
	}
	return strconv.FormatFloat(value, 'f', 3, 64)
}
