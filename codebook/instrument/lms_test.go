package instrument

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// By hand: with L = 1 the measure is normal with mean M and standard deviation
// M S; with L = 0 its logarithm is; with L = -1 z = (1 - M/x)/S.
func TestLMSByHand(t *testing.T) {
	for _, c := range []struct {
		p    LMS
		x, z float64
	}{
		{LMS{1, 16, 0.125}, 18, 1},
		{LMS{1, 16, 0.125}, 12, -2},
		{LMS{0, 16, 0.125}, 16 * math.Exp(0.25), 2},
		{LMS{-1, 16, 0.125}, 20, 1.6},
		{LMS{-1, 16, 0.125}, 12.8, -2},
		{LMS{-2, 16, 0.125}, 16, 0},
	} {
		if z, err := c.p.Z(c.x); err != nil || math.Abs(z-c.z) > 1e-14 {
			t.Errorf("%+v of %v: %v, %v, want %v", c.p, c.x, z, err, c.z)
		}
		if x := c.p.Value(c.z); math.Abs(x-c.x) > 1e-13 {
			t.Errorf("%+v at %v: %v, want %v", c.p, c.z, x, c.x)
		}
	}
	for _, x := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		if z, err := (LMS{-1, 16, 0.1}).Z(x); !errors.Is(err, ErrIllegal) {
			t.Errorf("%v: %v, %v, want ErrIllegal", x, z, err)
		}
	}
	if x := (LMS{-1, 16, 0.1}).Value(10); !math.IsInf(x, 1) {
		t.Errorf("a score that no measure has: %v", x)
	}
	if x := (LMS{1, 16, 0.1}).Value(-10); x != 0 {
		t.Errorf("a score that no measure has: %v", x)
	}
}

// By hand for a normal measure of mean 16 and standard deviation 2, in which the
// distance of 3 from 2 is 2 too, so that the tail goes on straight; and for one
// with M/x normal: V(2) = 16/0.75, V(3) = 16/0.625, and x = V(3) + 2 (V(3) - V(2))
// is 5; V(-2) = 12.8, V(-3) = 16/1.375, and x = V(-3) - (V(-2) - V(-3)) is -4.
func TestWHOTails(t *testing.T) {
	normal, inverse := LMS{1, 16, 0.125}, LMS{-1, 16, 0.125}
	v2, v3 := 16/0.75, 16/0.625
	w2, w3 := 12.8, 16/1.375
	for _, c := range []struct {
		p    LMS
		x, z float64
	}{
		{normal, 24, 4},
		{normal, 8, -4},
		{normal, 22, 3},
		{normal, 10, -3},
		{normal, 17, 0.5},
		{inverse, v3 + 2*(v3-v2), 5},
		{inverse, w3 - (w2 - w3), -4},
		{inverse, v2, 2},
	} {
		if z, err := c.p.zWHO(c.x); err != nil || math.Abs(z-c.z) > 1e-12 {
			t.Errorf("%+v of %v: %v, %v, want %v", c.p, c.x, z, err, c.z)
		}
	}
	// No measure has a third standard deviation here: z stays below 1/0.4.
	if z, err := (LMS{-4, 16, 0.1}).zWHO(1e6); err != nil || math.Abs(z-2.5) > 1e-12 {
		t.Errorf("%v, %v, want 2.5", z, err)
	}
}

// The body mass indices of the z-scores 2, 2.5 and 3 of boys of 24 months, four
// decimals of the data file of the extended growth charts of the Centers for
// Disease Control and Prevention (2022; retyped from a public note on that file).
func TestExtendedTail(t *testing.T) {
	p, err := BMICDC2000().At(Boy, 24)
	if err != nil {
		t.Fatal(err)
	}
	if got := spread(Boy, 2); math.Abs(got-1.3756) > 1e-12 { // 0.3728 + 1.0392 - 0.0364
		t.Errorf("the spread is %v", got)
	}
	if got := spread(Girl, 10); math.Abs(got-4.4354) > 1e-12 { // 0.8334 + 3.712 - 0.11
		t.Errorf("the spread is %v", got)
	}
	for _, c := range []struct{ z, x float64 }{{2, 20.3657}, {2.5, 21.4529}, {3, 22.3802}} {
		got, err := p.zCDC(c.x, Boy, 2)
		// Half a unit of the last decimal in z: 0.00005 over the slope, at least
		// 1.7 kg/m2 a standard deviation here.
		if err != nil || math.Abs(got-c.z) > 0.00005/1.7 {
			t.Errorf("%v kg/m2: %v, %v, want %v", c.x, got, err, c.z)
		}
	}
	// The two parts meet at the 95th percentile.
	at := p.Value(z95)
	below, err := p.zCDC(at*(1-1e-12), Boy, 2)
	if err != nil {
		t.Fatal(err)
	}
	above, err := p.zCDC(at*(1+1e-12), Boy, 2)
	if err != nil || math.Abs(above-below) > 1e-9 || math.Abs(below-z95) > 1e-9 {
		t.Errorf("%v and %v, %v, want both %v", below, above, err, z95)
	}
	if z, err := p.zCDC(1000, Boy, 2); !errors.Is(err, ErrIllegal) {
		t.Errorf("beyond every percentile: %v, %v", z, err)
	}
}

// Z and Value are inverse, and all three tails rise with the measure.
func TestLMSProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sex := Sex(rapid.IntRange(0, 1).Draw(t, "sex"))
		months := rapid.Float64Range(24, 240.5).Draw(t, "months")
		x := rapid.Float64Range(8, 60).Draw(t, "bmi")
		p, err := BMICDC2000().At(sex, months)
		if err != nil {
			t.Fatal(err)
		}
		z, err := p.Z(x)
		if err != nil {
			t.Fatal(err)
		}
		if z > -8 && z < 3 {
			if back := p.Value(z); math.Abs(back-x) > 1e-9*x {
				t.Fatalf("%v comes back as %v", x, back)
			}
		}
		for _, tails := range []Tails{PlainTails, WHOTails, CDCTails} {
			a, err := BMICDC2000().Z(sex, months, x, tails)
			if err != nil {
				t.Fatal(err)
			}
			b, err := BMICDC2000().Z(sex, months, x*1.01, tails)
			if err != nil || !(b > a) {
				t.Fatalf("%s: %v, then %v, %v", tails, a, b, err)
			}
			if math.Abs(z) < 1.6 && a != z {
				t.Fatalf("%s: %v within the middle, want %v", tails, a, z)
			}
		}
	})
}

// upperQuantile undoes upperTail, down to tails that are barely numbers.
func TestUpperQuantile(t *testing.T) {
	for z := 0.0; z < 37; z += 0.37 {
		if got := upperQuantile(upperTail(z)); math.Abs(got-z) > 1e-12*math.Max(1, z) {
			t.Errorf("%v: %v", z, got)
		}
	}
	// Printed in every table: the upper 5% and 2.5%.
	if got := upperQuantile(0.05); math.Abs(got-1.6448536269514722) > 1e-14 {
		t.Errorf("5%%: %v", got)
	}
	if got := upperQuantile(0.025); math.Abs(got-1.959963984540054) > 1e-14 {
		t.Errorf("2.5%%: %v", got)
	}
	if got := Percentile(1.959963984540054); math.Abs(got-97.5) > 1e-12 {
		t.Errorf("97.5: %v", got)
	}
}
