package codebookpage

import (
	"fmt"
	"math"
	"strconv"

	"heelcohort/cmd/heelcohort/internal/printed"
)

// Size of a drawing, in its own units.
const (
	drawWidth, drawHeight = 320.0, 114.0
	plotLeft, plotRight   = 38.0, 302.0
	plotTop, plotBottom   = 8.0, 88.0
	mostBars              = 24
)

// A histogram is a drawing of bars of equal width, with its text.
type histogram struct {
	Alt           string
	Width, Height string
	Left, Right   string // of the plot
	Top, Bottom   string
	LabelY        string
	Bars          []bar
	Ticks         []tick
	Most          string // count of the highest bar
	Notes         []string
}

// A bar is one rectangle. A light one holds fewer than the threshold and is
// as high as the threshold.
type bar struct {
	X, Y, Width, Height string
	Light               bool
}

// A tick is a label below the bars.
type tick struct{ X, Text string }

// bins are counts of intervals of equal width from low on, lower ends included.
type bins struct {
	low, width     float64
	counts         []int
	tailed         bool // the first or the last holds what lies beyond it
	whole, centred bool // of whole numbers; each bin is one whole number
}

// newHistogram draws values; it is nil where all are equal.
func newHistogram(values []float64, label, unit string, days bool, small int) *histogram {
	b := binsOf(values, days)
	if len(b.counts) < 2 {
		return nil
	}
	if days && small > 0 {
		b.tails(small)
	}
	if len(b.counts) < 2 {
		return nil
	}
	return b.draw(label, unit, small)
}

// binsOf chooses the width: 1, 2, 2.5 or 5 times a power of ten, of whole numbers at
// least one, of days whole weeks.
func binsOf(values []float64, days bool) bins {
	low, high, whole := math.Inf(1), math.Inf(-1), true
	for _, x := range values {
		low, high = min(low, x), max(high, x)
		whole = whole && x == math.Trunc(x)
	}
	b := bins{whole: whole}
	if !(high > low) || math.IsInf(high-low, 0) {
		return b
	}
	b.width = niceWidth((high-low)/mostBars, whole, days)
	b.centred = whole && b.width == 1
	b.low = b.width * math.Floor(low/b.width)
	n := int(math.Floor((high-b.low)/b.width)) + 1
	if n > 4*mostBars || b.low+b.width == b.low {
		return bins{}
	}
	b.counts = make([]int, n)
	for _, x := range values {
		b.counts[min(max(int(math.Floor((x-b.low)/b.width)), 0), n-1)]++
	}
	return b
}

// niceWidth is the least nice width that is not below the given one.
func niceWidth(least float64, whole, days bool) float64 {
	if days {
		for _, w := range []float64{7, 14, 28, 56, 91, 182, 364} {
			if w >= least {
				return w
			}
		}
	}
	power := math.Pow(10, math.Floor(math.Log10(least)))
	width := 10 * power
	for _, m := range []float64{1, 2, 2.5, 5} {
		if m == 2.5 && whole && power < 10 {
			continue
		}
		if m*power >= least*(1-1e-9) {
			width = m * power
			break
		}
	}
	if whole {
		return max(width, 1)
	}
	return width
}

// tails draws the ends together until they hold the threshold.
func (b *bins) tails(small int) {
	for len(b.counts) > 1 && b.counts[0] < small {
		b.counts[1] += b.counts[0]
		b.counts, b.low, b.tailed = b.counts[1:], b.low+b.width, true
	}
	for n := len(b.counts); n > 1 && b.counts[n-1] < small; n-- {
		b.counts[n-2] += b.counts[n-1]
		b.counts, b.tailed = b.counts[:n-1], true
	}
}

// edge is the lower end of bin i.
func (b *bins) edge(i int) float64 { return b.low + float64(i)*b.width }

// draw makes the drawing.
func (b *bins) draw(label, unit string, small int) *histogram {
	h := &histogram{
		Width: coordinate(drawWidth), Height: coordinate(drawHeight), Left: coordinate(plotLeft), Right: coordinate(plotRight),
		Top: coordinate(plotTop), Bottom: coordinate(plotBottom), LabelY: coordinate(plotBottom + 16),
	}
	most, at := 0, 0
	for i, n := range b.counts {
		if n > most {
			most, at = n, i
		}
	}
	h.Most = number(most)
	top := float64(max(most, small))
	step := (plotRight - plotLeft) / float64(len(b.counts))
	gap := min(1.5, step/6)
	anyLight := false
	for i, n := range b.counts {
		if n == 0 {
			continue
		}
		light := n < small
		if light {
			n, anyLight = small, true
		}
		height := (plotBottom - plotTop) * float64(n) / top
		h.Bars = append(h.Bars, bar{
			X: coordinate(plotLeft + float64(i)*step + gap/2), Y: coordinate(plotBottom - height),
			Width: coordinate(step - gap), Height: coordinate(height), Light: light,
		})
	}
	if anyLight {
		h.Notes = append(h.Notes, fmt.Sprintf("Dashed: fewer than %d cells, drawn as high as %d.", small, small))
	}
	if b.tailed {
		h.Notes = append(h.Notes, "The first and the last bar hold all cells beyond them.")
	}
	decimals := 0
	for decimals < 6 && math.Abs(b.width*math.Pow10(decimals)-math.Round(b.width*math.Pow10(decimals))) > 1e-9 {
		decimals++
	}
	text := func(x float64) string { return printed.Fixed(x, decimals) }
	every := (len(b.counts) + 4) / 5
	for i := 0; i <= len(b.counts); i += every {
		x := plotLeft + float64(i)*step
		if b.centred {
			if i == len(b.counts) {
				break
			}
			x += step / 2
		}
		h.Ticks = append(h.Ticks, tick{coordinate(x), text(b.edge(i))})
	}
	last := len(b.counts)
	in := ""
	if unit != "" {
		in = " in " + unit
	}
	h.Alt = fmt.Sprintf("Histogram of %s%s: %s of width %s from %s to %s; most values, %s, lie from %s to below %s.",
		label, in, printed.Plural(last, "interval"), text(b.width), text(b.edge(0)), text(b.edge(last)), number(most), text(b.edge(at)), text(b.edge(at+1)))
	if most < small {
		h.Alt = fmt.Sprintf("Histogram of %s%s: every interval holds fewer than %d values.", label, in, small)
		h.Most = number(small)
	}
	return h
}

// coordinate is a place in the drawing.
func coordinate(x float64) string {
	return strconv.FormatFloat(math.Round(x*100)/100, 'f', -1, 64)
}
