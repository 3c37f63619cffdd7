package plots

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"gonum.org/v1/plot/vg"
)

// A Curves shows estimates along a number (age, week of the season, day) with
// their limits: smooth lines in a band, steps, or points with bars.
//
// The y axis begins at 0, or is logarithmic. It reaches every estimate and the
// reference, and limits that are at most three times the largest estimate, on
// a log axis between a tenth of the least and ten times the largest; a band or
// bar beyond is cut at the edge, and a note says so.
type Curves struct {
	Title, XLabel, YLabel string
	Curves                []BandCurve
	Log                   bool      // the y axis; then every estimate is above 0
	Ticks                 []float64 // of the x axis, ascending; nil: chosen
	TickLabels            []string  // of Ticks; nil: the numbers
	Reference             float64   // a dashed level line; 0 or NaN: none
	ReferenceName         string
	Note                  string
	Size                  Size
}

// A CurveForm says how a curve is drawn.
type CurveForm int

// Forms of a curve.
const (
	Smooth CurveForm = iota // a line through the estimates, a band between the limits
	Steps                   // each estimate holds to the next X; the last to End
	Points                  // a marker with a bar at each X
)

// A BandCurve is one curve: slices of equal length, X ascending. A NaN
// Estimate leaves a gap; NaN limits leave the estimate without band or bar.
type BandCurve struct {
	Name                      string // of a single curve it may be left out
	X, Estimate, Lower, Upper []float64
	Form                      CurveForm
	End                       float64 // where the last step ends; the last X unless it is larger
}

const cutNote = "Limits beyond the axis are cut at its edge."

// Draw lays the figure out.
func (k Curves) Draw() (*Figure, error) {
	if err := k.check(); err != nil {
		return nil, err
	}
	natural := min(k.Size.width()*0.55, 200)
	c, err := k.Size.fit(natural, 60, k.layout)
	if err != nil {
		return nil, err
	}
	return &Figure{canvas: c, title: clean(k.Title), text: k.describe()}, nil
}

// check refuses what cannot be drawn.
func (k Curves) check() error {
	if err := k.Size.check(); err != nil {
		return err
	}
	if len(k.Curves) > seriesLimit {
		return fmt.Errorf("plots: %w: %d curves, at most %d can be told apart", ErrNoRoom, len(k.Curves), seriesLimit)
	}
	drawn := 0
	for _, b := range k.Curves {
		if clean(b.Name) == "" && len(k.Curves) > 1 {
			return fmt.Errorf("plots: a curve of %d has no name", len(k.Curves))
		}
		n, err := b.check(k.Log)
		if err != nil {
			return fmt.Errorf("plots: curve %q: %w", b.Name, err)
		}
		drawn += n
	}
	if drawn == 0 {
		return fmt.Errorf("plots: %w: no curve has an estimate", ErrNoData)
	}
	if k.TickLabels != nil && len(k.TickLabels) != len(k.Ticks) {
		return fmt.Errorf("plots: %d labels for %d ticks", len(k.TickLabels), len(k.Ticks))
	}
	for i, t := range k.Ticks {
		if !(math.Abs(t) <= mostValue) || i > 0 && !(k.Ticks[i-1] < t) {
			return fmt.Errorf("plots: ticks %v, want ascending numbers", k.Ticks)
		}
	}
	if r := k.Reference; r != 0 && !math.IsNaN(r) && !(r >= leastValue && r <= mostValue) {
		return fmt.Errorf("plots: reference %v, want a number from %v to %v, or 0 for none", r, leastValue, mostValue)
	}
	return nil
}

// check returns how many estimates a curve has.
func (b BandCurve) check(log bool) (drawn int, err error) {
	for _, list := range [][]float64{b.Estimate, b.Lower, b.Upper} {
		if len(list) != len(b.X) {
			return 0, fmt.Errorf("%d estimates, %d lower and %d upper limits at %d places",
				len(b.Estimate), len(b.Lower), len(b.Upper), len(b.X))
		}
	}
	for i, x := range b.X {
		if !(math.Abs(x) <= mostValue) || i > 0 && !(b.X[i-1] < x) {
			return 0, fmt.Errorf("place %d is %v, want ascending numbers", i+1, x)
		}
		v := b.Estimate[i]
		switch {
		case math.IsNaN(v):
			continue
		case v == 0 && !log:
		case !(v >= leastValue && v <= mostValue):
			return 0, fmt.Errorf("at %v: estimate %v, want a number from %v to %v", x, v, leastValue, mostValue)
		}
		if b.Lower[i] > b.Upper[i] {
			return 0, fmt.Errorf("at %v: lower limit %v is above upper limit %v", x, b.Lower[i], b.Upper[i])
		}
		drawn++
	}
	if math.IsInf(b.End, 0) || b.End > mostValue {
		return 0, fmt.Errorf("it ends at %v, want a number up to %v", b.End, mostValue)
	}
	return drawn, nil
}

