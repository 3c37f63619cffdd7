package plots

import (
	"errors"
	"strconv"
	"strings"
	"testing"

	"heelcohort/stats"

	"gonum.org/v1/plot/vg"
)

// axes returns the maps from time and share to the canvas, from the labels of
// the ticks.
func axes(t *testing.T, c *canvas) (x, y func(v float64) vg.Length) {
	t.Helper()
	bottom, top := tickY(t, c, "0%"), tickY(t, c, "100%")
	var ticks [2]vg.Length
	for i, s := range []string{"20", "40"} {
		for _, found := range find(c, s) {
			if found.align == center && found.at.Y > bottom {
				ticks[i] = found.at.X
				break
			}
		}
	}
	return func(v float64) vg.Length { return between(v, 20, 40, ticks[0], ticks[1]) },
		func(v float64) vg.Length { return between(v, 0, 1, bottom, top) }
}

// The curves are the steps worked by hand; the band of the second ends where
// its limits do, and nothing is drawn beyond the last times.
func TestSurvivalStepsByHand(t *testing.T) {
	c := draw(t, sampleSurvival()).canvas
	x, y := axes(t, c)
	path := func(xy ...float64) (list []vg.Point) {
		for i := 0; i < len(xy); i += 2 {
			list = append(list, vg.Point{X: x(xy[i]), Y: y(xy[i+1])})
		}
		return list
	}
	for i, want := range [][]vg.Point{
		path(0, 1, 10, 1, 10, 5./6, 20, 5./6, 20, 2./3, 40, 2./3, 40, 1./3, 50, 1./3),
		path(0, 1, 15, 1, 15, .75, 25, .75, 25, .5, 35, .5, 35, .25, 45, .25, 45, 0),
	} {
		lines := strokes(c, colour(i), lineWidth)
		if len(lines) != 2 { // the sample in the legend, and the curve
			t.Fatalf("curve %d has %d lines, want 2", i, len(lines))
		}
		if got := points(lines[1]); !samePoints(got, want) {
			t.Errorf("curve %d: %v, want %v", i, got, want)
		}
	}
	for i, want := range [][]vg.Point{
		path(10, .98, 20, .98, 20, .9, 40, .9, 40, .7, 50, .7, 50, .05, 40, .05, 40, .3, 20, .3, 20, .4, 10, .4),
		path(15, .95, 25, .95, 25, .85, 35, .85, 35, .1, 25, .1, 25, .3, 15, .3),
	} {
		tint := colour(i)
		tint.A = 36
		bands := strokes(c, tint, 0)
		if len(bands) != 1 || !samePoints(points(bands[0]), want) {
			t.Errorf("band %d: %v, want %v", i, bands, want)
		}
	}
	// Censorings of the first at 20 and 50, of the second none.
	for i, want := range []int{2, 0} {
		n := 0
		for _, p := range strokes(c, colour(i), 0.6) {
			n += len(points(p)) / 2
		}
		if n != want {
			t.Errorf("curve %d has %d strokes of censoring, want %d", i, n, want)
		}
	}
}

// Where the curve is NaN there is a gap, not a line to 0 or across.
func TestSurvivalGap(t *testing.T) {
	s := sampleSurvival()
	s.Curves = s.Curves[:1]
	s.Curves[0].Curve.Survival = []float64{5. / 6, nan, 1. / 3, 1. / 3}
	c := draw(t, s).canvas
	x, y := axes(t, c)
	lines := strokes(c, colour(0), lineWidth)[1:]
	want := [][]vg.Point{
		{{X: x(0), Y: y(1)}, {X: x(10), Y: y(1)}, {X: x(10), Y: y(5. / 6)}, {X: x(20), Y: y(5. / 6)}},
		{{X: x(40), Y: y(1. / 3)}, {X: x(50), Y: y(1. / 3)}},
	}
	if len(lines) != 2 || !samePoints(points(lines[0]), want[0]) || !samePoints(points(lines[1]), want[1]) {
		t.Errorf("lines %v, want %v", lines, want)
	}
}

