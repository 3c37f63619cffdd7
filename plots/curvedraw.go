package plots

import (
	"math"

	"heelcohort/stats"

	"gonum.org/v1/plot/vg"
)

// describeAt returns estimate j of a curve in words.
func describeAt(b BandCurve, j int) string {
	return describe(stats.Estimate{Value: b.Estimate[j], Lower: b.Lower[j], Upper: b.Upper[j]})
}

// limits draws the band of curve i, or the bars of its points, cut at the
// edges of the axis, and reports whether anything was cut.
func (c *canvas) limits(b BandCurve, i int, xs, ys scale) (cut bool) {
	beyond := func(v float64) bool { return v > ys.high || ys.log && v < ys.low } // no rate lies below 0
	at := func(v float64) vg.Length {
		cut = cut || beyond(v)
		return ys.at(min(max(v, ys.low), ys.high))
	}
	if b.Form == Points {
		for j := range b.X {
			if b.banded(j) {
				x := xs.at(b.X[j])
				c.line(pen{color: colour(i), width: 0.8}, vg.Point{X: x, Y: at(b.Lower[j])}, vg.Point{X: x, Y: at(b.Upper[j])})
			}
		}
		return cut
	}
	for j := 0; j < len(b.X); j++ {
		var upper, lower edge
		for ; j < len(b.X) && b.banded(j); j++ {
			x := xs.at(b.X[j])
			upper.add(vg.Point{X: x, Y: at(b.Upper[j])}, beyond(b.Upper[j]))
			lower.add(vg.Point{X: x, Y: at(b.Lower[j])}, beyond(b.Lower[j]))
			if b.Form == Steps {
				end := xs.at(b.stepEnd(j))
				upper.add(vg.Point{X: end, Y: at(b.Upper[j])}, beyond(b.Upper[j]))
				lower.add(vg.Point{X: end, Y: at(b.Lower[j])}, beyond(b.Lower[j]))
			}
		}
		if n := len(upper.points); n > 1 {
			c.between(upper, lower, i)
		} else if n == 1 { // limits at one place alone
			c.line(pen{color: colour(i), width: 0.8}, upper.points[0], lower.points[0])
		}
	}
	return cut
}

// An edge is one side of a band, with the points that stand at the edge of the
// axis because the limit lies beyond it.
type edge struct {
	points []vg.Point
	cut    []bool
}

func (e *edge) add(p vg.Point, cut bool) { e.points, e.cut = append(e.points, p), append(e.cut, cut) }

// draw strokes the edge, except along the edge of the axis.
func (e edge) draw(c *canvas, n pen) {
	from := 0
	for i := 1; i <= len(e.points); i++ {
		if i == len(e.points) || e.cut[i-1] && e.cut[i] {
			if i-from > 1 {
				c.line(n, e.points[from:i]...)
			}
			from = i
		}
	}
}

// between fills the band between two lines of curve i: a light tint, through
// which other bands remain visible, and thin edges.
func (c *canvas) between(upper, lower edge, i int) {
	var p vg.Path
	p.Move(upper.points[0])
	for _, q := range upper.points[1:] {
		p.Line(q)
	}
	for m := len(lower.points) - 1; m >= 0; m-- {
		p.Line(lower.points[m])
	}
	p.Close()
	tint := colour(i)
	tint.A = 36
	c.fill(p, tint)
	thin := pen{color: colour(i), width: 0.35, dash: dash(i)}
	upper.draw(c, thin)
	lower.draw(c, thin)
}

// stepEnd is where step j ends.
func (b BandCurve) stepEnd(j int) float64 {
	if j+1 < len(b.X) {
		return b.X[j+1]
	}
	return b.last()
}

// estimates draws the line or the points of curve i; an estimate alone
// between gaps is a point.
func (c *canvas) estimates(b BandCurve, i int, xs, ys scale) {
	n := pen{color: colour(i), width: lineWidth, dash: dash(i)}
	var points []vg.Point
	flush := func() {
		switch len(points) {
		case 0:
		case 1:
			c.marker(disc, points[0], 1.5, colour(i))
		default:
			c.line(n, points...)
		}
		points = nil
	}
	for j, v := range b.Estimate {
		if math.IsNaN(v) {
			flush()
			continue
		}
		p := vg.Point{X: xs.at(b.X[j]), Y: ys.at(v)}
		if b.Form == Points {
			c.marker(shape(i%int(shapes)), p, 2.3, colour(i))
			continue
		}
		points = append(points, p)
		if end := b.stepEnd(j); b.Form == Steps && end > b.X[j] {
			points = append(points, vg.Point{X: xs.at(end), Y: p.Y})
		}
	}
	flush()
}