// last is where a curve ends.
func (b BandCurve) last() float64 {
	end := b.X[len(b.X)-1]
	if b.Form == Steps && b.End > end {
		return b.End
	}
	return end
}

// banded reports whether estimate i has both limits.
func (b BandCurve) banded(i int) bool {
	return !math.IsNaN(b.Estimate[i]) && !math.IsNaN(b.Lower[i]) && !math.IsNaN(b.Upper[i])
}

// reachY returns the ends of the y axis.
func (k Curves) reachY() (low, high float64) {
	low, high = math.Inf(1), 0
	each := func(visit func(v, lower, upper float64)) {
		for _, b := range k.Curves {
			for i, v := range b.Estimate {
				if !math.IsNaN(v) {
					visit(v, b.Lower[i], b.Upper[i])
				}
			}
		}
	}
	each(func(v, _, _ float64) { low, high = min(low, v), max(high, v) })
	if k.Reference > 0 {
		low, high = min(low, k.Reference), max(high, k.Reference)
	}
	floor, ceiling := low/10, high*3
	switch {
	case k.Log:
		ceiling = 10 * high
	case high == 0:
		ceiling = mostValue
	}
	cut := false
	each(func(_, lower, upper float64) {
		if upper > ceiling {
			cut = true
		} else if !math.IsNaN(upper) {
			high = max(high, upper)
		}
		if lower >= floor {
			low = min(low, lower)
		} else if !math.IsNaN(lower) {
			low = min(low, floor*2)
		}
	})
	if cut && ceiling < mostValue {
		high = max(high, ceiling/2)
	}
	if k.Log {
		return logReach(low, high)
	}
	if high < leastValue {
		high = 1
	}
	return 0, high
}

// reachX returns the ends of the x axis.
func (k Curves) reachX() (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, b := range k.Curves {
		if len(b.X) > 0 {
			low, high = min(low, b.X[0]), max(high, b.last())
		}
	}
	if n := len(k.Ticks); n > 0 {
		low, high = min(low, k.Ticks[0]), max(high, k.Ticks[n-1])
	}
	if !(high-low > 1e-9*max(math.Abs(low), math.Abs(high), leastValue)) {
		wide := max(math.Abs(low)/2, 0.5)
		low, high = low-wide, high+wide
	}
	return low, high
}

// xTicks returns the ticks of the x axis with their labels.
func (k Curves) xTicks(s scale) (ticks []float64, labels []string) {
	if len(k.Ticks) > 0 {
		labels = k.TickLabels
		if labels == nil {
			for _, t := range k.Ticks {
				labels = append(labels, axisLabel(t, 0))
				if t != math.Trunc(t) {
					labels[len(labels)-1] = strconv.FormatFloat(t, 'g', 5, 64)
				}
			}
		}
		return k.Ticks, labels
	}
	for most := 10; most >= 1; most-- {
		all, words := linearTicks(s.low, s.high, most)
		ticks, labels = nil, nil
		for i, t := range all {
			if t >= s.low-1e-9*(s.high-s.low) && t <= s.high+1e-9*(s.high-s.low) {
				ticks, labels = append(ticks, t), append(labels, words[i])
			}
		}
		if tickRoom(s, ticks, labels) {
			break
		}
	}
	return ticks, labels
}

// tickRoom reports whether the labels of ticks keep apart.
func tickRoom(s scale, ticks []float64, labels []string) bool {
	for i := 1; i < len(ticks); i++ {
		if s.at(ticks[i])-s.at(ticks[i-1]) < (plain.width(labels[i-1])+plain.width(labels[i]))/2+5 {
			return false
		}
	}
	return true
}

