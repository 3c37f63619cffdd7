package plots

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"heelcohort/stats"

	"gonum.org/v1/plot/vg"
)

// A Figure is a drawing ready to be saved.
type Figure struct {
	// ID, when set, names the figure inside a page that holds several: the
	// ids in the SVG begin with it. Letters, digits, - and _ only; any other
	// character becomes _.
	ID string

	title, text string // what a person who cannot see the figure is told
	canvas      *canvas
}

// Size returns the outer size in millimetres.
func (f *Figure) Size() Size {
	return Size{Width: float64(f.canvas.width / vg.Millimeter), Height: float64(f.canvas.height / vg.Millimeter)}
}

// Title returns the title in one line.
func (f *Figure) Title() string { return f.title }

// Text returns the figure in words: every value drawn.
func (f *Figure) Text() string { return f.text }

// describe returns an estimate in words.
func describe(e stats.Estimate) string {
	if math.IsNaN(e.Value) {
		return "no estimate"
	}
	s := number(e.Value)
	switch {
	case math.IsNaN(e.Lower) && math.IsNaN(e.Upper):
		return s
	default:
		return s + " (" + number(e.Lower) + " to " + number(e.Upper) + ")"
	}
}

// number returns x to three digits, for the description only.
func number(x float64) string {
	switch {
	case math.IsNaN(x):
		return "no limit"
	case math.IsInf(x, 0):
		return "unbounded"
	}
	s := strconv.FormatFloat(x, 'g', 3, 64)
	if y, err := strconv.ParseFloat(s, 64); err == nil && math.Abs(y) < 1e15 && (math.Abs(y) >= 1e-5 || y == 0) {
		s = strconv.FormatFloat(y, 'f', -1, 64)
	}
	return s
}

// sentence joins the parts that are not empty.
func sentence(sep string, parts ...string) string {
	var kept []string
	for _, p := range parts {
		if p = clean(p); p != "" {
			kept = append(kept, p)
		}
	}
	return strings.Join(kept, sep)
}

// Estimates beyond these bounds are refused: no axis reaches them in earnest.
const leastValue, mostValue = 1e-100, 1e100

// checkLimits returns an error when the limits of e stand the wrong way round.
func checkLimits(e stats.Estimate) error {
	if e.Lower > e.Upper {
		return fmt.Errorf("lower limit %v is above upper limit %v", e.Lower, e.Upper)
	}
	return nil
}
