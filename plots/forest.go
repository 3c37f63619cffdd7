package plots

import (
	"fmt"
	"math"
	"strings"

	"heelcohort/stats"

	"gonum.org/v1/plot/vg"
)

// A Forest is a forest plot of ratios or differences.
//
// The axis reaches every estimate and the null value, and limits unless they
// lie far out: on a logarithmic axis beyond six times the largest (or a sixth
// of the least) of them, else beyond the range of the estimates stretched
// fourfold. A limit beyond the axis ends in an arrow, and a note says so. A
// ratio of 0 or ∞, which has no place on a logarithmic axis, is drawn by its
// limits and arrow alone.
type Forest struct {
	Title, XLabel                  string
	LabelHead, CountHead, TextHead string  // heads of the columns; may be empty
	Log                            bool    // logarithmic axis, for ratios
	Null                           float64 // value of no difference: 1 or 0
	Rows                           []ForestRow
	Note                           string // beneath the figure
	Size                           Size
}

// A ForestRow is one line of a forest plot.
type ForestRow struct {
	Label    string
	Heading  bool // a heading without estimate
	Count    string
	Text     string // the estimate as printed on the right
	Estimate stats.Estimate
	NoValue  string // shown in place of an estimate: "reference", "not estimable"
}

// drawn reports whether the row has an estimate to draw.
func (w ForestRow) drawn() bool {
	return !w.Heading && w.NoValue == "" && !math.IsNaN(w.Estimate.Value)
}

// shown returns the text of the right column.
func (w ForestRow) shown() string {
	switch {
	case w.Heading:
		return ""
	case w.NoValue != "":
		return w.NoValue
	case math.IsNaN(w.Estimate.Value) && clean(w.Text) == "":
		return "not estimable"
	}
	return w.Text
}

// Draw lays the figure out.
func (f Forest) Draw() (*Figure, error) {
	if err := f.check(); err != nil {
		return nil, err
	}
	low, high := f.reach()
	// The free length is spread over the rows.
	c, err := f.Size.fit(0, 0, func(free vg.Length) (*canvas, error) {
		return f.layout(low, high, free/vg.Length(len(f.Rows)))
	})
	if err != nil {
		return nil, err
	}
	return &Figure{canvas: c, title: clean(f.Title), text: f.describe()}, nil
}

// check refuses what cannot be drawn.
func (f Forest) check() error {
	if err := f.Size.check(); err != nil {
		return err
	}
	if !(math.Abs(f.Null) <= mostValue) || f.Log && !(f.Null >= leastValue) {
		return fmt.Errorf("plots: null value %v cannot stand on the axis", f.Null)
	}
	estimates := 0
	for i, w := range f.Rows {
		if !w.drawn() {
			continue
		}
		estimates++
		e := w.Estimate
		place := fmt.Sprintf("row %d %q", i+1, w.Label)
		switch {
		case f.Log && e.Value != 0 && !math.IsInf(e.Value, 1) && !(e.Value >= leastValue && e.Value <= mostValue):
			return fmt.Errorf("plots: %s: ratio %v, want 0, a number from %v to %v, or +Inf", place, e.Value, leastValue, mostValue)
		case !f.Log && !(math.Abs(e.Value) <= mostValue):
			return fmt.Errorf("plots: %s: difference %v, want a number of at most %v", place, e.Value, mostValue)
		}
		if err := checkLimits(e); err != nil {
			return fmt.Errorf("plots: %s: %w", place, err)
		}
	}
	if estimates == 0 {
		return fmt.Errorf("plots: %w: none of %d rows has an estimate", ErrNoData, len(f.Rows))
	}
	return nil
}

// onAxis reports whether x has a place on the axis.
func (f Forest) onAxis(x float64) bool {
	return !math.IsNaN(x) && !math.IsInf(x, 0) && (!f.Log || x > 0)
}

