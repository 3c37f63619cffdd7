package plots

import (
	"errors"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/plot/vg"
)

// On the logarithmic axis every estimate and limit stands where the ticks say;
// rows without estimate have neither bar nor marker.
func TestForestStandsWhereTheTicksSay(t *testing.T) {
	f := sampleForest()
	c := draw(t, f).canvas
	half, unit := one(t, c, "0.5").at.X, one(t, c, "1").at.X
	at := func(v float64) vg.Length { return between(math.Log(v), math.Log(0.5), 0, half, unit) }

	null := strokes(c, grey, axisWidth)
	if len(null) != 1 || !same(bounds(null[0]).Min.X, unit) {
		t.Errorf("null line %v, want one at %v", null, unit)
	}
	bars := strokes(c, black, 0.8)
	var squares []vg.Point
	for _, m := range c.marks {
		if b := bounds(m.path); m.width == 0 && m.color == black && len(points(m.path)) == 4 && same(b.Max.X-b.Min.X, b.Max.Y-b.Min.Y) &&
			math.Abs(float64(b.Max.X-b.Min.X)-2*2.4*1.25/math.Sqrt2) < 0.01 {
			squares = append(squares, middle(b))
		}
	}
	n := 0
	for _, w := range f.Rows {
		if !w.drawn() {
			continue
		}
		if n >= len(bars) || n >= len(squares) {
			t.Fatalf("%d bars and %d squares, want more", len(bars), len(squares))
		}
		b, e := bounds(bars[n]), w.Estimate
		if !same(squares[n].X, at(e.Value)) || !same(squares[n].Y, middle(b).Y) {
			t.Errorf("%s: square at %v, want x %v on its bar", w.Text, squares[n], at(e.Value))
		}
		if e.Lower > 0 && !same(b.Min.X, at(e.Lower)) {
			t.Errorf("%s: bar begins at %v, want %v", w.Text, b.Min.X, at(e.Lower))
		}
		if e.Upper < 50 && !same(b.Max.X, at(e.Upper)) {
			t.Errorf("%s: bar ends at %v, want %v", w.Text, b.Max.X, at(e.Upper))
		}
		// The estimate stands on the line of its own text.
		if y := one(t, c, w.Text).at.Y; math.Abs(float64(y-middle(b).Y)) > float64(plain.line()) {
			t.Errorf("%s: text at %v, bar at %v", w.Text, y, middle(b).Y)
		}
		n++
	}
	if len(bars) != n || len(squares) != n {
		t.Errorf("%d bars and %d squares for %d estimates", len(bars), len(squares), n)
	}
	if len(find(c, arrowNote)) != 1 || len(find(c, "not estimable")) != 1 || len(find(c, "reference")) != 2 {
		t.Error("want one note about arrows, one row not estimable, two references")
	}
}

// A ratio of 0 or ∞ has limits and an arrow but no marker: its place does not
// exist on the axis.
func TestForestOfZeroAndInfinity(t *testing.T) {
	for name, e := range map[string]struct{ value, lower, upper float64 }{
		"zero": {0, 0, 2.5}, "endless": {inf, 0.4, inf},
	} {
		c := draw(t, Forest{Log: true, Null: 1, Rows: []ForestRow{{Label: "a", Estimate: est(e.value, e.lower, e.upper)}}}).canvas
		arrows, others := 0, 0
		for _, m := range c.marks {
			switch n := len(points(m.path)); {
			case m.color != black || m.width != 0:
			case n == 3:
				arrows++
			case n == 4 && bounds(m.path).Max.X-bounds(m.path).Min.X < 6 && bounds(m.path).Max.X-bounds(m.path).Min.X > 4:
				others++
			}
		}
		if arrows != 1 || others != 0 {
			t.Errorf("%s: %d arrows and %d markers, want 1 and 0", name, arrows, others)
		}
	}
}

func TestForestText(t *testing.T) {
	text := draw(t, sampleForest()).Text()
	for _, part := range []string{"Crude: Normal reference;", "Pronated 1.87 (1.3 to 2.69);", "Größer ≤ −5 not estimable;"} {
		if !strings.Contains(text, part) {
			t.Errorf("text lacks %q: %s", part, text)
		}
	}
}

func TestForestRefused(t *testing.T) {
	for name, c := range map[string]struct {
		spoil func(f *Forest)
		is    error
		says  string
	}{
		"no rows":       {func(f *Forest) { f.Rows = nil }, ErrNoData, "none of 0 rows"},
		"only headings": {func(f *Forest) { f.Rows = f.Rows[:2] }, ErrNoData, "none of 2 rows"},
		"not estimable": {func(f *Forest) { f.Rows = []ForestRow{{Label: "a", Estimate: est(nan, nan, nan)}} }, ErrNoData, "none of 1 rows"},
		"null of 0":     {func(f *Forest) { f.Null = 0 }, nil, "null value 0"},
		"negative":      {func(f *Forest) { f.Rows[2].Estimate.Value = -1 }, nil, `row 3 "Pronated": ratio -1`},
		"crossed":       {func(f *Forest) { f.Rows[2].Estimate.Upper = 0.1 }, nil, "lower limit 1.3 is above upper limit 0.1"},
		"difference":    {func(f *Forest) { f.Log, f.Null, f.Rows[2].Estimate.Value = false, 0, inf }, nil, "difference +Inf"},
		"no room":       {func(f *Forest) { f.Size.Width, f.Rows[2].Text = 50, "a word and aVeryLongWordThatCannotBeBroken" }, ErrNoRoom, "width of 50 mm"},
	} {
		f := sampleForest()
		c.spoil(&f)
		_, err := f.Draw()
		if err == nil || c.is != nil && !errors.Is(err, c.is) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want %v with %q", name, err, c.is, c.says)
		}
	}
}
