package plots

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/plot/vg"
)

// A Distribution shows how a category is spread in each of several groups: a
// bar a group, cut by the shares of its levels, on an axis from 0 to 100%. The
// levels have shades of one hue from light to dark in their order, and a piece
// wide enough carries its percentage.
type Distribution struct {
	Title, XLabel string
	GroupLabel    string // above the labels of the bars
	Groups        []string
	Levels        []string
	Counts        [][]int // by group, then by level
	Note          string
	Size          Size
}

// Draw lays the figure out.
func (d Distribution) Draw() (*Figure, error) {
	if err := d.check(); err != nil {
		return nil, err
	}
	width := d.Size.width()
	rows, column := rowLabels(d.labels(), width, 0.34)
	column = max(column, min(plain.longestWord(d.GroupLabel), width*0.34))
	least := vg.Length(14)
	for _, l := range rows {
		least = max(least, vg.Length(len(l))*plain.line()+3)
	}
	n := vg.Length(len(d.Groups))
	c, err := d.Size.fit(n*max(least, 20), n*least, func(free vg.Length) (*canvas, error) {
		return d.layout(rows, column, free/n), nil
	})
	if err != nil {
		return nil, err
	}
	return &Figure{canvas: c, title: clean(d.Title), text: d.describe()}, nil
}

// check refuses what cannot be drawn.
func (d Distribution) check() error {
	if err := d.Size.check(); err != nil {
		return err
	}
	if len(d.Counts) != len(d.Groups) {
		return fmt.Errorf("plots: counts of %d groups, want %d", len(d.Counts), len(d.Groups))
	}
	all := 0
	for i, counts := range d.Counts {
		if len(counts) != len(d.Levels) {
			return fmt.Errorf("plots: group %q has %d counts for %d levels", d.Groups[i], len(counts), len(d.Levels))
		}
		for j, k := range counts {
			if k < 0 {
				return fmt.Errorf("plots: group %q, level %q: count %d, want 0 or more", d.Groups[i], d.Levels[j], k)
			}
			all += k
		}
	}
	if all == 0 {
		return fmt.Errorf("plots: %w: no group has a count", ErrNoData)
	}
	return nil
}

// total is the number of a group.
func (d Distribution) total(group int) (n int) {
	for _, k := range d.Counts[group] {
		n += k
	}
	return n
}

// labels are the groups with their numbers.
func (d Distribution) labels() []string {
	var list []string
	for i, g := range d.Groups {
		list = append(list, fmt.Sprintf("%s (n = %d)", g, d.total(i)))
	}
	return list
}

// shadeOf is the place of a level among the shades.
func (d Distribution) shadeOf(level int) float64 {
	if len(d.Levels) == 1 {
		return 0.5
	}
	return float64(level) / float64(len(d.Levels)-1)
}

// layout draws the figure with bars that stand in rows of the given height.
func (d Distribution) layout(rows [][]string, column, row vg.Length) *canvas {
	c := newCanvas(d.Size.width())
	var keys []key
	for j, name := range d.Levels {
		ground := shade(d.shadeOf(j))
		keys = append(keys, key{name: name, width: 10, sample: func(c *canvas, p vg.Point) {
			c.rect(p.X, p.Y-3.5, p.X+10, p.Y+3.5, ground)
			c.frame(p.X, p.Y-3.5, p.X+10, p.Y+3.5, pen{color: grey, width: hairline})
		}})
	}
	y := c.heading(d.Title, keys) + 2
	x0 := margin + column + 2*gap
	if head := plain.wrap(d.GroupLabel, column); len(head) > 0 {
		y = c.lines(head, x0-gap, y, right, plain) + 2
	}
	labels := []string{"0", "25", "50", "75", "100"}
	xs := scale{low: 0, high: 100, from: x0, to: c.width - margin - plain.width("100")/2}
	for i, counts := range d.Counts {
		top := y + row*vg.Length(i)
		block := vg.Length(len(rows[i])) * plain.line()
		c.lines(rows[i], x0-gap, top+(row-block)/2, right, plain)
		n := d.total(i)
		if n == 0 {
			c.text(dashSign, vg.Point{X: x0 + 3, Y: top + row/2 + plain.size*0.3}, left, plain)
			continue
		}
		before := 0
		for j, k := range counts {
			if k == 0 {
				continue
			}
			from, to := xs.at(100*float64(before)/float64(n)), xs.at(100*float64(before+k)/float64(n))
			before += k
			ground := shade(d.shadeOf(j))
			c.rect(from, top+2, to, top+row-2, ground)
			c.frame(from, top+2, to, top+row-2, pen{color: grey, width: hairline})
			if words := percentWords(k, n); plain.width(words)+4 <= to-from {
				c.place(text{s: words, at: vg.Point{X: (from + to) / 2, Y: top + row/2 + plain.size*0.35}, align: center, style: plain, ink: inkOn(ground)})
			}
		}
	}
	bottom := y + row*vg.Length(len(d.Groups))
	c.line(axisPen, vg.Point{X: x0, Y: y}, vg.Point{X: x0, Y: bottom})
	y = c.xAxis(bottom, xs, []float64{0, 25, 50, 75, 100}, labels)
	y = c.axisLabel(d.XLabel, (xs.from+xs.to)/2, y)
	return c.finish(c.note(d.Note, y) + margin)
}

// dashSign stands where a group has nobody.
const dashSign = "–"

// percentWords is a share in whole percent.
func percentWords(k, n int) string {
	return fmt.Sprintf("%.0f%%", math.Round(100*float64(k)/float64(n)))
}

// describe says what the figure shows.
func (d Distribution) describe() string {
	var b strings.Builder
	b.WriteString(sentence(", by ", "Distribution of "+sentence(" ", d.XLabel), clean(d.GroupLabel)) + ".")
	if n := clean(d.Note); n != "" {
		b.WriteString(" " + n)
	}
	for i, g := range d.labels() {
		var parts []string
		for j, k := range d.Counts[i] {
			words := fmt.Sprintf("%s %d", clean(d.Levels[j]), k)
			if n := d.total(i); n > 0 {
				words += " (" + percentWords(k, n) + ")"
			}
			parts = append(parts, words)
		}
		b.WriteString(" " + clean(g) + ": " + strings.Join(parts, "; ") + ".")
	}
	return b.String()
}
