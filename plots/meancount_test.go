package plots

import (
	"errors"
	"strings"
	"testing"

	"gonum.org/v1/plot/vg"
)

// The curves are the steps worked by hand, from 0 on; the first goes on to its
// end, the second has a band only from where it has limits.
func TestMeanCountStepsByHand(t *testing.T) {
	c := draw(t, sampleCounts()).canvas
	label := func(want string) vg.Length { // of the axis of counts
		for _, x := range c.texts {
			if x.s == want && x.align == right {
				return x.at.Y
			}
		}
		t.Fatalf("no label %q", want)
		return 0
	}
	bottom, top := label("0")-plain.size*0.35, label("1")-plain.size*0.35
	var ticks [2]vg.Length
	for i, s := range []string{"20", "40"} {
		ticks[i] = one(t, c, s).at.X
	}
	path := func(xy ...float64) (list []vg.Point) {
		for i := 0; i < len(xy); i += 2 {
			list = append(list, vg.Point{X: between(xy[i], 20, 40, ticks[0], ticks[1]), Y: between(xy[i+1], 0, 1, bottom, top)})
		}
		return list
	}
	for i, want := range [][]vg.Point{
		path(0, 0, 10, 0, 10, .25, 20, .25, 20, .75, 40, .75, 40, 1.25, 50, 1.25),
		path(0, 0, 15, 0, 15, .2, 30, .2, 30, .4, 30, .4),
	} {
		lines := strokes(c, colour(i), lineWidth)
		if len(lines) != 2 { // the sample in the legend, and the curve
			t.Fatalf("curve %d has %d lines, want 2", i, len(lines))
		}
		if got := points(lines[1]); !samePoints(got, want) {
			t.Errorf("curve %d: %v, want %v", i, got, want)
		}
	}
	tint := colour(0)
	tint.A = 36
	// The axis ends above 2.5 times 1.25, at 4 (steps of 1): the limit of 9 is cut.
	want := path(10, 1.2, 20, 1.2, 20, 1.4, 40, 1.4, 40, 4, 50, 4, 50, .6, 40, .6, 40, .4, 20, .4, 20, .05, 10, .05)
	if bands := strokes(c, tint, 0); len(bands) != 1 || !samePoints(points(bands[0]), want) {
		t.Errorf("band %v, want %v", points(bands[0]), want)
	}
	if text := strings.Join(allTexts(c), " "); !strings.Contains(text, "Limits above the axis are cut off at it.") {
		t.Errorf("no note of the limit that is cut off: %s", text)
	}
}

// allTexts lists what is written in a figure.
func allTexts(c *canvas) (list []string) {
	for _, x := range c.texts {
		list = append(list, x.s)
	}
	return list
}

func TestMeanCountText(t *testing.T) {
	text := draw(t, sampleCounts()).Text()
	for _, part := range []string{"Female at 0: 0.000 with 4 at risk, 20: 0.750 with 4 at risk, 40: 1.250 with 2 at risk.", "20: 0.200 with 5 at risk, 40: no estimate.", "P = 0.40."} {
		if !strings.Contains(text, part) {
			t.Errorf("text lacks %q: %s", part, text)
		}
	}
}

func TestMeanCountRefuses(t *testing.T) {
	for words, change := range map[string]func(*MeanCount){
		"no curves":                func(m *MeanCount) { m.Curves = nil },
		"no ticks":                 func(m *MeanCount) { m.Ticks = nil },
		"tick 2 is 0":              func(m *MeanCount) { m.Ticks = []float64{0, 0, 1} },
		"has no name":              func(m *MeanCount) { m.Curves[0].Name = "" },
		"2 counts for 3 times":     func(m *MeanCount) { m.Curves[0].Curve.Count = []float64{1, 2} },
		"limits for 3 times":       func(m *MeanCount) { m.Curves[0].Curve.Lower = nil },
		"time 2 is 10":             func(m *MeanCount) { m.Curves[0].Curve.Time = []float64{10, 10, 20} },
		"count -1":                 func(m *MeanCount) { m.Curves[0].Curve.Count = []float64{-1, 0, 0} },
		"above upper limit":        func(m *MeanCount) { m.Curves[0].Curve.Lower = []float64{0, 5, 0} },
		"end NaN":                  func(m *MeanCount) { m.Curves[0].End = nan },
		`1 numbers "events"`:       func(m *MeanCount) { m.Curves[0].Events = []int{1} },
		"no curve has a time with": func(m *MeanCount) { m.Curves = []MeanCountCurve{{End: 5}} },
	} {
		m := sampleCounts()
		change(&m)
		if _, err := m.Draw(); err == nil || !strings.Contains(err.Error(), words) {
			t.Errorf("%v, want words %q", err, words)
		}
	}
	m := sampleCounts()
	m.Size = Size{Width: 50}
	m.Ticks = []float64{0, 1, 2, 3, 40}
	m.Curves[0].AtRisk, m.Curves[0].Events, m.Curves[1].AtRisk, m.Curves[1].Events = nil, nil, nil, nil
	if _, err := m.Draw(); !errors.Is(err, ErrNoRoom) {
		t.Errorf("too narrow: %v", err)
	}
}
