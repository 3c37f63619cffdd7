package plots

import (
	"errors"
	"strings"
	"testing"

	"gonum.org/v1/plot/vg"
)

// Steps hold to the next place and the last to the end, their band with them;
// a limit beyond the axis is cut at its edge, where no line is drawn.
func TestStepsStandWhereTheTicksSay(t *testing.T) {
	k := sampleSteps()
	c := draw(t, k).canvas
	zero, one1 := tickY(t, c, "0.0"), tickY(t, c, "1.0")
	left, right := one(t, c, "6").at.X, one(t, c, "21").at.X
	at := func(x, y float64) vg.Point {
		return vg.Point{X: between(x, 6, 21, left, right), Y: between(y, 0, 1, zero, one1)}
	}
	want := func(values ...float64) (list []vg.Point) {
		ages := []float64{6, 8, 10, 12, 14, 17, 21}
		for i, v := range values {
			list = append(list, at(ages[i], v), at(ages[i+1], v))
		}
		return list
	}
	lines := strokes(c, black, lineWidth)
	if len(lines) != 1 || !samePoints(points(lines[0]), want(0.4, 1.1, 1.6, 1.5, 0.8, 0)) {
		t.Errorf("line %v", lines)
	}
	edges := strokes(c, black, 0.35)
	if len(edges) != 2 {
		t.Fatalf("%d edges of the band, want 2", len(edges))
	}
	upper := want(0.7, 1.3, 2, 1.9, 1.3)
	if got := points(edges[0]); len(got) != 11 || !samePoints(got[:10], upper) || !same(got[10].X, at(17, 0).X) || got[10].Y > at(0, 2.4).Y {
		t.Errorf("upper edge %v, want %v and then up to the edge of the axis", got, upper)
	}
	if !samePoints(points(edges[1]), want(0.2, 0.8, 1.3, 1.1, 0.5, 0)) {
		t.Errorf("lower edge %v", points(edges[1]))
	}
	one(t, c, cutNote)
}

// Points stand at their estimates with bars; a gap leaves nothing.
func TestPointsStandWhereTheTicksSay(t *testing.T) {
	k := Curves{Ticks: []float64{0, 10}, TickLabels: []string{"Sep", "Nov"}, Curves: []BandCurve{{
		Form: Points, X: []float64{2, 4, 5}, Estimate: []float64{1, nan, 0}, Lower: []float64{0.5, nan, 0}, Upper: []float64{2, nan, 1.5},
	}}}
	c := draw(t, k).canvas
	zero, two := tickY(t, c, "0.0"), tickY(t, c, "2.0")
	left, right := one(t, c, "Sep").at.X, one(t, c, "Nov").at.X
	bars := strokes(c, black, 0.8)
	if len(bars) != 2 {
		t.Fatalf("%d bars, want 2", len(bars))
	}
	for i, w := range [][4]float64{{2, 0.5, 2, 1}, {5, 0, 1.5, 0}} {
		b := bounds(bars[i])
		x := between(w[0], 0, 10, left, right)
		if !same(b.Min.X, x) || !same(b.Max.Y, between(w[1], 0, 2, zero, two)) || !same(b.Min.Y, between(w[2], 0, 2, zero, two)) {
			t.Errorf("bar %d is %v, want %v", i, b, w)
		}
		if !hasMarker(c, 0, vg.Point{X: x, Y: between(w[3], 0, 2, zero, two)}) {
			t.Errorf("no marker at %v", w)
		}
	}
}

// A gap breaks a smooth line and its band.
func TestSmoothGap(t *testing.T) {
	c := draw(t, sampleSmooth()).canvas
	if n := len(strokes(c, colour(1), lineWidth)) - 1; n != 2 { // one in the legend
		t.Errorf("%d lines of the curve with a gap, want 2", n)
	}
	if n := len(strokes(c, colour(0), lineWidth)) - 1; n != 1 {
		t.Errorf("%d lines of the curve without a gap, want 1", n)
	}
	text := draw(t, sampleSteps()).Text()
	for _, part := range []string{"by Current age (years)", "6: 0.4 (0.2 to 0.7);", "17: 0 (0 to 28)."} {
		if !strings.Contains(text, part) {
			t.Errorf("text lacks %q: %s", part, text)
		}
	}
}

func TestCurvesRefused(t *testing.T) {
	for name, c := range map[string]struct {
		spoil func(k *Curves)
		is    error
		says  string
	}{
		"none":        {func(k *Curves) { k.Curves = nil }, ErrNoData, "no curve has an estimate"},
		"no name":     {func(k *Curves) { k.Curves[1].Name = "" }, nil, "has no name"},
		"unequal":     {func(k *Curves) { k.Curves[0].Lower = nil }, nil, `curve "Girls": 41 estimates, 0 lower`},
		"unordered":   {func(k *Curves) { k.Curves[0].X[3] = 0 }, nil, "place 4 is 0, want ascending"},
		"negative":    {func(k *Curves) { k.Curves[0].Estimate[3] = -1 }, nil, "at 6.75: estimate -1"},
		"zero on log": {func(k *Curves) { k.Log, k.Curves[0].Estimate[3] = true, 0 }, nil, "at 6.75: estimate 0"},
		"crossed":     {func(k *Curves) { k.Curves[0].Lower[3] = 9 }, nil, "lower limit 9 is above"},
		"ticks":       {func(k *Curves) { k.Ticks = []float64{8, 6} }, nil, "want ascending numbers"},
		"labels":      {func(k *Curves) { k.Ticks, k.TickLabels = []float64{6, 8}, []string{"a"} }, nil, "1 labels for 2 ticks"},
		"reference":   {func(k *Curves) { k.Reference = -1 }, nil, "reference -1"},
		"end":         {func(k *Curves) { k.Curves[0].End = inf }, nil, "ends at +Inf"},
		"close ticks": {func(k *Curves) { k.Ticks = []float64{6, 6.01, 16} }, ErrNoRoom, "too close"},
	} {
		k := sampleSmooth()
		c.spoil(&k)
		_, err := k.Draw()
		if err == nil || c.is != nil && !errors.Is(err, c.is) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want %v with %q", name, err, c.is, c.says)
		}
	}
}
