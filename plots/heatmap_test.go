package plots

import (
	"errors"
	"image/color"
	"strings"
	"testing"

	"gonum.org/v1/plot/vg"
	"pgregory.net/rapid"
)

// rects lists the filled rectangles of a canvas with their colours.
func rects(c *canvas) (list []mark) {
	for _, m := range c.marks {
		if m.width == 0 && len(points(m.path)) == 4 {
			list = append(list, m)
		}
	}
	return list
}

// groundAt returns the colour of the last rectangle under p.
func groundAt(c *canvas, p vg.Point) (col color.NRGBA) {
	for _, m := range rects(c) {
		b := bounds(m.path)
		if b.Min.X <= p.X && p.X <= b.Max.X && b.Min.Y <= p.Y && p.Y <= b.Max.Y {
			col = m.color
		}
	}
	return col
}

// Every text of a cell stands on the shade of its rate: the shade of 0 for a
// rate of 0, the darkest from the largest rate on enough events on, here 2.53.
func TestHeatMapShades(t *testing.T) {
	h := sampleHeatMap()
	c := draw(t, h).canvas
	for _, want := range []struct {
		rate string
		at   float64
	}{{"2.53", 1}, {"4.44", 1}, {"1.89", (20 / 10.6) / (49 / 19.4)}, {"0.36", (4 / 11.1) / (49 / 19.4)}, {"0.95", (6 / 6.3) / (49 / 19.4)}} {
		x := one(t, c, want.rate)
		if got := groundAt(c, x.at); got != shade(want.at) {
			t.Errorf("%s stands on %v, want %v", want.rate, got, shade(want.at))
		}
		if got := inkOn(shade(want.at)); x.ink != got {
			t.Errorf("%s is written in %v, want %v", want.rate, x.ink, got)
		}
	}
	for _, x := range find(c, "0.00") {
		if got := groundAt(c, x.at); got != shades[0] || got == white {
			t.Errorf("a rate of 0 stands on %v, want %v", got, shades[0])
		}
	}
	if n := len(find(c, "0.00")); n != 3 {
		t.Errorf("%d rates of 0, want 3", n)
	}
	for _, s := range []string{"fewer than 5 events", "no person-time", "suppressed", "Rate per 1,000 hours"} {
		one(t, c, s)
	}
}

// A cell of few events has a hatch, one without a rate has its sign and no
// text, and the signs differ.
func TestHeatMapSigns(t *testing.T) {
	h := HeatMap{
		Columns: []string{"a", "b", "c", "d"}, Rows: []string{"r"}, FewName: "few",
		Cells: [][]HeatCell{{
			{Value: 2, Text: []string{"2", "9"}},
			{Value: 1, Text: []string{"1", "3"}, Few: true},
			{Value: nan, Absent: "no person-time"},
			{Value: nan, Absent: "suppressed"},
		}},
	}
	c := draw(t, h).canvas
	frame := bounds(strokes(c, black, axisWidth)[len(strokes(c, black, axisWidth))-1])
	wide := (frame.Max.X - frame.Min.X) / 4
	in := func(p vg.Path, column int) bool {
		b := bounds(p)
		x := frame.Min.X + wide*vg.Length(column)
		return b.Min.X >= x-near && b.Max.X <= x+wide+near && b.Min.Y >= frame.Min.Y-near
	}
	for column, want := range [][2]int{{0, 0}, {1, 0}, {0, 1}, {0, 2}} {
		hatches, signs := 0, 0
		for _, p := range strokes(c, inkOn(shade(0.5)), 0.4) {
			if in(p, column) {
				hatches++
			}
		}
		for _, p := range strokes(c, grey, axisWidth) {
			if in(p, column) {
				signs++
			}
		}
		if hatches != want[0] || signs != want[1] {
			t.Errorf("column %d: %d hatches and %d strokes, want %v", column, hatches, signs, want)
		}
	}
}