// Every number of the table is centred on its tick, on the line of its curve's
// name and inside its block; a withheld one is a dash.
func TestRiskTable(t *testing.T) {
	s := sampleSurvival()
	c := draw(t, s).canvas
	x, _ := axes(t, c)
	from := one(t, c, "At risk").at.Y
	for block, counts := range []func(k SurvivalCurve) []int{
		func(k SurvivalCurve) []int { return k.AtRisk },
		func(k SurvivalCurve) []int { return k.Events },
		func(k SurvivalCurve) []int { return k.Censored },
	} {
		head := one(t, c, []string{"At risk", "Events", "Censored"}[block])
		if head.at.Y < from {
			t.Errorf("%s stands above the block before", head.s)
		}
		from = head.at.Y
		for j, k := range s.Curves {
			var name text
			for _, n := range find(c, k.Name) {
				if n.at.Y > head.at.Y && (name.s == "" || n.at.Y < name.at.Y) {
					name = n
				}
			}
			for i, tick := range s.Ticks {
				want := strconv.Itoa(counts(k)[i])
				if counts(k)[i] < 0 {
					want = "–"
				}
				found := false
				for _, n := range find(c, want) {
					if n.align == center && same(n.at.X, x(tick)) && same(n.at.Y, name.at.Y) {
						found = true
						if room := n.box().Min.X - name.box().Max.X; room < 8 {
							t.Errorf("%s, curve %d: only %v between name and number", head.s, j, room)
						}
					}
				}
				if !found {
					t.Errorf("%s, curve %d: no %q under tick %v", head.s, j, want, tick)
				}
			}
		}
	}
}

func TestSurvivalText(t *testing.T) {
	text := draw(t, sampleSurvival()).Text()
	// 5/6·4/5 = 2/3 at 20, 2/3·1/2 = 1/3 at 40; the second at 40 is 1/4.
	for _, part := range []string{"Normal at 0: 100.0% with 6 at risk, 20: 66.7% with 5 at risk, 40: 33.3% with 3 at risk", "40: 25.0%.", "P = 0.40."} {
		if !strings.Contains(text, part) {
			t.Errorf("text lacks %q: %s", part, text)
		}
	}
}

func TestSurvivalRefused(t *testing.T) {
	for name, c := range map[string]struct {
		spoil func(s *Survival)
		is    error
		says  string
	}{
		"no curves":    {func(s *Survival) { s.Curves = nil }, ErrNoData, "no curves"},
		"no times":     {func(s *Survival) { s.Curves[0].Curve, s.Curves[1].Curve = stats.Curve{}, stats.Curve{} }, ErrNoData, "no curve has a time"},
		"no ticks":     {func(s *Survival) { s.Ticks = nil }, nil, "no ticks"},
		"ticks back":   {func(s *Survival) { s.Ticks[2] = 5 }, nil, "tick 3 is 5"},
		"above 1":      {func(s *Survival) { s.Curves[1].Curve.Survival[0] = 1.5 }, nil, `curve 2 "Pronated – ≤ 5": survival 1.5 at time 15`},
		"times back":   {func(s *Survival) { s.Curves[0].Curve.Time[2] = 15 }, nil, "time 3 is 15"},
		"lengths":      {func(s *Survival) { s.Curves[0].Curve.Lower = s.Curves[0].Curve.Lower[:2] }, nil, "2 lower limits for 4 times"},
		"crossed":      {func(s *Survival) { s.Curves[0].Curve.Lower[1] = 0.95 }, nil, "lower limit 0.95 is above upper limit 0.9 at time 20"},
		"table":        {func(s *Survival) { s.Curves[1].Events = s.Curves[1].Events[:1] }, nil, `has 1 numbers "events" for 3 ticks`},
		"no name":      {func(s *Survival) { s.Curves[1].Name = "" }, nil, "curve 2 of 2 has no name"},
		"ticks closed": {func(s *Survival) { s.Ticks = []float64{0, 0.1, 40} }, ErrNoRoom, "ticks 0 and 0.1"},
	} {
		s := sampleSurvival()
		c.spoil(&s)
		_, err := s.Draw()
		if err == nil || c.is != nil && !errors.Is(err, c.is) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want %v with %q", name, err, c.is, c.says)
		}
	}
}
