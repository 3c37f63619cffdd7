package plots

import (
	"image/color"
	"math"
	"slices"
	"testing"

	"gonum.org/v1/plot/vg"
)

// near is the distance within which two places are the same: a hundredth of a
// point, to which all formats round.
const near = 0.01

func same(a, b vg.Length) bool { return math.Abs(float64(a-b)) <= near }

// one returns the only text that reads s.
func one(t *testing.T, c *canvas, s string) text {
	t.Helper()
	found := find(c, s)
	if len(found) != 1 {
		t.Fatalf("%d texts read %q, want 1", len(found), s)
	}
	return found[0]
}

// tickY is the height of the y tick with the label s, from where the label
// stands: its baseline is 0.35 of its size below the tick.
func tickY(t *testing.T, c *canvas, s string) vg.Length {
	t.Helper()
	return one(t, c, s).at.Y - textSize*0.35
}

// between is the place of value on a linear axis on which low stands at a and
// high at b.
func between(value, low, high float64, a, b vg.Length) vg.Length {
	return a + vg.Length((value-low)/(high-low))*(b-a)
}

// bounds returns the box around the points of a path; control points of a
// circle lie on its box.
func bounds(p vg.Path) vg.Rectangle {
	r := vg.Rectangle{Min: vg.Point{X: 1e9, Y: 1e9}, Max: vg.Point{X: -1e9, Y: -1e9}}
	for _, comp := range p {
		if comp.Type == vg.CloseComp {
			continue
		}
		r.Min.X, r.Min.Y = min(r.Min.X, comp.Pos.X), min(r.Min.Y, comp.Pos.Y)
		r.Max.X, r.Max.Y = max(r.Max.X, comp.Pos.X), max(r.Max.Y, comp.Pos.Y)
	}
	return r
}

// middle is the centre of a box.
func middle(r vg.Rectangle) vg.Point {
	return vg.Point{X: (r.Min.X + r.Max.X) / 2, Y: (r.Min.Y + r.Max.Y) / 2}
}

// strokes lists the paths drawn with a pen of the colour and width.
func strokes(c *canvas, col color.NRGBA, width vg.Length) (list []vg.Path) {
	for _, m := range c.marks {
		if m.color == col && m.width == width {
			list = append(list, m.path)
		}
	}
	return list
}

// points lists the points of a path.
func points(p vg.Path) (list []vg.Point) {
	for _, comp := range p {
		if comp.Type != vg.CloseComp {
			list = append(list, comp.Pos)
		}
	}
	return list
}

// samePoints reports whether two lists of points are the same, doubled points
// aside.
func samePoints(a, b []vg.Point) bool {
	eq := func(p, q vg.Point) bool { return same(p.X, q.X) && same(p.Y, q.Y) }
	a, b = slices.CompactFunc(slices.Clone(a), eq), slices.CompactFunc(slices.Clone(b), eq)
	return slices.EqualFunc(a, b, eq)
}
