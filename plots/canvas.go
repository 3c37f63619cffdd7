package plots

import (
	"image/color"
	"math"

	"gonum.org/v1/plot/vg"
)

// A canvas is a list of things to draw, in order. Its origin is the upper left
// corner and y grows downwards, so that a layout can find out the height as it
// goes; render turns it over.
type canvas struct {
	width, height vg.Length
	marks         []mark
	texts         []text // where every text stands, for reckoning and tests
}

// A mark is a path to fill, or to stroke when it has a pen width.
type mark struct {
	path  vg.Path
	color color.NRGBA
	width vg.Length
	dash  []vg.Length
}

// A pen strokes lines.
type pen struct {
	color color.NRGBA
	width vg.Length
	dash  []vg.Length
}

// A text is one line of text as placed.
type text struct {
	s        string
	at       vg.Point // baseline; the point that align names
	align    align
	style    style
	vertical bool        // reads upwards
	ink      color.NRGBA // the zero value is black
}

// align says which part of a text stands at its point.
type align int

const (
	left align = iota
	center
	right
)

// offset returns how far before its point a text of width w begins.
func (a align) offset(w vg.Length) vg.Length { return w * vg.Length(a) / 2 }

// box returns the rectangle that t covers from ascent to descent.
func (t text) box() vg.Rectangle {
	w := t.style.width(t.s)
	up, down := t.style.size*0.75, t.style.size*0.22
	if t.vertical {
		y := t.at.Y + t.align.offset(w)
		return vg.Rectangle{Min: vg.Point{X: t.at.X - up, Y: y - w}, Max: vg.Point{X: t.at.X + down, Y: y}}
	}
	x := t.at.X - t.align.offset(w)
	return vg.Rectangle{Min: vg.Point{X: x, Y: t.at.Y - up}, Max: vg.Point{X: x + w, Y: t.at.Y + down}}
}

func (c *canvas) fill(p vg.Path, col color.NRGBA) {
	c.marks = append(c.marks, mark{path: p, color: col})
}

func (c *canvas) stroke(p vg.Path, n pen) {
	c.marks = append(c.marks, mark{path: p, color: n.color, width: n.width, dash: n.dash})
}

// line strokes the open polygon through the points.
func (c *canvas) line(n pen, points ...vg.Point) {
	var p vg.Path
	for i, q := range points {
		if i == 0 {
			p.Move(q)
		} else {
			p.Line(q)
		}
	}
	c.stroke(p, n)
}

// rect fills a rectangle.
func (c *canvas) rect(x0, y0, x1, y1 vg.Length, col color.NRGBA) {
	var p vg.Path
	p.Move(vg.Point{X: x0, Y: y0})
	p.Line(vg.Point{X: x1, Y: y0})
	p.Line(vg.Point{X: x1, Y: y1})
	p.Line(vg.Point{X: x0, Y: y1})
	p.Close()
	c.fill(p, col)
}

// marker draws a marker of half width r.
func (c *canvas) marker(s shape, p vg.Point, r vg.Length, col color.NRGBA) {
	path := s.path(p, r)
	if s.hollow() {
		c.fill(path, white)
		c.stroke(path, pen{color: col, width: 0.8})
		return
	}
	c.fill(path, col)
}

// arrow fills an arrow head with its tip at p, pointing along the unit (dx, dy).
func (c *canvas) arrow(p vg.Point, dx, dy vg.Length, col color.NRGBA) {
	const long, wide = 4.5, 2
	var path vg.Path
	path.Move(p)
	path.Line(vg.Point{X: p.X - dx*long + dy*wide, Y: p.Y - dy*long - dx*wide})
	path.Line(vg.Point{X: p.X - dx*long - dy*wide, Y: p.Y - dy*long + dx*wide})
	path.Close()
	c.fill(path, col)
}

// text draws one line of text with its baseline at p.
func (c *canvas) text(s string, p vg.Point, a align, st style) {
	c.place(text{s: clean(s), at: p, align: a, style: st})
}

// place draws a text as filled outlines and remembers it.
func (c *canvas) place(t text) {
	if t.s == "" {
		return
	}
	c.texts = append(c.texts, t)
	ink := t.ink
	if ink == (color.NRGBA{}) {
		ink = black
	}
	off := t.align.offset(t.style.width(t.s))
	if t.vertical {
		c.fill(t.style.outline(t.s, vg.Point{X: t.at.X, Y: t.at.Y + off}, true), ink)
		return
	}
	c.fill(t.style.outline(t.s, vg.Point{X: t.at.X - off, Y: t.at.Y}, false), ink)
}

// lines draws lines of text, the first one's top at y, and returns the y
// beneath the last.
func (c *canvas) lines(ss []string, x, y vg.Length, a align, st style) vg.Length {
	for _, s := range ss {
		c.text(s, vg.Point{X: x, Y: y + st.ascent()}, a, st)
		y += st.line()
	}
	return y
}

// verticals draws lines of text that read upwards, the first one leftmost with
// its left side at x, each with the point that align names at y.
func (c *canvas) verticals(ss []string, x, y vg.Length, a align, st style) {
	for _, s := range ss {
		c.place(text{s: clean(s), at: vg.Point{X: x + st.ascent(), Y: y}, align: a, style: st, vertical: true})
		x += st.line()
	}
}

// straight is a colour with alpha whose channels are not multiplied by it,
// which is what a PDF expects.
type straight color.NRGBA

// RGBA returns the channels as they are.
func (s straight) RGBA() (r, g, b, a uint32) {
	return uint32(s.R) * 0x101, uint32(s.G) * 0x101, uint32(s.B) * 0x101, uint32(s.A) * 0x101
}

// render draws everything on a backend, whose y grows upwards. Coordinates are
// rounded to a hundredth of a point.
func (c *canvas) render(to vg.Canvas, unmultiplied bool) {
	for _, m := range c.marks {
		var col color.Color = m.color
		if unmultiplied {
			col = straight(m.color)
		}
		to.SetColor(col)
		path := make(vg.Path, len(m.path))
		for i, comp := range m.path {
			comp.Pos = c.turn(comp.Pos)
			if comp.Control != nil {
				control := make([]vg.Point, len(comp.Control))
				for j, q := range comp.Control {
					control[j] = c.turn(q)
				}
				comp.Control = control
			}
			path[i] = comp
		}
		if m.width > 0 {
			to.SetLineWidth(m.width)
			to.SetLineDash(m.dash, 0)
			to.Stroke(path)
		} else {
			to.Fill(path)
		}
	}
}

func (c *canvas) turn(p vg.Point) vg.Point {
	round := func(l vg.Length) vg.Length { return vg.Length(math.Round(float64(l)*100) / 100) }
	return vg.Point{X: round(p.X), Y: round(c.height - p.Y)}
}
