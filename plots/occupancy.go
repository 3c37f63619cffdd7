package plots

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/plot/vg"
)

// An Occupancy shows how a group is spread over states in time: areas stacked
// on an axis from 0 to 100%, a panel a group, and beneath each the numbers under
// observation at the ticks. States have shades from light at the bottom to dark
// at the top, every second one is hatched, and an area with room for it carries
// its name.
//
// Time runs from 0 to the last tick or the last End, whichever is later, and is
// the same in all panels. Shares hold from one time to the next, the last to End;
// where one of them is NaN nothing is drawn.
type Occupancy struct {
	Title, XLabel, YLabel string
	States                []string // from the bottom up
	Panels                []OccupancyPanel
	Ticks                 []float64 // of the time axis, from 0
	Note                  string
	Size                  Size
}

// An OccupancyPanel is one group: shares by state, then one a time, that sum to 1
// at each time. The name of a single panel may be left out.
type OccupancyPanel struct {
	Name     string
	Time     []float64
	Share    [][]float64
	End      float64 // the last time of the last shares; 0: the last time
	Observed []int   // at each tick; negative: a dash; nil for all panels: none
}

// Draw lays the figure out.
func (o Occupancy) Draw() (*Figure, error) {
	if err := o.check(); err != nil {
		return nil, err
	}
	rows := vg.Length((len(o.Panels) + o.columns() - 1) / o.columns())
	natural := min(o.Size.width()*0.55, 150) * rows
	c, err := o.Size.fit(natural, 60*rows, func(free vg.Length) (*canvas, error) { return o.layout(free / rows) })
	if err != nil {
		return nil, err
	}
	return &Figure{canvas: c, title: clean(o.Title), text: o.describe()}, nil
}

// shareSlack is by how much shares may miss a sum of 1.
const shareSlack = 1e-6

// check refuses what cannot be drawn.
func (o Occupancy) check() error {
	frame := Survival{Ticks: o.Ticks, Size: o.Size}
	for _, p := range o.Panels {
		frame.Curves = append(frame.Curves, SurvivalCurve{Name: p.Name, AtRisk: p.Observed})
	}
	if err := frame.checkFrame(); err != nil {
		return err
	}
	drawn := false
	for i, p := range o.Panels {
		if err := frame.checkName(i); err != nil {
			return err
		}
		some, err := p.check(len(o.States))
		if err != nil {
			return fmt.Errorf("plots: panel %q: %w", p.Name, err)
		}
		drawn = drawn || some
	}
	return frame.checkDrawn(drawn, o.end())
}

// check reports whether a panel has anything to draw.
func (p OccupancyPanel) check(states int) (drawn bool, err error) {
	if err := checkTimes("time", p.Time); err != nil {
		return false, err
	}
	if len(p.Share) != states {
		return false, fmt.Errorf("shares of %d states, want %d", len(p.Share), states)
	}
	if !(p.End >= 0) || math.IsInf(p.End, 0) {
		return false, fmt.Errorf("end %v, want a finite time", p.End)
	}
	for j, shares := range p.Share {
		if len(shares) != len(p.Time) {
			return false, fmt.Errorf("%d shares of state %d at %d times", len(shares), j+1, len(p.Time))
		}
	}
	for i, t := range p.Time {
		sum := 0.0
		for _, shares := range p.Share {
			if shares[i] < 0 {
				return false, fmt.Errorf("a share of %v at time %v, want none below 0", shares[i], t)
			}
			sum += shares[i]
		}
		switch {
		case math.IsNaN(sum):
		case math.Abs(sum-1) > shareSlack:
			return false, fmt.Errorf("shares at time %v sum to %v, want 1", t, sum)
		default:
			drawn = true
		}
	}
	return drawn, nil
}

// end returns the end of the time axis.
func (o Occupancy) end() float64 {
	end := o.Ticks[len(o.Ticks)-1]
	for _, p := range o.Panels {
		end = max(end, p.end())
	}
	return end
}

// end is the last time to which a panel is drawn.
func (p OccupancyPanel) end() float64 {
	if n := len(p.Time); n > 0 {
		return max(p.End, p.Time[n-1])
	}
	return 0
}

// panelWidth is the least width that a panel should have beside others.
const panelWidth vg.Length = 125

// columns is the number of panels in a row, as equal as can be.
func (o Occupancy) columns() int {
	n := len(o.Panels)
	most := min(max(1, int((o.Size.width()-40)/panelWidth)), 3)
	rows := (n + most - 1) / most
	return (n + rows - 1) / rows
}

