package plots

import (
	"image/color"
	"math"

	"gonum.org/v1/plot/vg"
)

// shades are the stops of the scale of a heat map: one hue, ever darker, so
// that the order of values survives grey printing. Its lightest stop is not
// white, which is left to cells without a value.
var shades = []color.NRGBA{
	{0xE9, 0xF1, 0xF8, 255},
	{0x8F, 0xBF, 0xE0, 255},
	{0x2F, 0x7F, 0xB8, 255},
	{0x06, 0x38, 0x66, 255},
}

// shade returns the colour at x, from 0 to 1; beyond them that of the end.
func shade(x float64) color.NRGBA {
	x = min(max(x, 0), 1) * float64(len(shades)-1)
	i := min(int(x), len(shades)-2)
	part := x - float64(i)
	mix := func(a, b uint8) uint8 {
		return uint8(math.Round(float64(a) + float64(part*(float64(b)-float64(a)))))
	}
	a, b := shades[i], shades[i+1]
	return color.NRGBA{R: mix(a.R, b.R), G: mix(a.G, b.G), B: mix(a.B, b.B), A: 255}
}

// luminance returns the relative luminance of a colour (WCAG 2.2, "relative
// luminance").
func luminance(c color.NRGBA) float64 {
	linear := func(v uint8) float64 {
		x := float64(v) / 255
		if x <= 0.04045 {
			return x / 12.92
		}
		return math.Pow((x+0.055)/1.055, 2.4)
	}
	return float64(0.2126*linear(c.R)) + float64(0.7152*linear(c.G)) + float64(0.0722*linear(c.B))
}

// inkOn returns black or white, whichever has the higher contrast with the
// ground; it is never below 4.5 to 1.
func inkOn(ground color.NRGBA) color.NRGBA {
	l := luminance(ground)
	if (l+0.05)/0.05 >= 1.05/(l+0.05) {
		return black
	}
	return white
}

// hatch draws diagonal lines, rising to the right, over a rectangle.
func (c *canvas) hatch(x0, y0, x1, y1 vg.Length, n pen) {
	const apart = 4
	w, h := x1-x0, y1-y0
	var p vg.Path
	// The lines are x+y = s from the upper left corner, s ascending.
	for s := vg.Length(apart) / 2; s < w+h; s += apart {
		a := vg.Point{X: max(0, s-h), Y: min(s, h)}
		b := vg.Point{X: min(s, w), Y: max(0, s-w)}
		p.Move(vg.Point{X: x0 + a.X, Y: y0 + a.Y})
		p.Line(vg.Point{X: x0 + b.X, Y: y0 + b.Y})
	}
	c.stroke(p, n)
}

// gradient draws a bar of the shades. Each of its pieces reaches to the end,
// over the one before, so that no seam shows between them.
func (c *canvas) gradient(x0, y0, x1, y1 vg.Length) {
	const pieces = 64
	for i := range pieces {
		x := x0 + (x1-x0)*vg.Length(i)/pieces
		c.rect(x, y0, x1, y1, shade((float64(i)+0.5)/pieces))
	}
	c.frame(x0, y0, x1, y1, axisPen)
}

// frame strokes a rectangle.
func (c *canvas) frame(x0, y0, x1, y1 vg.Length, n pen) {
	var p vg.Path
	p.Move(vg.Point{X: x0, Y: y0})
	p.Line(vg.Point{X: x1, Y: y0})
	p.Line(vg.Point{X: x1, Y: y1})
	p.Line(vg.Point{X: x0, Y: y1})
	p.Close()
	c.stroke(p, n)
}
