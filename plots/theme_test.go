package plots

import (
	"fmt"
	"image/color"
	"math"
	"testing"

	"gonum.org/v1/plot/vg"
)

// lightness is the relative luminance of sRGB (IEC 61966-2-1), 0 to 1.
func lightness(c color.NRGBA) float64 {
	linear := func(v uint8) float64 {
		x := float64(v) / 255
		if x <= 0.04045 {
			return x / 12.92
		}
		return math.Pow((x+0.055)/1.055, 2.4)
	}
	return 0.2126*linear(c.R) + 0.7152*linear(c.G) + 0.0722*linear(c.B)
}

// Without colour, series still differ: the first seven in shape and in dash,
// and neighbours in lightness too.
func TestGrey(t *testing.T) {
	for i := range palette {
		if l := lightness(palette[i]); l > 0.5 {
			t.Errorf("colour %d is too light for white paper: %.2f", i, l)
		}
		if i == 0 {
			continue
		}
		if d := math.Abs(lightness(palette[i]) - lightness(palette[i-1])); d < 0.05 {
			t.Errorf("colours %d and %d differ by %.3f in lightness, want 0.05", i-1, i, d)
		}
	}
	seen := map[string]int{}
	for i := range int(shapes) {
		for _, look := range []string{fmt.Sprint("shape ", i%int(shapes)), fmt.Sprint("dash ", dash(i))} {
			if j, ok := seen[look]; ok {
				t.Errorf("series %d and %d share %s", j, i, look)
			}
			seen[look] = i
		}
	}
	if len(dashes) != int(shapes) {
		t.Errorf("%d dashes and %d shapes", len(dashes), shapes)
	}
}

// Up to seriesLimit series no two share colour and shape, or colour and dash.
func TestSeriesLimit(t *testing.T) {
	seen := map[string]bool{}
	for i := range seriesLimit {
		for _, look := range []string{fmt.Sprint("shape", colour(i), i%int(shapes)), fmt.Sprint("dash", colour(i), dash(i))} {
			if seen[look] {
				t.Errorf("series %d looks like one before", i)
			}
			seen[look] = true
		}
	}
}

func TestShapesAreCentredAndClosed(t *testing.T) {
	for s := range shapes {
		p := s.path(vg.Point{X: 10, Y: 20}, 2)
		if p[0].Type != vg.MoveComp || p[len(p)-1].Type != vg.CloseComp {
			t.Errorf("shape %d is not a closed outline", s)
		}
		for _, c := range p[:len(p)-1] {
			if d := math.Hypot(float64(c.Pos.X-10), float64(c.Pos.Y-20)); d > 2*1.41 {
				t.Errorf("shape %d reaches %v from its centre", s, d)
			}
		}
	}
}