// layout draws the figure with a panel of the given height.
func (k Curves) layout(panel vg.Length) (*canvas, error) {
	c := newCanvas(k.Size.width())
	low, high := k.reachY()
	y := c.heading(k.Title, k.keys()) + 2
	bottom := y + panel
	ys := scale{low: low, high: high, from: bottom, to: y, log: k.Log}
	var yTicks []float64
	var yLabels []string
	if k.Log {
		// Labels stand one above the other: their height is what keeps apart.
		yTicks, yLabels = rateTicks(scale{low: low, high: high, to: panel * 2, log: true})
	} else {
		yTicks, yLabels = linearTicks(0, high, 5)
		if n := len(yTicks) - 1; n > 1 && yTicks[n] > 1.12*high {
			yTicks, yLabels = yTicks[:n], yLabels[:n]
		}
		ys.high = max(high*1.02, yTicks[len(yTicks)-1])
	}
	yLabel := plain.wrap(k.YLabel, panel)
	x0 := margin + yMargin(yLabels, yLabel)
	xLow, xHigh := k.reachX()
	xs := scale{low: xLow, high: xHigh, from: x0, to: c.width - margin}
	inner := vg.Length(0)
	for _, b := range k.Curves {
		if b.Form == Points {
			inner = 6 // no marker stands on the axis
		}
	}
	xs.from, xs.to = xs.from+inner, xs.to-inner
	ticks, labels := k.xTicks(xs)
	for i, t := range ticks { // the outer labels stay inside
		half := plain.width(labels[i]) / 2
		if over := xs.at(t) + half - (c.width - margin); over > 0 {
			xs.to -= over
		}
	}
	if !tickRoom(xs, ticks, labels) || len(ticks) > 0 && xs.at(ticks[0])-plain.width(labels[0])/2 < margin || xs.to-xs.from < 40 {
		return nil, fmt.Errorf("plots: %w: %d ticks stand too close for their labels at a width of %.0f mm",
			ErrNoRoom, len(ticks), float64(c.width/vg.Millimeter))
	}
	x1 := min(xs.to+inner, c.width-margin)

	for _, t := range yTicks {
		if ys.at(t) < bottom-0.1 {
			c.line(pen{color: pale, width: hairline}, vg.Point{X: x0, Y: ys.at(t)}, vg.Point{X: x1, Y: ys.at(t)})
		}
	}
	cut := false
	for i, b := range k.Curves { // bands before curves, so that no band hides a line
		cut = c.limits(b, i, xs, ys) || cut
	}
	if k.Reference > 0 {
		c.line(referencePen, vg.Point{X: x0, Y: ys.at(k.Reference)}, vg.Point{X: x1, Y: ys.at(k.Reference)})
	}
	for i, b := range k.Curves {
		c.estimates(b, i, xs, ys)
	}
	c.yAxis(x0, ys, yTicks, yLabels, yLabel, margin)
	under := c.xAxis(bottom, xs, ticks, labels)
	c.line(axisPen, vg.Point{X: x0, Y: bottom}, vg.Point{X: x1, Y: bottom})
	under = c.axisLabel(k.XLabel, (x0+x1)/2, under)
	note := k.Note
	if cut {
		note = sentence(" ", note, cutNote)
	}
	return c.finish(c.note(note, under) + margin), nil
}

// keys returns the legend; a single curve without name has none.
func (k Curves) keys() []key {
	const wide = 22
	var keys []key
	for i, b := range k.Curves {
		if clean(b.Name) == "" {
			break
		}
		keys = append(keys, key{name: b.Name, width: wide, sample: func(c *canvas, p vg.Point) {
			if b.Form == Points {
				c.marker(shape(i%int(shapes)), vg.Point{X: p.X + wide/2, Y: p.Y}, 2.3, colour(i))
				return
			}
			c.line(pen{color: colour(i), width: lineWidth, dash: dash(i)}, p, vg.Point{X: p.X + wide, Y: p.Y})
		}})
	}
	if name := clean(k.ReferenceName); k.Reference > 0 && name != "" {
		keys = append(keys, key{name: name, width: wide, sample: func(c *canvas, p vg.Point) {
			c.line(referencePen, p, vg.Point{X: p.X + wide, Y: p.Y})
		}})
	}
	return keys
}

// describe returns the figure in words: at most 24 places a curve, as evenly
// spread as their order allows.
func (k Curves) describe() string {
	const most = 24
	var b strings.Builder
	b.WriteString(sentence(", by ", sentence(" ", "Curves:", k.YLabel), k.XLabel) + ".")
	for _, one := range k.Curves {
		b.WriteString(" " + sentence(" ", one.Name, "at"))
		n := min(len(one.X), most)
		for i := range n {
			j := i
			if len(one.X) > most {
				j = i * (len(one.X) - 1) / (most - 1)
			}
			if i > 0 {
				b.WriteByte(';')
			}
			b.WriteString(" " + number(one.X[j]) + ": " + describeAt(one, j))
		}
		b.WriteByte('.')
	}
	if name := clean(k.ReferenceName); k.Reference > 0 && name != "" {
		b.WriteString(" Dashed line: " + name + ", " + number(k.Reference) + ".")
	}
	return sentence(" ", b.String(), k.Note)
}
