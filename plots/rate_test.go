package plots

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"heelcohort/stats"

	"gonum.org/v1/plot/vg"
)

// Every rate and limit stands where the ticks say, a rate of 0 on the axis, a
// gap leaves nothing, and only the two limits beyond the axis end in arrows.
func TestRatesStandWhereTheTicksSay(t *testing.T) {
	r := sampleRates()
	c := draw(t, r).canvas
	zero, one := tickY(t, c, "0.0"), tickY(t, c, "1.0")
	top := c.height
	for _, m := range strokes(c, black, axisWidth) { // the y axis is the highest of these
		top = min(top, bounds(m).Min.Y)
	}
	if two := tickY(t, c, "2.0"); two < top+1 {
		t.Errorf("the limit 2.0 at %v is not below the edge at %v", two, top)
	}
	at := func(v float64) vg.Length { return between(v, 0, 1, zero, one) }
	for j, s := range r.Series {
		type bar struct{ x, low, high vg.Length }
		var bars []bar
		for _, p := range strokes(c, colour(j), 0.8) {
			if b := bounds(p); len(points(p)) == 2 {
				bars = append(bars, bar{b.Min.X, b.Max.Y, b.Min.Y})
			}
		}
		arrows := 0
		for _, m := range c.marks {
			if b := bounds(m.path); m.color == colour(j) && m.width == 0 && len(points(m.path)) == 3 && same(b.Min.Y, top) {
				arrows++
			}
		}
		n, wantArrows := 0, 0
		for i, e := range s.Estimates {
			if math.IsNaN(e.Value) {
				continue
			}
			if n >= len(bars) {
				t.Fatalf("%s: %d bars, want more", s.Name, len(bars))
			}
			b := bars[n]
			n++
			if !same(b.low, at(e.Lower)) {
				t.Errorf("%s, %s: lower end at %v, want %v", s.Name, r.Groups[i], b.low, at(e.Lower))
			}
			if e.Upper > 2 {
				wantArrows++
				if b.high < top || b.high > top+4 {
					t.Errorf("%s, %s: cut bar ends at %v, edge %v", s.Name, r.Groups[i], b.high, top)
				}
			} else if !same(b.high, at(e.Upper)) {
				t.Errorf("%s, %s: upper end at %v, want %v", s.Name, r.Groups[i], b.high, at(e.Upper))
			}
			if !hasMarker(c, j, vg.Point{X: b.x, Y: at(e.Value)}) {
				t.Errorf("%s, %s: no marker at %v", s.Name, r.Groups[i], e.Value)
			}
		}
		if len(bars) != n || arrows != wantArrows {
			t.Errorf("%s: %d bars and %d arrows, want %d and %d", s.Name, len(bars), arrows, n, wantArrows)
		}
	}
	if len(find(c, arrowNote)) != 1 {
		t.Error("no note about the arrows")
	}
}

// hasMarker reports whether the marker of series i stands around p.
func hasMarker(c *canvas, i int, p vg.Point) bool {
	for _, m := range c.marks {
		if m.color != colour(i) || len(points(m.path)) < 3 {
			continue
		}
		b := bounds(m.path)
		at := middle(b)
		if len(points(m.path)) == 3 { // a triangle's centre is a third of its height up
			at.Y = b.Max.Y - (b.Max.Y-b.Min.Y)/3
		}
		if same(at.X, p.X) && same(at.Y, p.Y) {
			return true
		}
	}
	return false
}

// A single rate of 0 has its marker on the axis and its bar to the upper
// limit, with no note about arrows.
func TestRatesOfZeroEvents(t *testing.T) {
	c := draw(t, drawers()["rates-one-point"]).canvas
	zero, three := tickY(t, c, "0"), tickY(t, c, "3")
	bars := strokes(c, black, 0.8)
	if len(bars) != 1 || !same(bounds(bars[0]).Max.Y, zero) || !same(bounds(bars[0]).Min.Y, three) {
		t.Errorf("bars %v, want one from %v to %v", bars, zero, three)
	}
	if len(bars) == 1 && !hasMarker(c, 0, vg.Point{X: bounds(bars[0]).Min.X, Y: zero}) {
		t.Error("no marker on the axis")
	}
	if len(find(c, arrowNote)) != 0 {
		t.Error("a note about arrows, but no arrow")
	}
}

// The legend stands above the panel, in the order of the series.
func TestRatesLegend(t *testing.T) {
	r := sampleRates()
	c := draw(t, r).canvas
	edge := tickY(t, c, "2.0")
	last := vg.Length(0)
	for _, s := range r.Series {
		x := one(t, c, s.Name)
		if x.at.Y > edge || x.at.X <= last {
			t.Errorf("%s stands at %v, want above %v and right of %v", s.Name, x.at, edge, last)
		}
		last = x.at.X
	}
}

func TestRatesRefused(t *testing.T) {
	for name, c := range map[string]struct {
		spoil func(r *Rates)
		is    error
		says  string
	}{
		"no groups":   {func(r *Rates) { r.Groups = nil }, ErrNoData, "0 groups"},
		"no series":   {func(r *Rates) { r.Series = nil }, ErrNoData, "0 series"},
		"no estimate": {func(r *Rates) { blank(r) }, ErrNoData, "no rate is estimable"},
		"too few":     {func(r *Rates) { r.Series[1].Estimates = r.Series[1].Estimates[:2] }, nil, `series "Höhenturnen" has 2 estimates for 3 groups`},
		"no name":     {func(r *Rates) { r.Series[2].Name = " " }, nil, "has no name"},
		"negative":    {func(r *Rates) { r.Series[0].Estimates[1].Value = -1 }, nil, `series "Football", group "9–11": rate -1`},
		"infinite":    {func(r *Rates) { r.Series[0].Estimates[0].Value = inf }, nil, "rate +Inf"},
		"crossed":     {func(r *Rates) { r.Series[2].Estimates[0].Lower = 9 }, nil, "lower limit 9 is above upper limit 0.5"},
		"too many": {func(r *Rates) {
			r.Groups = slices.Repeat([]string{"a"}, 200)
			for i := range r.Series {
				r.Series[i].Estimates = slices.Repeat([]stats.Estimate{est(1, 1, 1)}, 200)
			}
		}, ErrNoRoom, "200 groups"},
	} {
		r := sampleRates()
		c.spoil(&r)
		_, err := r.Draw()
		if err == nil || c.is != nil && !errors.Is(err, c.is) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want %v with %q", name, err, c.is, c.says)
		}
	}
}

// blank takes every estimate away.
func blank(r *Rates) {
	for i := range r.Series {
		for j := range r.Series[i].Estimates {
			r.Series[i].Estimates[j] = est(nan, nan, nan)
		}
	}
}
