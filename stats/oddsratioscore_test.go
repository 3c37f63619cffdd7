package stats

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

func cornfield(corrected bool) TwoByTwoMeasure {
	return func(a, b, c, d int, opts LimitOptions) (Estimate, error) {
		return OddsRatioCornfield(a, b, c, d, CornfieldOptions{opts.Level, corrected})
	}
}

func ExampleOddsRatioScore() {
	e, err := OddsRatioScore(18, 22, 21, 69, LimitOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f (%.2f to %.2f)\n", e.Value, e.Lower, e.Upper)
	// Output: 2.69 (1.22 to 5.91)
}

// By hand for four counts of h: s² = h² k z²/(4h + k z²) persons are moved,
// with k = N/(N−1), or 1 for Cornfield, or with his correction (s−1/2)² 4h = z²
// (h²−s²), and the limit is ((h−s)/(h+s))². P of 18 22 / 21 69 is that of
// Pearson's chi-square, 130 (18·69 − 22·21)²/(39·91·40·90), of 129/130 of it,
// or of Yates's.
func TestOddsRatioScoreByHand(t *testing.T) {
	const z2 = 1.959963984540054 * 1.959963984540054
	const h = 9.0
	score, err := OddsRatioScore(h, h, h, h, LimitOptions{})
	must(t, err)
	plain, err := OddsRatioCornfield(h, h, h, h, CornfieldOptions{})
	must(t, err)
	corrected, err := OddsRatioCornfield(h, h, h, h, CornfieldOptions{Corrected: true})
	must(t, err)
	k := 4 * h / (4*h - 1)
	// (4h + z²) s² − 4h s + h − z² h² = 0.
	root := (4*h + math.Sqrt(16*h*h-4*(4*h+z2)*(h-z2*h*h))) / (2 * (4*h + z2))
	for _, c := range []struct {
		e Estimate
		s float64
	}{
		{score, math.Sqrt(h * h * k * z2 / (4*h + k*z2))},
		{plain, math.Sqrt(h * h * z2 / (4*h + z2))},
		{corrected, root},
	} {
		want := math.Pow((h-c.s)/(h+c.s), 2)
		if c.e.Value != 1 || !near(c.e.Lower, want, 1e-13) || !near(c.e.Upper, 1/want, 1e-12) || c.e.P != 1 {
			t.Errorf("%+v, want %v to %v", c.e, want, 1/want)
		}
	}
	pearson := 130 * 780 * 780 / (39 * 91 * 40 * 90.0)
	yates := 130 * (780 - 65) * (780 - 65) / (39 * 91 * 40 * 90.0)
	score, err = OddsRatioScore(18, 22, 21, 69, LimitOptions{})
	must(t, err)
	plain, err = OddsRatioCornfield(18, 22, 21, 69, CornfieldOptions{})
	must(t, err)
	corrected, err = OddsRatioCornfield(18, 22, 21, 69, CornfieldOptions{Corrected: true})
	must(t, err)
	for _, c := range []struct{ got, chi float64 }{{score.P, pearson * 129 / 130}, {plain.P, pearson}, {corrected.P, yates}} {
		if want := math.Erfc(math.Sqrt(c.chi / 2)); !near(c.got, want, 1e-13) {
			t.Errorf("p %v, want %v", c.got, want)
		}
	}
}

// Exchanging groups or outcomes inverts; the limits hold the estimate and
// exclude 1 exactly when P says so; the mid-P limits lie within the exact ones.
func TestOddsRatioLimitsProperties(t *testing.T) {
	r := rand.New(rand.NewPCG(85, 213))
	for range 500 {
		f := randomTable(r, 2, 2, []int{3, 10, 100}[r.IntN(3)])
		a, b, c, d := f[0][0], f[0][1], f[1][0], f[1][1]
		for _, measure := range []TwoByTwoMeasure{OddsRatioScore, cornfield(false), cornfield(true), OddsRatioMidP, OddsRatioExact} {
			one, err := measure(a, b, c, d, LimitOptions{})
			must(t, err)
			for _, n := range [][4]int{{c, d, a, b}, {b, a, d, c}} {
				two, err := measure(n[0], n[1], n[2], n[3], LimitOptions{})
				must(t, err)
				if !nearRelative(one.Lower, 1/two.Upper, 1e-9) || !nearRelative(one.Upper, 1/two.Lower, 1e-9) || !near(one.P, two.P, 1e-9) {
					t.Errorf("%v: %+v, other way %+v", f, one, two)
				}
			}
			if !(one.Lower <= one.Value && one.Value <= one.Upper && one.Lower < one.Upper) {
				t.Errorf("%v: %+v", f, one)
			}
			if math.Abs(one.P-0.05) > 1e-9 && (one.P < 0.05) != (one.Lower > 1 || one.Upper < 1) {
				t.Errorf("%v: P and limits disagree: %+v", f, one)
			}
		}
		exact, err := OddsRatioExact(a, b, c, d, LimitOptions{})
		must(t, err)
		midP, err := OddsRatioMidP(a, b, c, d, LimitOptions{})
		must(t, err)
		if midP.Lower < exact.Lower || midP.Upper > exact.Upper || midP.P > exact.P {
			t.Errorf("%v: mid-P %+v, exact %+v", f, midP, exact)
		}
	}
}

func TestOddsRatioLimitsEdges(t *testing.T) {
	inf := math.Inf(1)
	for _, c := range []struct {
		n            [4]int
		value        float64
		lower, upper float64 // NaN: finite and positive
		err          error
	}{
		{[4]int{0, 5, 7, 3}, 0, 0, math.NaN(), nil},
		{[4]int{5, 3, 7, 0}, 0, 0, math.NaN(), nil},
		{[4]int{0, 5, 7, 0}, 0, 0, math.NaN(), nil},
		{[4]int{5, 0, 7, 3}, inf, math.NaN(), inf, nil},
		{[4]int{5, 3, 0, 7}, inf, math.NaN(), inf, nil},
		{[4]int{5, 0, 0, 7}, inf, math.NaN(), inf, nil},
		{[4]int{1, 1, 1, 1}, 1, math.NaN(), math.NaN(), nil},
		{[4]int{0, 5, 0, 7}, 0, 0, 0, ErrNoVariance},
		{[4]int{5, 0, 7, 0}, 0, 0, 0, ErrNoVariance},
		{[4]int{0, 0, 7, 1}, 0, 0, 0, ErrNoData},
		{[4]int{7, 1, 0, 0}, 0, 0, 0, ErrNoData},
		{[4]int{}, 0, 0, 0, ErrNoData},
	} {
		for i, measure := range []TwoByTwoMeasure{OddsRatioScore, OddsRatioMidP, OddsRatioExact, cornfield(false), cornfield(true)} {
			e, err := measure(c.n[0], c.n[1], c.n[2], c.n[3], LimitOptions{})
			if !errors.Is(err, c.err) {
				t.Errorf("%d of %v: error %v, want %v", i, c.n, err, c.err)
			}
			if err != nil {
				continue
			}
			for k, x := range [][2]float64{{e.Value, c.value}, {e.Lower, c.lower}, {e.Upper, c.upper}} {
				if got, want := x[0], x[1]; math.IsNaN(want) && !(got > 0 && got < inf) || !math.IsNaN(want) && !near(got, want, 1e-12) {
					t.Errorf("%d of %v: number %d of %+v, want %v", i, c.n, k, e, want)
				}
			}
		}
	}
	panics(t, "negative count", func() { _, _ = OddsRatioScore(1, -1, 2, 3, LimitOptions{}) })
}
