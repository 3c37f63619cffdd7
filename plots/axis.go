package plots

import (
	"math"
	"strconv"
	"strings"

	"gonum.org/v1/plot/vg"
)

// A scale maps values to a stretch of the canvas.
type scale struct {
	low, high float64   // of the values
	from, to  vg.Length // where low and high stand
	log       bool
}

// at returns where x stands.
func (s scale) at(x float64) vg.Length {
	low, high := s.low, s.high
	if s.log {
		low, high, x = math.Log(low), math.Log(high), math.Log(x)
	}
	return s.from + vg.Length((x-low)/(high-low))*(s.to-s.from)
}

// linearTicks returns from three to about most round values that cover low to
// high, a step apart that is 1, 2 or 5 times a power of ten, and their labels.
// The outer ones enclose low and high.
func linearTicks(low, high float64, most int) (ticks []float64, labels []string) {
	step := roundStep((high - low) / float64(most))
	first, last := math.Floor(low/step+1e-9), math.Ceil(high/step-1e-9)
	decimals := max(0, -int(math.Floor(math.Log10(step)+1e-9)))
	for k := first; k <= last; k++ {
		x := k * step
		ticks = append(ticks, x)
		labels = append(labels, axisLabel(x, decimals))
	}
	return ticks, labels
}

// roundStep returns the least of 1, 2 and 5 times a power of ten that is at
// least x.
func roundStep(x float64) float64 {
	power := math.Pow(10, math.Floor(math.Log10(x)))
	for _, m := range []float64{1, 2, 5} {
		if m*power >= x*(1-1e-9) {
			return m * power
		}
	}
	return 10 * power
}

// axisLabel returns x with the decimals given, or with an exponent where that
// would be long. A minus is the sign, not the hyphen.
func axisLabel(x float64, decimals int) string {
	if x == 0 {
		decimals = min(decimals, 3)
	}
	s := strconv.FormatFloat(math.Abs(x), 'f', decimals, 64)
	if len(s) > 7 {
		s = exponent(math.Abs(x))
	}
	if x < 0 {
		return "\u2212" + s
	}
	return s
}

// exponent returns x as 2e6.
func exponent(x float64) string {
	mantissa, power, _ := strings.Cut(strconv.FormatFloat(x, 'e', 2, 64), "e")
	if strings.Contains(mantissa, ".") {
		mantissa = strings.TrimRight(strings.TrimRight(mantissa, "0"), ".")
	}
	if power[0] == '-' {
		return mantissa + "e\u2212" + strings.TrimLeft(power[1:], "0")
	}
	return mantissa + "e" + strings.TrimLeft(power[1:], "0")
}

// logTicks returns values with labels for a logarithmic axis from low to high:
// the first of the lists below that puts from four to eight values inside,
// spread over most of the axis, with labels that keep apart on the given
// length; else the one with the most values.
func logTicks(low, high float64, length vg.Length) (ticks []float64, labels []string) {
	var best []float64
	for _, list := range ratioLists(low, high) {
		inside := within(list, low, high)
		if n := len(inside); n < 2 || n > 8 || !apart(inside, low, high, length) {
			continue
		}
		if n := len(inside); n >= 4 && math.Log(inside[n-1]/inside[0]) > 0.6*math.Log(high/low) {
			best = inside
			break
		}
		if len(inside) > len(best) {
			best = inside
		}
	}
	if best == nil { // a very short axis, or one that no list suits
		best = within([]float64{1}, low, high)
	}
	for _, x := range best {
		labels = append(labels, ratioLabel(x))
	}
	return best, labels
}

