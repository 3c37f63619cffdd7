package plots

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/plot/vg"
)

// draw returns the figure, which must come out.
func draw(t testing.TB, d drawer) *Figure {
	t.Helper()
	f, err := d.Draw()
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// layoutFaults lists texts and lines outside the figure and texts upon texts.
func layoutFaults(c *canvas) (faults []string) {
	const slack = 0.02
	inside := func(p vg.Point) bool {
		return p.X >= -slack && p.Y >= -slack && p.X <= c.width+slack && p.Y <= c.height+slack
	}
	for i, m := range c.marks {
		for _, comp := range m.path {
			for _, p := range append([]vg.Point{comp.Pos}, comp.Control...) {
				if comp.Type != vg.CloseComp && !inside(p) {
					faults = append(faults, fmt.Sprintf("mark %d: point %v lies outside %v x %v", i, p, c.width, c.height))
				}
			}
		}
	}
	for i, a := range c.texts {
		ba := a.box()
		if !inside(ba.Min) || !inside(ba.Max) {
			faults = append(faults, fmt.Sprintf("text %q at %v lies outside %v x %v", a.s, ba, c.width, c.height))
		}
		for _, b := range c.texts[:i] {
			bb := b.box()
			if ba.Min.X < bb.Max.X-slack && bb.Min.X < ba.Max.X-slack && ba.Min.Y < bb.Max.Y-slack && bb.Min.Y < ba.Max.Y-slack {
				faults = append(faults, fmt.Sprintf("texts %q at %v and %q at %v overlap", a.s, ba, b.s, bb))
			}
		}
	}
	return faults
}

// checkLayout reports the faults.
func checkLayout(t *testing.T, c *canvas) {
	t.Helper()
	for _, fault := range layoutFaults(c) {
		t.Error(fault)
	}
}

func TestNothingIsCutOffOrOverlaps(t *testing.T) {
	for name, d := range drawers() {
		t.Run(name, func(t *testing.T) { checkLayout(t, draw(t, d).canvas) })
	}
}

// The comparing helper must fail on a figure that is wrong.
func TestLayoutFaultsAreSeen(t *testing.T) {
	for name, spoil := range map[string]func(c *canvas){
		"beyond the edge": func(c *canvas) { c.text("outside", vg.Point{X: c.width - 5, Y: 20}, left, plain) },
		"upon another": func(c *canvas) {
			c.text("one", vg.Point{X: 20, Y: 20}, left, plain)
			c.text("two", vg.Point{X: 22, Y: 22}, left, plain)
		},
		"line": func(c *canvas) { c.line(axisPen, vg.Point{X: 5, Y: 5}, vg.Point{X: 5, Y: 51}) },
	} {
		c := newCanvas(100)
		c.text("fine", vg.Point{X: 50, Y: 40}, center, plain)
		if faults := layoutFaults(c.finish(50)); faults != nil {
			t.Fatalf("faults in a good figure: %v", faults)
		}
		spoil(c)
		if layoutFaults(c) == nil {
			t.Errorf("%s: no fault seen", name)
		}
	}
}

func TestSizes(t *testing.T) {
	for name, d := range drawers() {
		f := draw(t, d)
		want := DoubleColumn
		switch v := d.(type) {
		case Rates:
			want = max(v.Size.Width, 0)
		case Forest:
			want = v.Size.Width
		case Survival:
			want = v.Size.Width
		case HeatMap:
			want = v.Size.Width
		case Dots:
			want = v.Size.Width
		case Curves:
			want = v.Size.Width
		case MeanCount:
			want = v.Size.Width
		case Agreement:
			want = v.Size.Width
		case Occupancy:
			want = v.Size.Width
		case Distribution:
			want = v.Size.Width
		case Visits:
			want = v.Size.Width
		}
		if want == 0 {
			want = DoubleColumn
		}
		if got := f.Size().Width; math.Abs(got-want) > 1e-6 {
			t.Errorf("%s: width %v mm, want %v", name, got, want)
		}
	}
	for _, size := range []Size{{Width: 84, Height: 100}, {Width: 174, Height: 130}, {Height: 90}} {
		r, f, s := sampleRates(), sampleForest(), sampleSurvival()
		r.Size, f.Size, s.Size = size, size, size
		for _, d := range []drawer{r, f, s} {
			fig, err := d.Draw()
			if errors.Is(err, ErrNoRoom) {
				continue
			}
			if err != nil {
				t.Fatal(err)
			}
			if got := fig.Size().Height; math.Abs(got-size.Height) > 0.01 {
				t.Errorf("%T: height %v mm, want %v", d, got, size.Height)
			}
			checkLayout(t, fig.canvas)
		}
	}
}

func TestSizesRefused(t *testing.T) {
	for _, size := range []Size{{Width: 10}, {Width: -84}, {Width: nan}, {Width: inf}, {Height: 5}, {Height: -1}, {Height: 1e6}} {
		r, f, s := sampleRates(), sampleForest(), sampleSurvival()
		r.Size, f.Size, s.Size = size, size, size
		for _, d := range []drawer{r, f, s} {
			if _, err := d.Draw(); err == nil {
				t.Errorf("%T with size %v: no error", d, size)
			}
		}
	}
	s := sampleSurvival()
	s.Size.Height = 40
	if _, err := s.Draw(); !errors.Is(err, ErrNoRoom) {
		t.Errorf("survival figure with table 40 mm high: %v, want ErrNoRoom", err)
	}
}

// Whatever the numbers are, there is an error or a figure in which nothing is
// cut off, and never a panic.
func TestAnyNumbers(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 7))
	special := []float64{nan, inf, -inf, 0, 1, -1, 1e-300, 1e300, math.MaxFloat64, math.SmallestNonzeroFloat64, 1e-99, 1e99, 0.5, 2, 3}
	number := func() float64 {
		if rng.IntN(3) == 0 {
			return special[rng.IntN(len(special))]
		}
		return math.Exp(3 * rng.NormFloat64())
	}
	words := []string{"", "ö", "a – b", "≤ 10", "\x00\xff", "日本", "supercalifragilistic/expialidocious", "many words in one label", "e\u0301", "\n"}
	word := func() string { return words[rng.IntN(len(words))] + fmt.Sprint(rng.IntN(99)) }
	drawn := 0
	for i := range 600 {
		size := Size{Width: []float64{0, 84, 50, 174}[rng.IntN(4)]}
		var d drawer
		switch i % 3 {
		case 0:
			r := Rates{Title: word(), YLabel: word(), XLabel: word(), Note: word(), Size: size}
			for range 1 + rng.IntN(6) {
				r.Groups = append(r.Groups, word())
			}
			for range 1 + rng.IntN(4) {
				line := RateSeries{Name: word()}
				for range r.Groups {
					x := math.Abs(number())
					line.Estimates = append(line.Estimates, est(x, x*0.5, math.Abs(number())+x))
				}
				r.Series = append(r.Series, line)
			}
			d = r
		case 1:
			f := Forest{Title: word(), XLabel: word(), Log: rng.IntN(2) == 0, Null: 1, Note: word(), Size: size}
			for range 1 + rng.IntN(6) {
				x := number()
				f.Rows = append(f.Rows, ForestRow{Label: word(), Text: word(), Count: word(), Heading: rng.IntN(5) == 0, Estimate: est(x, x-math.Abs(number()), x+math.Abs(number()))})
			}
			d = f
		default:
			s := Survival{Title: word(), XLabel: word(), YLabel: word(), Note: word(), Ticks: []float64{0, math.Abs(number())}, Size: size}
			for range 1 + rng.IntN(3) {
				c := SurvivalCurve{Name: word(), AtRisk: []int{rng.IntN(1e6), -1}}
				at, v := 0.0, 1.0
				for range rng.IntN(20) {
					at += math.Abs(number())
					v *= rng.Float64()
					x := v
					if rng.IntN(4) == 0 {
						x = nan
					}
					k := &c.Curve
					k.Time, k.Survival = append(k.Time, at), append(k.Survival, x)
					k.Lower, k.Upper = append(k.Lower, number()-1e9), append(k.Upper, 1e9+number())
				}
				s.Curves = append(s.Curves, c)
			}
			d = s
		}
		f, err := d.Draw()
		if err != nil {
			continue
		}
		drawn++
		checkLayout(t, f.canvas)
		for _, m := range f.canvas.marks {
			for _, comp := range m.path {
				if x := float64(comp.Pos.X + comp.Pos.Y); math.IsNaN(x) || math.IsInf(x, 0) {
					t.Fatalf("%+v: coordinate %v", d, comp.Pos)
				}
			}
		}
		if t.Failed() {
			t.Fatalf("%+v", d)
		}
	}
	if drawn < 150 {
		t.Errorf("only %d of 600 were drawn", drawn)
	}
}

func TestLinesAreThickEnoughAndTextIsLargeEnough(t *testing.T) {
	for name, d := range drawers() {
		c := draw(t, d).canvas
		for _, m := range c.marks {
			if m.width != 0 && m.width < 0.25 {
				t.Errorf("%s: line of %v pt, want 0.25 or more", name, m.width)
			}
		}
		for _, x := range c.texts {
			if x.style.size < 8 || x.style.size > 10 {
				t.Errorf("%s: text of %v pt, want 8 to 10", name, x.style.size)
			}
		}
	}
}

// find lists the texts that read s.
func find(c *canvas, s string) []text {
	var found []text
	for _, x := range c.texts {
		if x.s == s {
			found = append(found, x)
		}
	}
	return found
}
