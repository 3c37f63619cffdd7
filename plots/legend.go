package plots

import "gonum.org/v1/plot/vg"

// A key is one entry of a legend: a sample and a name.
type key struct {
	name   string
	width  vg.Length // of the sample
	sample func(c *canvas, p vg.Point)
}

// heading draws title and legend at the top, left aligned at the margin, and
// returns the y beneath them. The legend stands outside the plot, as many
// entries a row as fit; a name too long for a row of its own wraps.
func (c *canvas) heading(titleText string, keys []key) vg.Length {
	y := margin
	if lines := title.wrap(titleText, c.width-2*margin); len(lines) > 0 {
		y = c.lines(lines, margin, y, left, title) + gap
	}
	if len(keys) == 0 {
		return y
	}
	const between, beside = 12, 4
	x := margin
	for i, k := range keys {
		lines := plain.wrap(k.name, c.width-2*margin-k.width-beside)
		w := k.width + beside + plain.widest(lines)
		if i > 0 && x+w > c.width-margin {
			x, y = margin, y+plain.line()
		}
		k.sample(c, vg.Point{X: x, Y: y + plain.ascent() - plain.size*0.3})
		end := c.lines(lines, x+k.width+beside, y, left, plain)
		if len(lines) > 1 {
			y = end - plain.line()
			x = c.width // the next entry begins a row
			continue
		}
		x += w + between
	}
	return y + plain.line() + gap
}

// axisLabel draws the label of an x axis, centred on the middle of the axis
// and inside the figure, and returns the y beneath it.
func (c *canvas) axisLabel(label string, middle, y vg.Length) vg.Length {
	lines := plain.wrap(label, c.width-2*margin)
	half := plain.widest(lines) / 2
	middle = min(max(middle, margin+half), c.width-margin-half)
	return c.lines(lines, middle, y+1, center, plain)
}

// note draws a wrapped note and returns the y beneath it.
func (c *canvas) note(s string, y vg.Length) vg.Length {
	lines := plain.wrap(s, c.width-2*margin)
	if len(lines) == 0 {
		return y
	}
	return c.lines(lines, margin, y+gap, left, plain)
}
