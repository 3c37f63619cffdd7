package plots

import (
	"image/color"
	"math"

	"gonum.org/v1/plot/vg"
)

// Text and lines, in points.
const (
	textSize   vg.Length = 8
	titleSize  vg.Length = 9
	leading    vg.Length = 1.2 // line height over text size
	margin     vg.Length = 4   // around the figure
	gap        vg.Length = 4   // between blocks
	tickLength vg.Length = 3
	hairline   vg.Length = 0.25
	axisWidth  vg.Length = 0.5
	lineWidth  vg.Length = 1
)

var (
	plain = style{size: textSize}
	bold  = style{size: textSize, bold: true}
	title = style{size: titleSize, bold: true}
)

var (
	black = color.NRGBA{A: 255}
	white = color.NRGBA{R: 255, G: 255, B: 255, A: 255}
	grey  = color.NRGBA{R: 110, G: 110, B: 110, A: 255}
	pale  = color.NRGBA{R: 215, G: 215, B: 215, A: 255}
)

// palette holds the colours of Okabe and Ito, told apart by people with any
// common colour vision, black first; grey stands in for their yellow, which
// vanishes on paper. Neighbours differ in lightness.
var palette = []color.NRGBA{
	{0x00, 0x00, 0x00, 255}, // black
	{0xD5, 0x5E, 0x00, 255}, // vermillion
	{0x00, 0x72, 0xB2, 255}, // blue
	{0xE6, 0x9F, 0x00, 255}, // orange
	{0xCC, 0x79, 0xA7, 255}, // reddish purple
	{0x56, 0xB4, 0xE9, 255}, // sky blue
	{0x00, 0x9E, 0x73, 255}, // bluish green
	{0x99, 0x99, 0x99, 255}, // grey
}

// dashes tell curves apart without colour.
var dashes = [][]vg.Length{
	nil,
	{5, 2},
	{1.5, 1.5},
	{6, 1.5, 1.5, 1.5},
	{9, 2},
	{3, 1.5},
	{6, 1.5, 1.5, 1.5, 1.5, 1.5},
}

// colour returns the colour of series i.
func colour(i int) color.NRGBA { return palette[i%len(palette)] }

// dash returns the dash pattern of curve i. Colours and dashes have coprime
// numbers, so that the pairs repeat late.
func dash(i int) []vg.Length { return dashes[i%len(dashes)] }

// seriesLimit is the number of series that differ in colour and shape, or in
// colour and dash, together.
const seriesLimit = 56

// A shape is the form of a marker.
type shape int

// Shapes in the order series take them. Hollow ones are filled with white.
const (
	disc shape = iota
	hollowSquare
	triangle
	hollowDiamond
	square
	hollowDisc
	hollowTriangle
	shapes // their number
)

// hollow reports whether s is drawn as an outline.
func (s shape) hollow() bool {
	return s == hollowSquare || s == hollowDiamond || s == hollowDisc || s == hollowTriangle
}

// path returns the outline of s around p with the half width r; areas of the
// shapes are about equal.
func (s shape) path(p vg.Point, r vg.Length) vg.Path {
	switch s {
	case square, hollowSquare:
		return polygon(p, r*1.25, 4, math.Pi/4)
	case hollowDiamond:
		return polygon(p, r*1.35, 4, 0)
	case triangle, hollowTriangle:
		return polygon(p, r*1.4, 3, -math.Pi/2)
	}
	return polygon(p, r, 0, 0)
}

// polygon returns a regular polygon with the given circumradius, its first
// corner at the angle start; no corners give a circle.
func polygon(p vg.Point, r vg.Length, corners int, start float64) vg.Path {
	var path vg.Path
	if corners == 0 {
		const k = 0.5522847498307936 // control length of a quarter circle
		at := func(x, y vg.Length) vg.Point { return vg.Point{X: p.X + x*r, Y: p.Y + y*r} }
		path.Move(at(1, 0))
		path.CubeTo(at(1, k), at(k, 1), at(0, 1))
		path.CubeTo(at(-k, 1), at(-1, k), at(-1, 0))
		path.CubeTo(at(-1, -k), at(-k, -1), at(0, -1))
		path.CubeTo(at(k, -1), at(1, -k), at(1, 0))
		path.Close()
		return path
	}
	for i := range corners {
		sin, cos := math.Sincos(start + 2*math.Pi*float64(i)/float64(corners))
		q := vg.Point{X: p.X + r*vg.Length(cos), Y: p.Y + r*vg.Length(sin)}
		if i == 0 {
			path.Move(q)
		} else {
			path.Line(q)
		}
	}
	path.Close()
	return path
}
