package plots

import (
	"fmt"
	"html"
	"image/color"
	"math"
	"strconv"
	"strings"

	"gonum.org/v1/plot/vg"
)

// svg writes the figure as one svg element. Paths are written in whole
// hundredths of a point and relative to the point before, which keeps outlines
// of text short; each point is rounded before it is subtracted, so that
// nothing drifts.
func (f *Figure) svg() []byte {
	c := f.canvas
	var b []byte
	w, h := fixed2(c.width), fixed2(c.height)
	b = fmt.Appendf(b, `<svg xmlns="http://www.w3.org/2000/svg" width="%spt" height="%spt" viewBox="0 0 %s %s" role="img"`, w, h, w, h)
	titleID, textID := "", ""
	if id := f.prefix(); id != "" {
		b = fmt.Appendf(b, ` aria-labelledby="%s-title" aria-describedby="%s-desc"`, id, id)
		titleID, textID = fmt.Sprintf(` id="%s-title"`, id), fmt.Sprintf(` id="%s-desc"`, id)
	}
	b = fmt.Appendf(b, ">\n<title%s>%s</title>\n<desc%s>%s</desc>\n", titleID, xmlText(f.title), textID, xmlText(f.text))
	b = append(b, "<g transform=\"scale(.01)\">\n"...)
	for _, m := range c.marks {
		paint := hex(m.color)
		opacity := ""
		if m.color.A != 255 {
			opacity = strconv.FormatFloat(float64(m.color.A)/255, 'f', 3, 64)
		}
		if m.width > 0 {
			b = fmt.Appendf(b, `<path fill="none" stroke="%s" stroke-width="%d"`, paint, hundredths(m.width))
			if opacity != "" {
				b = fmt.Appendf(b, ` stroke-opacity="%s"`, opacity)
			}
			for i, d := range m.dash {
				sep := `,`
				if i == 0 {
					sep = ` stroke-dasharray="`
				}
				b = fmt.Appendf(b, "%s%d", sep, hundredths(d))
			}
			if len(m.dash) > 0 {
				b = append(b, '"')
			}
		} else {
			b = fmt.Appendf(b, `<path fill="%s"`, paint)
			if opacity != "" {
				b = fmt.Appendf(b, ` fill-opacity="%s"`, opacity)
			}
		}
		b = append(b, ` d="`...)
		b = appendPath(b, m.path)
		b = append(b, "\"/>\n"...)
	}
	return append(b, "</g>\n</svg>\n"...)
}

// appendPath appends the path data.
func appendPath(b []byte, path vg.Path) []byte {
	var x, y, startX, startY int // the current point, and the subpath's first
	last := byte(0)
	command := func(name byte) {
		if name != last || name == 'm' {
			b = append(b, name)
			last = name
		}
	}
	number := func(n int) {
		if c := b[len(b)-1]; n >= 0 && c >= '0' && c <= '9' {
			b = append(b, ' ')
		}
		b = strconv.AppendInt(b, int64(n), 10)
	}
	pair := func(p vg.Point) {
		number(hundredths(p.X) - x)
		number(hundredths(p.Y) - y)
	}
	for _, comp := range path {
		switch comp.Type {
		case vg.MoveComp:
			command('m')
			pair(comp.Pos)
			startX, startY = hundredths(comp.Pos.X), hundredths(comp.Pos.Y)
		case vg.LineComp:
			switch {
			case hundredths(comp.Pos.Y) == y:
				command('h')
				number(hundredths(comp.Pos.X) - x)
			case hundredths(comp.Pos.X) == x:
				command('v')
				number(hundredths(comp.Pos.Y) - y)
			default:
				command('l')
				pair(comp.Pos)
			}
		case vg.CurveComp:
			if len(comp.Control) == 1 {
				command('q')
			} else {
				command('c')
			}
			for _, q := range comp.Control {
				pair(q)
			}
			pair(comp.Pos)
		case vg.CloseComp:
			command('z')
			x, y = startX, startY
			continue
		}
		x, y = hundredths(comp.Pos.X), hundredths(comp.Pos.Y)
	}
	return b
}

func hundredths(l vg.Length) int { return int(math.Round(float64(l) * 100)) }

// fixed2 returns a length in points with at most two decimals.
func fixed2(l vg.Length) string {
	return strconv.FormatFloat(float64(hundredths(l))/100, 'f', -1, 64)
}

func hex(c color.NRGBA) string { return fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B) }

// prefix returns ID as it may stand in an SVG id.
func (f *Figure) prefix() string {
	return strings.Map(func(r rune) rune {
		if r == '-' || r == '_' || r >= '0' && r <= '9' || r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' {
			return r
		}
		return '_'
	}, f.ID)
}

// xmlText escapes s, without the characters that XML cannot hold.
func xmlText(s string) string {
	s = strings.Map(func(r rune) rune {
		if r < 0x20 && r != '\n' || r == 0xFFFE || r == 0xFFFF {
			return ' '
		}
		return r
	}, strings.ToValidUTF8(s, "\uFFFD"))
	return html.EscapeString(s)
}
