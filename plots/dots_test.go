package plots

import (
	"errors"
	"math"
	"strings"
	"testing"

	"heelcohort/stats"

	"gonum.org/v1/plot/vg"
)

// oneDots has a rate, one of no events, one without lower limit in reach, an
// unbounded one and a gap, in one panel.
func oneDots(log bool) Dots {
	return Dots{
		XLabel: "Rate", Groups: []string{"a", "b", "c", "d", "e"}, Log: log, Reference: 2, ReferenceName: "overall rate",
		Panels: []RateSeries{{Estimates: []stats.Estimate{
			est(2, 1, 4), est(0, 0, 3), est(1, 0.001, 2), est(5, 2, inf), est(nan, nan, nan),
		}}},
	}
}

// Dots, limits and the reference stand where the ticks say on either axis; no
// events leave no dot, only a bar with an open head at the upper limit; limits
// beyond end in arrows.
func TestDotsStandWhereTheTicksSay(t *testing.T) {
	for _, log := range []bool{false, true} {
		d := oneDots(log)
		c := draw(t, d).canvas
		at := func(v float64) vg.Length { return between(v, 2, 6, one(t, c, "2").at.X, one(t, c, "6").at.X) }
		if log {
			at = func(v float64) vg.Length {
				return between(math.Log(v), 0, math.Log(10), one(t, c, "1").at.X, one(t, c, "10").at.X)
			}
		}
		var bars []vg.Rectangle
		for _, p := range strokes(c, black, 0.8) {
			if b := bounds(p); same(b.Min.Y, b.Max.Y) {
				bars = append(bars, b)
			}
		}
		bars = bars[2:] // those of the legend
		if len(bars) != 4 {
			t.Fatalf("log %v: %d bars, want 4", log, len(bars))
		}
		left := bars[1].Min.X // no events: from the left end of the axis
		for i, want := range [][2]vg.Length{{at(1), at(4)}, {left, at(3)}, {0, at(2)}, {at(2), 0}} {
			if want[0] != 0 && !same(bars[i].Min.X, want[0]) || want[1] != 0 && !same(bars[i].Max.X, want[1]) {
				t.Errorf("log %v: bar %d from %v to %v, want %v", log, i, bars[i].Min.X, bars[i].Max.X, want)
			}
		}
		if !log && !same(left, one(t, c, "0").at.X) {
			t.Errorf("the linear axis begins at %v, not at 0", left)
		}
		var dots []vg.Point
		heads, arrows := 0, 0
		for _, m := range c.marks {
			b := bounds(m.path)
			switch n := len(points(m.path)); {
			case m.width == 0 && m.color == black && n == 5 && same(b.Max.X-b.Min.X, 4.4): // a circle
				dots = append(dots, middle(b))
			case m.width == 0.8 && n == 3:
				heads++
				if heads == 2 && !same(b.Max.X, at(3)) {
					t.Errorf("log %v: the open head stands at %v, want %v", log, b.Max.X, at(3))
				}
			case m.width == 0 && m.color == black && n == 3:
				arrows++
			}
		}
		if len(dots) != 4 { // one in the legend
			t.Fatalf("log %v: dots %v, want 4", log, dots)
		}
		for i, v := range []float64{2, 1, 5} {
			if !same(dots[i+1].X, at(v)) {
				t.Errorf("log %v: dot of %v at %v, want %v", log, v, dots[i+1].X, at(v))
			}
		}
		wantArrows := 1
		if log {
			wantArrows = 2 // 0.001 is less than a tenth of the smallest rate
		}
		if heads != 2 || arrows != wantArrows {
			t.Errorf("log %v: %d open heads and %d arrows, want 2 and %d", log, heads, arrows, wantArrows)
		}
		lines := strokes(c, grey, referencePen.width)
		if len(lines) != 2 || !same(bounds(lines[1]).Min.X, at(2)) {
			t.Errorf("log %v: reference lines %v, want one at %v after the legend's", log, lines, at(2))
		}
		for _, s := range []string{zeroName, "overall rate", arrowNote} {
			one(t, c, s)
		}
	}
}

// Panels share the axis, and their names stand above them.
func TestDotsPanels(t *testing.T) {
	d := sampleDots()
	for _, width := range []float64{SingleColumn, DoubleColumn} {
		d.Size.Width = width
		c := draw(t, d).canvas
		ticks := find(c, "10")
		if len(ticks) != len(d.Panels) {
			t.Errorf("%v mm: %d ticks read 10, want one a panel", width, len(ticks))
		}
		if n := len(find(c, "6 to <8")); width == SingleColumn && n != 3 || width == DoubleColumn && n != 2 {
			t.Errorf("%v mm: %d rows of panels", width, n)
		}
	}
	text := draw(t, d).Text()
	for _, part := range []string{"6 to <8: Football 0.444 (0.14 to 1.41);", "Höhenturnen no estimate", "Dashed line: overall rate, 1.2.", "1 suppressed"} {
		if !strings.Contains(text, part) {
			t.Errorf("text lacks %q: %s", part, text)
		}
	}
}

func TestDotsRefused(t *testing.T) {
	for name, c := range map[string]struct {
		spoil func(d *Dots)
		is    error
		says  string
	}{
		"no groups": {func(d *Dots) { d.Groups = nil }, ErrNoData, "0 groups"},
		"negative":  {func(d *Dots) { d.Panels[0].Estimates[1].Value = -1 }, nil, "rate -1"},
		"reference": {func(d *Dots) { d.Reference = inf }, nil, "reference rate +Inf"},
		"crossed":   {func(d *Dots) { d.Panels[0].Estimates[1].Lower = 9 }, nil, "lower limit 9 is above"},
	} {
		d := oneDots(true)
		c.spoil(&d)
		_, err := d.Draw()
		if err == nil || c.is != nil && !errors.Is(err, c.is) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want %v with %q", name, err, c.is, c.says)
		}
	}
}

// The ends of a log axis are round and enclose what it shows; its ticks keep
// apart.
func TestLogReach(t *testing.T) {
	for _, c := range [][4]float64{{0.3, 7, 0.2, 10}, {1, 10, 1, 10}, {4.9, 5.1, 2, 10}, {0.05, 0.05, 0.025, 0.1}, {37, 49, 20, 50}, {1e-9, 3e9, 1e-9, 5e9}} {
		low, high := logReach(c[0], c[1])
		if math.Abs(low/c[2]-1) > 1e-9 || math.Abs(high/c[3]-1) > 1e-9 {
			t.Errorf("%v to %v: axis from %v to %v, want %v to %v", c[0], c[1], low, high, c[2], c[3])
		}
		for _, length := range []vg.Length{40, 80, 300} {
			ticks, labels := rateTicks(scale{low: low, high: high, to: length, log: true})
			if len(ticks) == 0 || len(ticks) != len(labels) || len(ticks) > 1 && !apart(ticks, low, high, length) {
				t.Errorf("%v to %v on %v: ticks %v %q", low, high, length, ticks, labels)
			}
		}
	}
}