// Shades become ever darker, also in grey, and what is written on them has a
// contrast of 4.5 to 1 at least (WCAG 2.2, success criterion 1.4.3).
func TestShades(t *testing.T) {
	last := 2.0
	for i := range 201 {
		col := shade(float64(i) / 200)
		l := luminance(col)
		if i%2 == 0 && l >= last {
			t.Errorf("shade %d of 200 is not darker than the one before", i)
		}
		if i%2 == 0 {
			last = l
		}
		high, low := max(l, luminance(inkOn(col))), min(l, luminance(inkOn(col)))
		if contrast := (high + 0.05) / (low + 0.05); contrast < 4.5 {
			t.Errorf("contrast %v on shade %d of 200, want 4.5", contrast, i)
		}
	}
	if got := luminance(color.NRGBA{R: 255, G: 255, B: 255, A: 255}); got < 0.9999 || got > 1.0001 {
		t.Errorf("luminance of white %v, want 1", got)
	}
}

func TestHeatMapText(t *testing.T) {
	text := draw(t, sampleHeatMap()).Text()
	for _, part := range []string{
		"Heat map: Rate per 1,000 hours, by Current age (years) and Sport.", "Football: 6 to <8: 0.44, 3, fewer than 5 events; 8 to <10: 1.52, 23;",
		"Höhenturnen: 6 to <8: no person-time;", "14 to <17: suppressed.", "beneath it the number of events",
	} {
		if !strings.Contains(text, part) {
			t.Errorf("text lacks %q: %s", part, text)
		}
	}
}

func TestHeatMapRefused(t *testing.T) {
	for name, c := range map[string]struct {
		spoil func(h *HeatMap)
		is    error
		says  string
	}{
		"no columns": {func(h *HeatMap) { h.Columns = nil }, ErrNoData, "0 columns"},
		"few rows":   {func(h *HeatMap) { h.Cells = h.Cells[:2] }, nil, "cells of 2 rows, want 6"},
		"few cells":  {func(h *HeatMap) { h.Cells[1] = h.Cells[1][:2] }, nil, `row "Artistic gymnastics and tumbling" has 2 cells for 5 columns`},
		"negative":   {func(h *HeatMap) { h.Cells[0][1].Value = -1 }, nil, `row "Football", column "8 to <10": rate -1`},
		"infinite":   {func(h *HeatMap) { h.Cells[0][1].Value = inf }, nil, "rate +Inf"},
		"no reason":  {func(h *HeatMap) { h.Cells[0][1] = HeatCell{Value: nan} }, nil, "no rate and no reason"},
		"no rate": {func(h *HeatMap) {
			h.Columns, h.Rows, h.Cells = h.Columns[:1], h.Rows[4:5], [][]HeatCell{h.Cells[4][:1]}
		}, ErrNoData, "no rate is estimable"},
		"many signs": {func(h *HeatMap) {
			h.Cells[0][0], h.Cells[0][1] = HeatCell{Value: nan, Absent: "a"}, HeatCell{Value: nan, Absent: "b"}
		}, ErrNoRoom, "4 reasons"},
		"long number": {func(h *HeatMap) { h.Cells[0][0].Text[0], h.Size.Width = "1,234,567.89", 84 }, ErrNoRoom, "the text needs"},
	} {
		h := sampleHeatMap()
		c.spoil(&h)
		_, err := h.Draw()
		if err == nil || c.is != nil && !errors.Is(err, c.is) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want %v with %q", name, err, c.is, c.says)
		}
	}
}

// anyWords draws a label that is hard to place.
func anyWords(t *rapid.T, what string) string {
	return rapid.SampledFrom([]string{
		"", "ö", "a – b", "≤ 10", "\x00\xff", "日本", "supercalifragilistic/expialidocious", "many words in one label, which wraps",
		"e\u0301", "\n", "6 to <8", "Football",
	}).Draw(t, what)
}

var anyRate = rapid.OneOf(
	rapid.SampledFrom([]float64{nan, 0, 0, 1, 1e-99, 1e99, 0.5, 2, 3, -1, inf, 1e-300}),
	rapid.Float64Range(0.001, 1000),
)

var anySize = rapid.SampledFrom([]Size{{}, {Width: 84}, {Width: 174}, {Width: 60}, {Width: 120, Height: 150}})

// drawnWhole draws whatever can be drawn and checks that nothing is cut off,
// that no texts overlap and that the size is the one wanted.
func drawnWhole(t *rapid.T, d drawer, size Size) {
	f, err := d.Draw()
	if err != nil {
		return
	}
	for _, fault := range layoutFaults(f.canvas) {
		t.Errorf("%s", fault)
	}
	if size.Height != 0 && (f.Size().Height > size.Height+0.01 || f.Size().Height < size.Height-0.01) {
		t.Errorf("height %v, want %v", f.Size().Height, size.Height)
	}
	for _, m := range f.canvas.marks {
		for _, comp := range m.path {
			if x := comp.Pos.X + comp.Pos.Y; x-x != 0 {
				t.Fatalf("coordinate %v", comp.Pos)
			}
		}
	}
}