// layout draws the figure with panels of the given height.
func (o Occupancy) layout(height vg.Length) (*canvas, error) {
	c := newCanvas(o.Size.width())
	y := c.heading(o.Title, o.keys()) + 2
	shares, labels := []float64{0, 25, 50, 75, 100}, []string{"0", "25", "50", "75", "100"}
	yLabel := plain.wrap(o.YLabel, height)
	const apart = 24
	columns := o.columns()
	left0 := margin + yMargin(labels, yLabel)
	ticks := make([]string, len(o.Ticks))
	for i, t := range o.Ticks {
		ticks[i] = tickLabel(t)
	}
	beyond := vg.Length(0) // half of the last numbers stand beyond the axes
	for _, p := range o.Panels {
		beyond = max(beyond, p.half(len(ticks)-1, ticks))
	}
	width := (c.width - margin - beyond - left0 - apart*vg.Length(columns-1)) / vg.Length(columns)
	for first := 0; first < len(o.Panels); first += columns {
		row := o.Panels[first:min(first+columns, len(o.Panels))]
		top := y
		for _, p := range row {
			top = max(top, y+plain.line()*vg.Length(len(bold.wrap(p.Name, width)))+2)
		}
		bottom := top + height
		ys := scale{low: 0, high: 100, from: bottom, to: top}
		for k, p := range row {
			xs := scale{low: 0, high: o.end(), from: left0 + vg.Length(k)*(width+apart)}
			xs.to = xs.from + width
			if err := o.room(p, xs, ticks); err != nil {
				return nil, err
			}
			names := bold.wrap(p.Name, width)
			c.lines(names, xs.from, top-2-vg.Length(len(names))*bold.line(), left, bold)
			c.areas(o.States, p, xs, ys)
			if k == 0 {
				c.yAxis(xs.from, ys, shares, labels, yLabel, margin)
			} else {
				c.yAxis(xs.from, ys, shares, make([]string, len(shares)), nil, 0)
			}
			y = max(y, o.under(c, p, xs, bottom, ticks))
		}
		y += 2 * gap
	}
	return c.finish(c.note(o.Note, y-2*gap) + margin), nil
}

// half is half the room that tick i and the number beneath it take.
func (p OccupancyPanel) half(i int, ticks []string) vg.Length {
	w := plain.width(ticks[i])
	if p.Observed != nil {
		w = max(w, plain.width(count(p.Observed[i])))
	}
	return w / 2
}

// room refuses ticks that stand too close for their labels or for the numbers
// beneath them.
func (o Occupancy) room(p OccupancyPanel, xs scale, ticks []string) error {
	for i := 1; i < len(ticks); i++ {
		if xs.at(o.Ticks[i])-xs.at(o.Ticks[i-1]) < p.half(i-1, ticks)+p.half(i, ticks)+3 {
			return fmt.Errorf("plots: %w: ticks %s and %s stand too close for their numbers in a panel %.0f mm wide",
				ErrNoRoom, ticks[i-1], ticks[i], float64((xs.to-xs.from)/vg.Millimeter))
		}
	}
	return nil
}

// under draws the time axis of a panel and what stands beneath it, and returns
// where that ends.
func (o Occupancy) under(c *canvas, p OccupancyPanel, xs scale, bottom vg.Length, ticks []string) vg.Length {
	y := c.xAxis(bottom, xs, o.Ticks, ticks)
	y = c.lines(plain.wrap(o.XLabel, xs.to-xs.from), (xs.from+xs.to)/2, y+1, center, plain)
	if p.Observed == nil {
		return y
	}
	y = c.lines(bold.wrap("Under observation", xs.to-xs.from), xs.from, y+gap, left, bold)
	for i, t := range o.Ticks {
		c.text(count(p.Observed[i]), vg.Point{X: xs.at(t), Y: y + plain.ascent()}, center, plain)
	}
	return y + plain.line()
}

// keys returns the legend, the states from the bottom up.
func (o Occupancy) keys() []key {
	var keys []key
	for j, name := range o.States {
		keys = append(keys, key{name: name, width: 12, sample: func(c *canvas, p vg.Point) {
			x0, y0, x1, y1 := p.X, p.Y-3.5, p.X+12, p.Y+3.5
			c.rect(x0, y0, x1, y1, stateShade(j, len(o.States)))
			if hatched(j) {
				for x := x0 + hatchApart/2; x < x1; x += hatchApart {
					c.line(statePen(j, len(o.States)), vg.Point{X: x, Y: y0}, vg.Point{X: x, Y: y1})
				}
			}
			c.frame(x0, y0, x1, y1, edgePen)
		}})
	}
	return keys
}

// describe says what the figure shows: each panel at the ticks.
func (o Occupancy) describe() string {
	var b strings.Builder
	b.WriteString(sentence(", by ", sentence(" ", "Shares in states:", o.YLabel), o.XLabel) + ".")
	for _, p := range o.Panels {
		b.WriteString(" " + sentence(" ", p.Name, "at"))
		for i, t := range o.Ticks {
			if i > 0 {
				b.WriteByte(';')
			}
			b.WriteString(" " + tickLabel(t) + ": " + p.at(t, o.States))
			if p.Observed != nil && p.Observed[i] >= 0 {
				fmt.Fprintf(&b, " with %d under observation", p.Observed[i])
			}
		}
		b.WriteByte('.')
	}
	return sentence(" ", b.String(), o.Note)
}

// at returns the shares at a time in words.
func (p OccupancyPanel) at(t float64, states []string) string {
	i := -1
	for k, u := range p.Time {
		if u <= t {
			i = k
		}
	}
	if i < 0 || t > p.end() || !p.known(i) {
		return "no estimate"
	}
	var parts []string
	for j, name := range states {
		parts = append(parts, fmt.Sprintf("%s %.1f%%", clean(name), 100*p.Share[j][i]))
	}
	return strings.Join(parts, ", ")
}

// known reports whether all shares at time i are.
func (p OccupancyPanel) known(i int) bool {
	for _, shares := range p.Share {
		if math.IsNaN(shares[i]) {
			return false
		}
	}
	return true
}
