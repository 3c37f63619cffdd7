package plots

import (
	"errors"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/plot/vg"
)

// sampleOccupancy has two groups of steps worked by hand, the second with a gap
// and an end before the first's.
func sampleOccupancy() Occupancy {
	return Occupancy{
		Title: "States since the first onset", XLabel: "Days since the first onset", YLabel: "Children, %",
		States: []string{"back", "symptomatic", "relapsed", "gave up"},
		Ticks:  []float64{0, 100, 200}, Note: "Up to 0.4% are taken to stay as last seen.",
		Panels: []OccupancyPanel{
			{
				Name: "Female", End: 200, Time: []float64{0, 40, 80, 120},
				Share: [][]float64{{0, 0.5, 0.7, 0.6}, {1, 0.5, 0.2, 0}, {0, 0, 0.05, 0.25}, {0, 0, 0.05, 0.15}}, Observed: []int{1204, 900, 31},
			},
			{
				Name: "Male – ≤ 5", Time: []float64{0, 50, 100, 150},
				Share: [][]float64{{0.2, nan, 0.75, 0.75}, {0.8, nan, 0.25, 0.25}, {0, nan, 0, 0}, {0, nan, 0, 0}}, Observed: []int{60, 20, -1},
			},
		},
	}
}

// manyStates has five states in four groups of random walks.
func manyStates() Occupancy {
	o := Occupancy{
		Title: "Five states", XLabel: "Days since enrolment", YLabel: "Children, %",
		States: []string{"before the first spell", "back", "symptomatic", "relapsed", "gave up"}, Ticks: []float64{0, 250, 500, 750},
	}
	for g, name := range []string{"Under 10", "10 to 11", "12 to 13", "14 and over, with a name of some length"} {
		p := OccupancyPanel{Name: name, Share: make([][]float64, 5), Observed: []int{400, 300, 200, 9}}
		for i := range 150 {
			x := float64(i) / 150
			p.Time = append(p.Time, 5*float64(i))
			gone, ill := 0.1*x*float64(g+1), 0.08*(1+math.Sin(9*x+float64(g)))
			back := (1 - gone - ill) * x * 0.7
			for j, v := range []float64{1 - gone - ill - back, back, ill * 0.6, ill * 0.4, gone} {
				p.Share[j] = append(p.Share[j], v)
			}
		}
		o.Panels = append(o.Panels, p)
	}
	return o
}

// The areas are the steps worked by hand, each down to the bottom; the gap of the
// second group parts it, and what comes last has no length.
func TestOccupancyAreasByHand(t *testing.T) {
	c := draw(t, sampleOccupancy()).canvas
	label := func(want string) vg.Length {
		for _, x := range c.texts {
			if x.s == want && x.align == right {
				return x.at.Y - plain.size*0.35
			}
		}
		t.Fatalf("no label %q", want)
		return 0
	}
	bottom, top := label("0"), label("100")
	x := func(panel int, day float64) vg.Length {
		a, b := find(c, "0"), find(c, "100")
		var zero, hundred []vg.Length
		for _, s := range a {
			if s.align == center {
				zero = append(zero, s.at.X)
			}
		}
		for _, s := range b {
			if s.align == center {
				hundred = append(hundred, s.at.X)
			}
		}
		return between(day, 0, 100, zero[panel], hundred[panel])
	}
	path := func(panel int, xy ...float64) (list []vg.Point) {
		for i := 0; i < len(xy); i += 2 {
			list = append(list, vg.Point{X: x(panel, xy[i]), Y: between(xy[i+1], 0, 100, bottom, top)})
		}
		return list
	}
	// Up to symptomatic: 100 until day 80, then 90 and from day 120 on 60.
	var got []vg.Path
	for _, p := range strokes(c, stateShade(1, 4), 0) {
		if len(points(p)) > 4 || math.Abs(float64(points(p)[0].Y-bottom)) < 0.01 && points(p)[0].X > 20 {
			got = append(got, p)
		}
	}
	want := [][]vg.Point{
		path(0, 0, 0, 0, 100, 40, 100, 40, 100, 80, 100, 80, 90, 120, 90, 120, 60, 200, 60, 200, 0),
		path(1, 0, 0, 0, 100, 50, 100, 50, 0),
		path(1, 100, 0, 100, 100, 150, 100, 150, 0),
	}
	if len(got) != len(want) {
		t.Fatalf("%d areas, want %d", len(got), len(want))
	}
	for i := range want {
		if !samePoints(points(got[i]), want[i]) {
			t.Errorf("area %d: %v, want %v", i+1, points(got[i]), want[i])
		}
	}
	for _, name := range []string{"back", "symptomatic"} {
		if n := len(find(c, name)); n != 3 { // in the legend, and in both groups
			t.Errorf("%q stands %d times, want 3", name, n)
		}
	}
	if n := len(find(c, "gave up")); n != 2 {
		t.Errorf("gave up stands %d times, want in the legend and in one area", n)
	}
}

func TestOccupancyText(t *testing.T) {
	text := draw(t, sampleOccupancy()).Text()
	for _, part := range []string{
		"Female at 0: back 0.0%, symptomatic 100.0%, relapsed 0.0%, gave up 0.0% with 1204 under observation; 100: back 70.0%, symptomatic 20.0%, relapsed 5.0%, gave up 5.0%",
		"100: back 75.0%", "200: no estimate.", "Up to 0.4% are taken to stay as last seen.",
	} {
		if !strings.Contains(text, part) {
			t.Errorf("text lacks %q: %s", part, text)
		}
	}
}

func TestOccupancyRefuses(t *testing.T) {
	for words, change := range map[string]func(*Occupancy){
		"no curves":                  func(o *Occupancy) { o.Panels = nil },
		"no ticks":                   func(o *Occupancy) { o.Ticks = nil },
		"has no name":                func(o *Occupancy) { o.Panels[1].Name = "" },
		"shares of 3 states, want 4": func(o *Occupancy) { o.Panels[0].Share = o.Panels[0].Share[:3] },
		"1 shares of state 1":        func(o *Occupancy) { o.Panels[0].Share[0] = []float64{1} },
		"time 2 is 0":                func(o *Occupancy) { o.Panels[0].Time[1] = 0 },
		"sum to 1.5":                 func(o *Occupancy) { o.Panels[0].Share[0][0] = 0.5 },
		"a share of -0.5":            func(o *Occupancy) { o.Panels[0].Share[0][0], o.Panels[0].Share[1][0] = -0.5, 1.5 },
		"end NaN":                    func(o *Occupancy) { o.Panels[0].End = nan },
		`1 numbers "at risk"`:        func(o *Occupancy) { o.Panels[0].Observed = []int{4} },
		"no curve has a time with": func(o *Occupancy) {
			o.Panels = []OccupancyPanel{{Share: make([][]float64, 4)}}
		},
	} {
		o := sampleOccupancy()
		change(&o)
		if _, err := o.Draw(); err == nil || !strings.Contains(err.Error(), words) {
			t.Errorf("%v, want words %q", err, words)
		}
	}
	o := sampleOccupancy()
	o.Ticks = []float64{0, 1, 200}
	o.Panels[0].Observed, o.Panels[1].Observed = nil, nil
	if _, err := o.Draw(); !errors.Is(err, ErrNoRoom) {
		t.Errorf("ticks too close: %v", err)
	}
}