// reach returns the ends of the axis.
func (f Forest) reach() (low, high float64) {
	to, from := func(x float64) float64 { return x }, func(x float64) float64 { return x }
	if f.Log {
		to, from = math.Log, math.Exp
	}
	low = to(f.Null)
	high = low
	for _, w := range f.Rows {
		if w.drawn() && f.onAxis(w.Estimate.Value) {
			low, high = min(low, to(w.Estimate.Value)), max(high, to(w.Estimate.Value))
		}
	}
	slack := math.Log(6)
	if !f.Log {
		slack = 1.5 * (high - low)
		if slack == 0 {
			slack = mostValue
		}
	}
	inner := [2]float64{low, high}
	for _, w := range f.Rows {
		if !w.drawn() {
			continue
		}
		lower, upper := w.Estimate.Lower, w.Estimate.Upper
		if f.Log {
			lower, upper = math.Log(max(0, lower)), math.Log(max(0, upper))
		}
		if lower >= inner[0]-slack {
			low = min(low, lower)
		} else if !math.IsNaN(lower) && slack < mostValue {
			low = min(low, inner[0]-slack/3) // room for the arrow
		}
		if upper <= inner[1]+slack {
			high = max(high, upper)
		} else if !math.IsNaN(upper) && slack < mostValue {
			high = max(high, inner[1]+slack/3)
		}
	}
	// A little air, and never an axis without length.
	air := 0.04 * (high - low)
	if f.Log {
		air = max(air, math.Log(1.1))
	} else if size := max(math.Abs(low), math.Abs(high)); air < 1e-9*size || air < leastValue {
		air = 0.1 * size
		if size < leastValue {
			air = 1
		}
	}
	return from(low - air), from(high + air)
}

// A column is where one column of the figure stands.
type column struct{ x, width vg.Length }

// columns returns the columns label, count, plot and text. Count and text take
// what they need within bounds; the label takes what it needs, but leaves the
// plot three tenths of the width, unless words would have to be broken.
func (f Forest) columns(width vg.Length) (cols [4]column, err error) {
	const between, leastPlot = 6, 54
	room := width - 2*margin
	widest := func(limit vg.Length, head string, of func(ForestRow) string) vg.Length {
		w := bold.widest(bold.wrap(head, limit))
		for _, r := range f.Rows {
			w = max(w, plain.widest(plain.wrap(of(r), limit)))
		}
		return min(w, limit)
	}
	count := widest(room*0.18, f.CountHead, func(r ForestRow) string { return r.Count })
	txt := widest(room*0.36, f.TextHead, ForestRow.shown)
	labelOf := func(r ForestRow) string {
		if r.Heading {
			return ""
		}
		return r.Label
	}
	label := indent + widest(room, f.LabelHead, labelOf)
	unbroken := bold.longestWord(f.LabelHead)
	for _, r := range f.Rows {
		unbroken = max(unbroken, indent+plain.longestWord(labelOf(r)))
	}
	gaps := vg.Length(between)
	for _, w := range []vg.Length{count, txt} {
		if w > 0 {
			gaps += between
		}
	}
	rest := room - count - txt - gaps
	if txt == 0 {
		rest -= indent // half a tick's label may stand beyond the axis
	}
	label = min(label, max(rest-max(leastPlot, room*0.3), min(unbroken, rest-leastPlot)))
	plot := rest - label
	if plot < leastPlot-0.01 || label < min(unbroken, 36) {
		return cols, fmt.Errorf("plots: %w: the columns leave %.0f points for labels and plot at a width of %.0f mm",
			ErrNoRoom, float64(rest), float64(width/vg.Millimeter))
	}
	x := margin
	for i, w := range []vg.Length{label, count, plot, txt} {
		cols[i] = column{x, w}
		if w > 0 {
			x += w + between
		}
	}
	return cols, nil
}

const indent vg.Length = 8 // of rows under headings