// ratioLists returns the tick values to try, each including the ratio 1.
func ratioLists(low, high float64) [][]float64 {
	doubling := []float64{1}
	for x := 2.0; x <= 64; x *= 2 {
		doubling = append([]float64{1 / x}, append(doubling, x)...)
	}
	lists := [][]float64{
		doubling,
		{0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100},
		{0.5, 0.67, 0.8, 1, 1.25, 1.5, 2},
		{0.7, 0.8, 0.9, 1, 1.1, 1.2, 1.3, 1.4},
		{0.9, 0.95, 1, 1.05, 1.1},
		{0.98, 0.99, 1, 1.01, 1.02},
	}
	first, last := int(math.Floor(math.Log10(low))), int(math.Ceil(math.Log10(high)))
	var threes []float64
	for k := first; k <= last; k++ {
		threes = append(threes, math.Pow(10, float64(k)), 3*math.Pow(10, float64(k)))
	}
	lists = append(lists, threes)
	for _, every := range []int{1, 2, 3, 5, 10, 20, 50, 100} {
		var decades []float64
		for k := first - first%every; k <= last; k += every {
			decades = append(decades, math.Pow(10, float64(k)))
		}
		lists = append(lists, decades)
	}
	return lists
}

// ratioLabel returns a ratio as an axis shows it.
func ratioLabel(x float64) string {
	if x >= 1e5 || x < 1e-4 {
		return exponent(x)
	}
	digits := 3
	if x > 1 || x >= 0.1 && x < 1 {
		digits = 4
	}
	s := strconv.FormatFloat(x, 'g', digits, 64)
	if y, err := strconv.ParseFloat(s, 64); err == nil {
		s = strconv.FormatFloat(y, 'f', -1, 64)
	}
	return s
}

func within(list []float64, low, high float64) []float64 {
	var inside []float64
	for _, x := range list {
		if x >= low*(1-1e-9) && x <= high*(1+1e-9) {
			inside = append(inside, x)
		}
	}
	return inside
}

// apart reports whether the labels of a log axis keep apart.
func apart(ticks []float64, low, high float64, length vg.Length) bool {
	s := scale{low: low, high: high, to: length, log: true}
	for i := 1; i < len(ticks); i++ {
		a, b := plain.width(ratioLabel(ticks[i-1])), plain.width(ratioLabel(ticks[i]))
		if s.at(ticks[i])-s.at(ticks[i-1]) < (a+b)/2+4 {
			return false
		}
	}
	return true
}

var axisPen = pen{color: black, width: axisWidth}

// yAxis draws a vertical axis at x with ticks and labels to its left, and the
// wrapped axis label, reading upwards, from labelX on.
func (c *canvas) yAxis(x vg.Length, s scale, ticks []float64, labels, label []string, labelX vg.Length) {
	c.line(axisPen, vg.Point{X: x, Y: s.from}, vg.Point{X: x, Y: s.to})
	for i, t := range ticks {
		y := s.at(t)
		c.line(axisPen, vg.Point{X: x - tickLength, Y: y}, vg.Point{X: x, Y: y})
		c.text(labels[i], vg.Point{X: x - tickLength - 2, Y: y + plain.size*0.35}, right, plain)
	}
	c.verticals(label, labelX, (s.from+s.to)/2, center, plain)
}

// xAxis draws a horizontal axis at y with ticks, and their labels beneath,
// and returns the y beneath the labels.
func (c *canvas) xAxis(y vg.Length, s scale, ticks []float64, labels []string) vg.Length {
	c.line(axisPen, vg.Point{X: s.from, Y: y}, vg.Point{X: s.to, Y: y})
	for i, t := range ticks {
		x := s.at(t)
		c.line(axisPen, vg.Point{X: x, Y: y}, vg.Point{X: x, Y: y + tickLength})
		c.text(labels[i], vg.Point{X: x, Y: y + tickLength + 1 + plain.ascent()}, center, plain)
	}
	return y + tickLength + 1 + plain.line()
}

// yMargin returns the room that yAxis takes to the left of the axis.
func yMargin(labels, label []string) vg.Length {
	m := plain.widest(labels) + tickLength + 2
	if len(label) > 0 {
		m += vg.Length(len(label))*plain.line() + gap
	}
	return m
}