func TestAnyHeatMap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := HeatMap{
			Title: anyWords(t, "title"), XLabel: anyWords(t, "x"), YLabel: anyWords(t, "y"), Unit: anyWords(t, "unit"),
			FewName: anyWords(t, "few"), Note: anyWords(t, "note"), Size: anySize.Draw(t, "size"),
		}
		for range rapid.IntRange(1, 7).Draw(t, "columns") {
			h.Columns = append(h.Columns, anyWords(t, "column"))
		}
		for range rapid.IntRange(1, 7).Draw(t, "rows") {
			h.Rows = append(h.Rows, anyWords(t, "row"))
			var line []HeatCell
			for range h.Columns {
				line = append(line, HeatCell{
					Value: anyRate.Draw(t, "rate"), Few: rapid.Bool().Draw(t, "few"), Absent: rapid.SampledFrom([]string{"a", "bb", "c"}).Draw(t, "absent"),
					Text: rapid.SliceOfN(rapid.SampledFrom([]string{"1.25", "12", "1,234.5", "0"}), 0, 3).Draw(t, "text"),
				})
			}
			h.Cells = append(h.Cells, line)
		}
		drawnWhole(t, h, h.Size)
	})
}

func TestAnyDots(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := Dots{
			Title: anyWords(t, "title"), XLabel: anyWords(t, "x"), GroupLabel: anyWords(t, "group label"), Note: anyWords(t, "note"),
			Log: rapid.Bool().Draw(t, "log"), Reference: anyRate.Draw(t, "reference"), ReferenceName: anyWords(t, "reference name"), Size: anySize.Draw(t, "size"),
		}
		for range rapid.IntRange(1, 7).Draw(t, "groups") {
			d.Groups = append(d.Groups, anyWords(t, "group"))
		}
		for range rapid.IntRange(1, 7).Draw(t, "panels") {
			p := RateSeries{Name: anyWords(t, "panel")}
			for range d.Groups {
				v := anyRate.Draw(t, "rate")
				p.Estimates = append(p.Estimates, est(v, v*rapid.SampledFrom([]float64{0, 0.5, 1, 1e-9, nan}).Draw(t, "lower"),
					v+rapid.SampledFrom([]float64{0, 1, 1e12, inf, nan, 0.01}).Draw(t, "upper")))
			}
			d.Panels = append(d.Panels, p)
		}
		drawnWhole(t, d, d.Size)
	})
}

func TestAnyCurves(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := Curves{
			Title: anyWords(t, "title"), XLabel: anyWords(t, "x"), YLabel: anyWords(t, "y"), Note: anyWords(t, "note"),
			Log: rapid.Bool().Draw(t, "log"), Reference: anyRate.Draw(t, "reference"), ReferenceName: anyWords(t, "reference name"), Size: anySize.Draw(t, "size"),
		}
		for range rapid.IntRange(1, 3).Draw(t, "curves") {
			b := BandCurve{Name: anyWords(t, "name"), Form: CurveForm(rapid.IntRange(0, 2).Draw(t, "form"))}
			x := rapid.SampledFrom([]float64{0, -5, 6, 1e6, 1e-7}).Draw(t, "from")
			step := rapid.SampledFrom([]float64{1, 0.25, 1e-3, 1e5}).Draw(t, "step")
			for range rapid.IntRange(0, 12).Draw(t, "places") {
				v := anyRate.Draw(t, "estimate")
				b.X, b.Estimate = append(b.X, x), append(b.Estimate, v)
				b.Lower = append(b.Lower, v*rapid.SampledFrom([]float64{0, 0.5, 1, 1e-9, nan, -1}).Draw(t, "lower"))
				b.Upper = append(b.Upper, v+rapid.SampledFrom([]float64{0, 1, 1e12, inf, nan, 0.01}).Draw(t, "upper"))
				x += step
			}
			b.End = x
			k.Curves = append(k.Curves, b)
		}
		drawnWhole(t, k, k.Size)
	})
}