// layout draws the figure, each row with extra height.
func (f Forest) layout(low, high float64, extra vg.Length) (*canvas, error) {
	c := newCanvas(f.Size.width())
	cols, err := f.columns(c.width)
	if err != nil {
		return nil, err
	}
	label, count, plot, txt := cols[0], cols[1], cols[2], cols[3]
	y := c.heading(f.Title, nil)
	top := max(
		c.lines(bold.wrap(f.LabelHead, label.width), label.x, y, left, bold),
		c.lines(bold.wrap(f.CountHead, count.width), count.x+count.width, y, right, bold),
		c.lines(bold.wrap(f.TextHead, txt.width), txt.x, y, left, bold))
	if top > y {
		top += 3
		c.line(axisPen, vg.Point{X: margin, Y: top}, vg.Point{X: c.width - margin, Y: top})
		top += 2
	}

	headings := false
	for _, w := range f.Rows {
		headings = headings || w.Heading
	}
	xs := scale{low: low, high: high, from: plot.x, to: plot.x + plot.width, log: f.Log}
	// Rows first, so that their heights are known; the null line goes beneath
	// them in the list of marks.
	rows := &canvas{width: c.width}
	y, cut := top, false
	for i, w := range f.Rows {
		height := plain.line() + 2
		if w.Heading {
			if i > 0 {
				y += 3
			}
			lines := bold.wrap(w.Label, c.width-2*margin)
			// The null line keeps clear of the heading.
			rows.rect(margin, y, margin+bold.widest(lines)+3, y+2+vg.Length(len(lines))*bold.line(), white)
			end := rows.lines(lines, margin, y+1, left, bold)
			y = max(end+1, y+height) + extra
			continue
		}
		shift := vg.Length(0)
		if headings {
			shift = indent
		}
		y += extra / 2
		end := max(
			rows.lines(plain.wrap(w.Label, label.width-shift), label.x+shift, y+1, left, plain),
			rows.lines(plain.wrap(w.Count, count.width+0.01), count.x+count.width, y+1, right, plain),
			rows.lines(plain.wrap(w.shown(), txt.width+0.01), txt.x, y+1, left, plain))
		// The estimate stands on the first line, where the label begins.
		if w.drawn() {
			cut = rows.interval(w.Estimate, f, xs, y+1+plain.line()/2) || cut
		}
		y = max(end+1, y+height) + extra/2
	}
	bottom := y + 2

	nullX := xs.at(f.Null)
	c.line(pen{color: grey, width: axisWidth, dash: []vg.Length{2, 2}}, vg.Point{X: nullX, Y: top}, vg.Point{X: nullX, Y: bottom})
	c.marks, c.texts = append(c.marks, rows.marks...), append(c.texts, rows.texts...)

	ticks, labels := f.ticks(low, high, plot.width)
	under := c.xAxis(bottom, xs, ticks, labels)
	under = c.axisLabel(f.XLabel, plot.x+plot.width/2, under)
	note := f.Note
	if cut {
		note = sentence(" ", note, arrowNote)
	}
	return c.finish(c.note(note, under) + margin), nil
}

// ticks returns ticks that lie inside the axis.
func (f Forest) ticks(low, high float64, length vg.Length) (ticks []float64, labels []string) {
	if f.Log {
		return logTicks(low, high, length)
	}
	for most := 6; most > 1; most-- {
		ticks, labels = nil, nil
		all, text := linearTicks(low, high, most)
		for i, t := range all {
			if t >= low && t <= high {
				ticks, labels = append(ticks, t), append(labels, text[i])
			}
		}
		if (plain.widest(labels)+4)*vg.Length(len(labels)) <= length {
			break
		}
	}
	return ticks, labels
}

// interval draws an estimate with its limits at height y and reports whether
// a limit lies beyond the axis.
func (c *canvas) interval(e stats.Estimate, f Forest, xs scale, y vg.Length) (cut bool) {
	n := pen{color: black, width: 0.8}
	from, to := e.Value, e.Value
	if !math.IsNaN(e.Lower) {
		from = min(from, e.Lower)
	}
	if !math.IsNaN(e.Upper) {
		to = max(to, e.Upper)
	}
	x0, x1 := xs.from, xs.to
	lowCut, highCut := from < xs.low, to > xs.high
	if !lowCut {
		x0 = xs.at(min(from, xs.high))
	}
	if !highCut {
		x1 = xs.at(max(to, xs.low))
	}
	a, b := x0, x1
	if lowCut {
		c.arrow(vg.Point{X: x0, Y: y}, -1, 0, black)
		a += 3
	}
	if highCut {
		c.arrow(vg.Point{X: x1, Y: y}, 1, 0, black)
		b -= 3
	}
	if b > a {
		c.line(n, vg.Point{X: a, Y: y}, vg.Point{X: b, Y: y})
	}
	if f.onAxis(e.Value) {
		c.marker(square, vg.Point{X: xs.at(e.Value), Y: y}, 2.4, black)
	}
	return lowCut || highCut
}

// describe returns the figure in words.
func (f Forest) describe() string {
	var b strings.Builder
	b.WriteString(sentence(" ", "Forest plot:", f.XLabel) + ".")
	for _, w := range f.Rows {
		switch {
		case w.Heading:
			b.WriteString(" " + clean(w.Label) + ":")
		case w.drawn():
			b.WriteString(" " + sentence(" ", w.Label, describe(w.Estimate)) + ";")
		default:
			b.WriteString(" " + sentence(" ", w.Label, w.shown()) + ";")
		}
	}
	s := strings.TrimSuffix(b.String(), ";")
	return sentence(" ", strings.TrimSuffix(s, ".")+".", f.Note)
}
