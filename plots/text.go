package plots

import (
	"strings"
	"sync"
	"unicode"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"golang.org/x/text/unicode/norm"
	"gonum.org/v1/plot/vg"
)

// A style is a size and weight of the figures' one typeface, Liberation Sans.
type style struct {
	size vg.Length
	bold bool
}

var (
	regularFont = sync.OnceValue(func() *sfnt.Font { return mustParse(liberationsansregular.TTF) })
	boldFont    = sync.OnceValue(func() *sfnt.Font { return mustParse(liberationsansbold.TTF) })
)

// mustParse parses a font that is part of the program.
func mustParse(ttf []byte) *sfnt.Font {
	f, err := sfnt.Parse(ttf)
	if err != nil {
		panic("plots: built-in font: " + err.Error())
	}
	return f
}

func (st style) font() *sfnt.Font {
	if st.bold {
		return boldFont()
	}
	return regularFont()
}

// line returns the distance between baselines.
func (st style) line() vg.Length { return st.size * leading }

// ascent returns the distance from the top of a line to its baseline, so that
// the letters stand in the middle of the line.
func (st style) ascent() vg.Length { return st.size * 0.95 }

// glyphs walks over the glyphs of s with their positions, in font units, and
// returns the advance of the whole. A character the font lacks has the font's
// empty box as its glyph.
func (st style) glyphs(s string, visit func(buf *sfnt.Buffer, f *sfnt.Font, g sfnt.GlyphIndex, x int)) int {
	f := st.font()
	em := fixed.Int26_6(f.UnitsPerEm())
	var buf sfnt.Buffer
	var prev sfnt.GlyphIndex
	x := 0
	for i, r := range s {
		g, err := f.GlyphIndex(&buf, r)
		if err != nil {
			g = 0
		}
		if i > 0 {
			if k, err := f.Kern(&buf, prev, g, em, font.HintingNone); err == nil {
				x += int(k)
			}
		}
		if visit != nil {
			visit(&buf, f, g, x)
		}
		if a, err := f.GlyphAdvance(&buf, g, em, font.HintingNone); err == nil {
			x += int(a)
		}
		prev = g
	}
	return x
}

// unit returns the length of one font unit.
func (st style) unit() vg.Length { return st.size / vg.Length(st.font().UnitsPerEm()) }

// width returns the advance of s.
func (st style) width(s string) vg.Length {
	return vg.Length(st.glyphs(clean(s), nil)) * st.unit()
}

// outline returns the outlines of s beginning at p, y downwards, to be filled
// by the nonzero rule; vertical text reads upwards.
func (st style) outline(s string, p vg.Point, vertical bool) vg.Path {
	u := st.unit()
	var path vg.Path
	st.glyphs(s, func(buf *sfnt.Buffer, f *sfnt.Font, g sfnt.GlyphIndex, x int) {
		at := func(q fixed.Point26_6) vg.Point {
			dx, dy := vg.Length(x+int(q.X))*u, vg.Length(int(q.Y))*u
			if vertical {
				dx, dy = dy, -dx
			}
			return vg.Point{X: p.X + dx, Y: p.Y + dy}
		}
		segments, err := f.LoadGlyph(buf, g, fixed.Int26_6(f.UnitsPerEm()), nil)
		if err != nil {
			return
		}
		open := false
		for _, seg := range segments {
			switch seg.Op {
			case sfnt.SegmentOpMoveTo:
				if open {
					path.Close()
				}
				path.Move(at(seg.Args[0]))
				open = true
			case sfnt.SegmentOpLineTo:
				path.Line(at(seg.Args[0]))
			case sfnt.SegmentOpQuadTo:
				path.QuadTo(at(seg.Args[0]), at(seg.Args[1]))
			case sfnt.SegmentOpCubeTo:
				path.CubeTo(at(seg.Args[0]), at(seg.Args[1]), at(seg.Args[2]))
			}
		}
		if open {
			path.Close()
		}
	})
	return path
}

// clean returns s as one line of composed characters: faulty bytes become the
// replacement character, control characters and runs of space one space.
// No-break spaces stay.
func clean(s string) string {
	s = strings.ToValidUTF8(s, "\uFFFD")
	s = strings.Map(func(r rune) rune {
		switch {
		case r == '\u00AD', r == '\u200B', r == '\uFEFF': // soft hyphen, zero width
			return -1
		case unicode.IsControl(r):
			return ' '
		}
		return r
	}, s)
	words := strings.FieldsFunc(s, func(r rune) bool { return r != '\u00A0' && r != '\u202F' && unicode.IsSpace(r) })
	return norm.NFC.String(strings.Join(words, " "))
}

// words returns the words of s; a no-break space joins.
func words(s string) []string {
	return strings.FieldsFunc(clean(s), func(r rune) bool { return r == ' ' })
}

// wrap breaks s into lines no wider than limit: at spaces, and inside a word
// only where the word alone is too wide, after a hyphen, dash or slash if
// there is one. A single character may be wider than limit. Empty text has no
// lines.
func (st style) wrap(s string, limit vg.Length) []string {
	var lines []string
	line := ""
	for _, word := range words(s) {
		if line != "" && st.width(line+" "+word) <= limit {
			line += " " + word
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		for line = word; st.width(line) > limit; {
			n := st.breakAt(line, limit)
			if n == len(line) {
				break
			}
			lines = append(lines, line[:n])
			line = line[n:]
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// breakAt returns the length in bytes of the part of word that fits limit, at
// least one character.
func (st style) breakAt(word string, limit vg.Length) int {
	fits, good := 0, 0
	for i, r := range word {
		end := i + len(string(r))
		if i > 0 && st.width(word[:end]) > limit {
			break
		}
		fits = end
		if strings.ContainsRune("-–—/_", r) && end < len(word) {
			good = end
		}
	}
	if good > 0 {
		return good
	}
	return fits
}

// longestWord returns the width of the widest word of s.
func (st style) longestWord(s string) vg.Length {
	var w vg.Length
	for _, word := range words(s) {
		w = max(w, st.width(word))
	}
	return w
}

// widest returns the width of the widest line.
func (st style) widest(lines []string) vg.Length {
	var w vg.Length
	for _, l := range lines {
		w = max(w, st.width(l))
	}
	return w
}
