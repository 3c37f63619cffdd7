package stats

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"heelcohort/stats/internal/published"
)

func ExampleMcNemar() {
	// Pain in the left and the right heel of 40 children: 8 left alone, 2 right
	// alone.
	test, err := McNemar(PairTable{Both: 12, First: 8, Second: 2, Neither: 18}, McNemarOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("p = %.3f\n", test.P)
	// Output: p = 0.109
}

func TestPairsAgresti(t *testing.T) {
	want := published.Load(t, "agresti-2002")
	yes, no := want.Ints("second_approve"), want.Ints("second_disapprove")
	// The difference is of the second survey less the first.
	p := PairTable{Both: yes[0], First: yes[1], Second: no[0], Neither: no[1]}
	test, err := McNemar(p, McNemarOptions{McNemarChiSquare})
	must(t, err)
	want.Check("z2", test.Statistic)
	e, err := PairedDifference(p, PairedDifferenceOptions{Method: PairedWald})
	must(t, err)
	want.Check("difference", e.Value)
	want.Check("difference_se", e.SE)
	want.Check("lower", e.Lower)
	want.Check("upper", e.Upper)
}

// By hand: 8 against 2 have a tail of (1 + 10 + 45)/1024. The exact lower limit
// of 3 against none solves p³ = 1/40, the mid-P one p³/2 = 1/40.
func TestPairsByHand(t *testing.T) {
	p := PairTable{12, 8, 2, 18}
	for _, c := range []struct {
		method       McNemarMethod
		statistic, p float64
	}{
		{McNemarExact, math.NaN(), 112.0 / 1024},
		{McNemarMidP, math.NaN(), 67.0 / 1024},
		{McNemarChiSquare, 3.6, math.Erfc(math.Sqrt(1.8))},
		{McNemarCorrected, 2.5, math.Erfc(math.Sqrt(1.25))},
	} {
		test, err := McNemar(p, McNemarOptions{c.method})
		must(t, err)
		if !near(test.Statistic, c.statistic, 1e-14) || !near(test.P, c.p, 1e-13) {
			t.Errorf("%+v, want %v and %v", test, c.statistic, c.p)
		}
	}
	for _, c := range []struct {
		midP bool
		tail float64
	}{{false, 0.025}, {true, 0.05}} {
		e, err := PairedOddsRatio(PairTable{1, 3, 0, 1}, ExactOptions{MidP: c.midP})
		must(t, err)
		l := math.Cbrt(c.tail)
		if !math.IsInf(e.Value, 1) || !math.IsInf(e.Upper, 1) || !near(e.Lower, l/(1-l), 1e-12) {
			t.Errorf("3 against none: %+v, want %v", e, l/(1-l))
		}
	}
	e, err := MatchedOddsRatio([]MatchedSet{{1, 1, 2, 1}, {1, 1, 2, 0}, {1, 0, 2, 1}, {1, 1, 2, 2}}, LimitOptions{})
	must(t, err)
	// R = 1/3 + 2/3 (controls not exposed over 3), S = 1/3.
	if !near(e.Value, 3, 1e-14) || !warned(e.Warnings, "empty-margin-strata") {
		t.Errorf("matched sets: %+v", e)
	}
}

// By hand: without discordant pairs, with n pairs of which a have the outcome,
// Tango's limits are ±z²/(n+z²) and those of the ratio 1+z²/a and its inverse.
func TestPairedRisksByHand(t *testing.T) {
	const z2 = 1.959963984540054 * 1.959963984540054
	p := PairTable{8, 0, 0, 12}
	d, err := PairedDifference(p, PairedDifferenceOptions{})
	must(t, err)
	if !near(d.Upper, z2/(20+z2), 1e-12) || !near(d.Lower, -d.Upper, 1e-12) || d.P != 1 || d.Value != 0 {
		t.Errorf("difference %+v", d)
	}
	r, err := PairedRatio(p, LimitOptions{})
	must(t, err)
	if !near(r.Upper, 1+z2/8, 1e-12) || !near(r.Lower, 1/r.Upper, 1e-12) || r.P != 1 || r.Value != 1 {
		t.Errorf("ratio %+v", r)
	}
}

// Exchanging first and second changes the sign or inverts; limits hold the
// estimate; those of the score exclude no effect exactly when P says so.
func TestPairedRisksProperties(t *testing.T) {
	r := rand.New(rand.NewPCG(98, 891))
	for range 1000 {
		size := []int{2, 6, 40}[r.IntN(3)]
		p := PairTable{r.IntN(size), r.IntN(size), r.IntN(size), r.IntN(size)}
		q := PairTable{p.Both, p.Second, p.First, p.Neither}
		for _, method := range []PairedDifferenceMethod{PairedTango, PairedNewcombe, PairedWald} {
			one, err := PairedDifference(p, PairedDifferenceOptions{Method: method})
			two, err2 := PairedDifference(q, PairedDifferenceOptions{Method: method})
			if (err == nil) != (err2 == nil) {
				t.Fatalf("%+v: %v, %v", p, err, err2)
			}
			if err != nil {
				continue
			}
			if !near(one.Lower, -two.Upper, 1e-12) || !near(one.Upper, -two.Lower, 1e-12) || !(one.Lower <= one.Value && one.Value <= one.Upper && one.Lower < one.Upper && one.Lower >= -1 && one.Upper <= 1) {
				t.Errorf("%+v: %+v, other way %+v", p, one, two)
			}
			if method == PairedTango && math.Abs(one.P-0.05) > 1e-9 && (one.P < 0.05) != (one.Lower > 0 || one.Upper < 0) {
				t.Errorf("%+v: P and limits disagree: %+v", p, one)
			}
		}
		one, err := PairedRatio(p, LimitOptions{})
		two, err2 := PairedRatio(q, LimitOptions{})
		if (err == nil) != (err2 == nil) {
			t.Fatalf("%+v: %v, %v", p, err, err2)
		}
		if err != nil {
			continue
		}
		if !nearRelative(one.Lower, 1/two.Upper, 1e-9) || !nearRelative(one.Upper, 1/two.Lower, 1e-9) || !(one.Lower <= one.Value && one.Value <= one.Upper && one.Lower < one.Upper) {
			t.Errorf("%+v: ratio %+v, other way %+v", p, one, two)
		}
		if math.Abs(one.P-0.05) > 1e-9 && (one.P < 0.05) != (one.Lower > 1 || one.Upper < 1) {
			t.Errorf("%+v: P and limits disagree: %+v", p, one)
		}
	}
}

func TestPairsEdges(t *testing.T) {
	inf := math.Inf(1)
	for _, c := range []struct {
		name                          string
		p                             PairTable
		mcNemar, wald, ratio, oddsErr error
		difference                    [2]float64 // limits that are certain; NaN: inside
		ratioLimits, odds             [2]float64 // 0 or Inf where certain; NaN: finite and positive
	}{
		{"no pairs", PairTable{}, ErrNoData, ErrNoData, ErrNoData, ErrNoData, [2]float64{}, [2]float64{}, [2]float64{}},
		{"nobody", PairTable{0, 0, 0, 7}, ErrNoVariance, ErrNoVariance, ErrNoEvents, ErrNoVariance, [2]float64{math.NaN(), math.NaN()}, [2]float64{}, [2]float64{}},
		{"everybody", PairTable{7, 0, 0, 0}, ErrNoVariance, ErrNoVariance, nil, ErrNoVariance, [2]float64{math.NaN(), math.NaN()}, [2]float64{math.NaN(), math.NaN()}, [2]float64{}},
		{"first alone", PairTable{0, 7, 0, 0}, nil, ErrNoVariance, nil, nil, [2]float64{math.NaN(), 1}, [2]float64{math.NaN(), inf}, [2]float64{math.NaN(), inf}},
		{"second alone", PairTable{0, 0, 7, 0}, nil, ErrNoVariance, nil, nil, [2]float64{-1, math.NaN()}, [2]float64{0, math.NaN()}, [2]float64{0, math.NaN()}},
		{"none in the first", PairTable{0, 0, 2, 7}, nil, nil, nil, nil, [2]float64{math.NaN(), math.NaN()}, [2]float64{0, math.NaN()}, [2]float64{0, math.NaN()}},
		{"one pair", PairTable{1, 0, 0, 0}, ErrNoVariance, ErrNoVariance, nil, ErrNoVariance, [2]float64{math.NaN(), math.NaN()}, [2]float64{math.NaN(), math.NaN()}, [2]float64{}},
	} {
		if _, err := McNemar(c.p, McNemarOptions{}); !errors.Is(err, c.mcNemar) {
			t.Errorf("%s: McNemar %v, want %v", c.name, err, c.mcNemar)
		}
		if _, err := PairedDifference(c.p, PairedDifferenceOptions{Method: PairedWald}); !errors.Is(err, c.wald) {
			t.Errorf("%s: Wald %v, want %v", c.name, err, c.wald)
		}
		for _, method := range []PairedDifferenceMethod{PairedTango, PairedNewcombe} {
			e, err := PairedDifference(c.p, PairedDifferenceOptions{Method: method})
			if c.name == "no pairs" {
				if !errors.Is(err, ErrNoData) {
					t.Errorf("%s: difference %v", c.name, err)
				}
				continue
			}
			must(t, err)
			for i, got := range []float64{e.Lower, e.Upper} {
				if want := c.difference[i]; math.IsNaN(want) && !(got > -1 && got < 1) || !math.IsNaN(want) && !near(got, want, 1e-14) {
					t.Errorf("%s: limit %d of %+v, want %v", c.name, i, e, want)
				}
			}
		}
		limits := func(what string, e Estimate, err, wantErr error, want [2]float64) {
			if !errors.Is(err, wantErr) {
				t.Errorf("%s: %s %v, want %v", c.name, what, err, wantErr)
			}
			if err != nil {
				return
			}
			for i, got := range []float64{e.Lower, e.Upper} {
				if math.IsNaN(want[i]) && !(got > 0 && got < inf) || !math.IsNaN(want[i]) && got != want[i] {
					t.Errorf("%s: limit %d of the %s %+v, want %v", c.name, i, what, e, want[i])
				}
			}
		}
		e, err := PairedRatio(c.p, LimitOptions{})
		limits("ratio", e, err, c.ratio, c.ratioLimits)
		for _, midP := range []bool{false, true} {
			e, err = PairedOddsRatio(c.p, ExactOptions{MidP: midP})
			limits("odds ratio", e, err, c.oddsErr, c.odds)
		}
	}
	panics(t, "negative count", func() { _, _ = McNemar(PairTable{First: -1}, McNemarOptions{}) })
	panics(t, "no more exposed", func() { _, _ = MatchedOddsRatio([]MatchedSet{{1, 2, 1, 0}}, LimitOptions{}) })
}
