package plots

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/plot/vg"
)

// Widths of figures in journals, in millimetres.
const (
	SingleColumn = 84.0
	DoubleColumn = 174.0
)

// Bounds of a Size, in millimetres.
const (
	minWidth, maxWidth   = 50.0, 500.0
	minHeight, maxHeight = 30.0, 1000.0
)

// Why a figure cannot be drawn. Draw wraps these with the details; test with
// errors.Is.
var (
	ErrNoData = errors.New("nothing to draw")
	ErrNoRoom = errors.New("figure does not fit its size")
)

// A Size is the outer size of a figure in millimetres. The zero value is
// DoubleColumn wide and as high as the content needs.
type Size struct {
	Width  float64 // 0 means DoubleColumn
	Height float64 // 0 means chosen from the content
}

// check returns an error when s is no size of a figure.
func (s Size) check() error {
	for _, side := range []struct {
		name          string
		mm, low, high float64
	}{
		{"width", s.Width, minWidth, maxWidth},
		{"height", s.Height, minHeight, maxHeight},
	} {
		if side.mm != 0 && !(side.mm >= side.low && side.mm <= side.high) {
			return fmt.Errorf("plots: %s of %v mm, want %v to %v mm, or 0 for the default",
				side.name, side.mm, side.low, side.high)
		}
	}
	return nil
}

// width returns the width in points.
func (s Size) width() vg.Length {
	if s.Width == 0 {
		return DoubleColumn * vg.Millimeter
	}
	return vg.Length(s.Width) * vg.Millimeter
}

// fit lays a figure out to the height wanted. The layout is given a free
// length, which it adds to its height one for one, and returns the drawing;
// the free length is natural when no height is asked for, and never less than
// least.
func (s Size) fit(natural, least vg.Length, layout func(free vg.Length) (*canvas, error)) (*canvas, error) {
	c, err := layout(natural)
	if err != nil || s.Height == 0 {
		if err == nil && c.height > maxHeight*vg.Millimeter {
			err = fmt.Errorf("plots: %w: it would be %.0f mm high, more than %v mm",
				ErrNoRoom, float64(c.height/vg.Millimeter), maxHeight)
		}
		return c, err
	}
	want := vg.Length(s.Height) * vg.Millimeter
	// Labels wrap to the free length, so the height may need a second look.
	free := natural
	for range 4 {
		if vg.Length(math.Abs(float64(want-c.height))) < 0.01 {
			return c, nil
		}
		free += want - c.height
		if free < least {
			return nil, fmt.Errorf("plots: %w: a height of %v mm is too little by %.0f mm", ErrNoRoom, s.Height,
				math.Ceil(float64((least-free)/vg.Millimeter)))
		}
		if c, err = layout(free); err != nil {
			return nil, err
		}
	}
	c.height = max(c.height, want)
	return c, nil
}
