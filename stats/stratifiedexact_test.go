package stats

import (
	"fmt"
	"math"
	"math/big"
	"math/rand/v2"
	"slices"
	"testing"
)

func ExampleCommonOddsRatioExact() {
	// Few children in each of three clubs; no episode without pronated feet.
	e, err := CommonOddsRatioExact([]TableStratum{{2, 1, 0, 3}, {1, 2, 0, 4}, {2, 2, 0, 2}}, ExactOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f (%.2f to %.0f)\n", e.Value, e.Lower, e.Upper)
	// Output: +Inf (0.87 to +Inf)
}

// By hand: 1 1 / 1 1 has the weights 1, 4, 1; twice, their sum has 1, 8, 18, 8,
// 1. At a sum of 4 only 4 and 0 are as improbable; at 3 the estimate is a root
// of ψ⁴ − 18ψ² − 16ψ − 3, exact tails are 9/36 and mid-P ones 5/36, and the
// upper limit is where (1 + 8ψ + 18ψ² + 8ψ³)/(… + ψ⁴) is 1/40.
func TestCommonOddsRatioExactByHand(t *testing.T) {
	even := TableStratum{1, 1, 1, 1}
	full := TableStratum{2, 0, 0, 2}
	e, err := CommonOddsRatioExact([]TableStratum{even, even}, ExactOptions{})
	must(t, err)
	if !near(e.Value, 1, 1e-13) || e.P != 1 {
		t.Errorf("twice 1 1 / 1 1: %+v", e)
	}
	e, err = CommonOddsRatioExact([]TableStratum{full, even}, ExactOptions{})
	must(t, err)
	v, u := e.Value, e.Upper
	below := 1 + 8*u + 18*u*u + 8*u*u*u
	if left := v*v*v*v - 18*v*v - 16*v - 3; math.Abs(left) > 1e-10 || !near(e.P, 0.5, 1e-14) || !near(below/(below+u*u*u*u), 0.025, 1e-13) {
		t.Errorf("a sum of 3: %+v, polynomial %v", e, left)
	}
	e, err = CommonOddsRatioExact([]TableStratum{full, even}, ExactOptions{MidP: true})
	must(t, err)
	u = e.Upper
	below = 1 + 8*u + 18*u*u + 4*u*u*u
	if !near(e.Value, v, 1e-13) || !near(e.P, 10.0/36, 1e-14) || !near(below/(below+4*u*u*u+u*u*u*u), 0.025, 1e-13) {
		t.Errorf("a sum of 3, mid-P: %+v", e)
	}
	test, err := ConditionalIndependenceExact([]TableStratum{full, full})
	must(t, err)
	if !near(test.P, 1.0/18, 1e-14) {
		t.Errorf("a sum of 4: %+v", test)
	}
}

// One stratum is the exact odds ratio and Fisher's test; each pair a stratum is
// the odds ratio of discordant pairs.
func TestCommonOddsRatioExactSingle(t *testing.T) {
	r := rand.New(rand.NewPCG(70, 471))
	for range 200 {
		f := randomTable(r, 2, 2, 20)
		s := []TableStratum{{f[0][0], f[0][1], f[1][0], f[1][1]}}
		for _, midP := range []bool{false, true} {
			single := OddsRatioExact
			if midP {
				single = OddsRatioMidP
			}
			want, err := single(f[0][0], f[0][1], f[1][0], f[1][1], LimitOptions{})
			must(t, err)
			got, err := CommonOddsRatioExact(s, ExactOptions{MidP: midP})
			must(t, err)
			for i, x := range [][2]float64{{got.Value, want.Value}, {got.Lower, want.Lower}, {got.Upper, want.Upper}, {got.P, want.P}} {
				if !nearRelative(x[0], x[1], 1e-10) {
					t.Errorf("%v: number %d is %v, want %v", f, i, x[0], x[1])
				}
			}
		}
		want, err := Fisher(f)
		must(t, err)
		got, err := ConditionalIndependenceExact(s)
		must(t, err)
		if !nearRelative(got.P, want.P, 1e-10) {
			t.Errorf("%v: exact test %v, Fisher %v", f, got.P, want.P)
		}
		pairs := PairTable{r.IntN(4), r.IntN(9), 1 + r.IntN(9), r.IntN(4)}
		var sets []MatchedSet
		for _, some := range []struct {
			n   int
			set MatchedSet
		}{{pairs.Both, MatchedSet{1, 1, 1, 1}}, {pairs.First, MatchedSet{1, 1, 1, 0}}, {pairs.Second, MatchedSet{1, 0, 1, 1}}} {
			sets = append(sets, slices.Repeat([]MatchedSet{some.set}, some.n)...)
		}
		paired, err := PairedOddsRatio(pairs, ExactOptions{})
		must(t, err)
		common, err := MatchedOddsRatioExact(sets, ExactOptions{})
		must(t, err)
		if !nearRelative(common.Value, paired.Value, 1e-9) || !nearRelative(common.Lower, paired.Lower, 1e-9) || !nearRelative(common.Upper, paired.Upper, 1e-9) || !near(common.P, paired.P, 1e-10) {
			t.Errorf("%+v: as sets %+v, as pairs %+v", pairs, common, paired)
		}
	}
}

// By hand: of 2 0 / 0 2 with 0 2 / 2 0 and twice 1 1 / 1 1, which have one sum,
// the weights are 1, 16 and 1.
func TestHomogeneityExactByHand(t *testing.T) {
	for _, c := range []struct {
		strata []TableStratum
		want   float64
	}{
		{[]TableStratum{{1, 1, 1, 1}, {1, 1, 1, 1}}, 1},
		{[]TableStratum{{2, 0, 0, 2}, {0, 2, 2, 0}}, 2.0 / 18},
		{[]TableStratum{{2, 0, 0, 2}, {2, 0, 0, 2}}, 1},
	} {
		test, err := HomogeneityExact(c.strata)
		must(t, err)
		if !near(test.P, c.want, 1e-13) {
			t.Errorf("%v: p %v, want %v", c.strata, test.P, c.want)
		}
	}
}

// zelenPlain enumerates all tables in exact integers.
func zelenPlain(strata []TableStratum) float64 {
	weight := func(s TableStratum, a int) *big.Int {
		x := new(big.Int).Binomial(int64(s.A+s.B), int64(a))
		return x.Mul(x, new(big.Int).Binomial(int64(s.C+s.D), int64(s.A+s.C-a)))
	}
	observed, sum := big.NewInt(1), 0
	for _, s := range strata {
		observed.Mul(observed, weight(s, s.A))
		sum += s.A
	}
	total, tail := new(big.Int), new(big.Int)
	var walk func(k, left int, w *big.Int)
	walk = func(k, left int, w *big.Int) {
		if k == len(strata) {
			if left == 0 {
				total.Add(total, w)
				if w.Cmp(observed) <= 0 {
					tail.Add(tail, w)
				}
			}
			return
		}
		s := strata[k]
		for a := max(0, s.A-s.D); a <= min(s.A+s.B, s.A+s.C); a++ {
			walk(k+1, left-a, new(big.Int).Mul(w, weight(s, a)))
		}
	}
	walk(0, sum, big.NewInt(1))
	p, _ := new(big.Rat).SetFrac(tail, total).Float64()
	return p
}

func TestHomogeneityExactAgainstPlain(t *testing.T) {
	r := rand.New(rand.NewPCG(71, 129))
	for range 500 {
		var strata []TableStratum
		for range 2 + r.IntN(3) {
			f := randomTable(r, 2, 2, 2+r.IntN(8))
			strata = append(strata, TableStratum{f[0][0], f[0][1], f[1][0], f[1][1]})
		}
		want := zelenPlain(strata)
		got, err := HomogeneityExact(strata)
		must(t, err)
		if !nearRelative(got.P, want, 1e-10) {
			t.Errorf("%v: p %v, want %v", strata, got.P, want)
		}
	}
}

// By hand: the Mantel-Haenszel odds ratio of 5 5 / 5 5 and 18 6 / 6 18 is 4, at
// which the fitted a are 20/3 and 16, with variances 10/9 and 8/3: 5/2 + 3/2,
// of which Tarone takes off (1/3)²/(34/9). Risk ratios of 10 30 / 5 35 and
// 5 35 / 5 35 are 2 and 1, with variances 1/4 and 7/20; their differences are 1/8
// and 0, with 475/64000 and 350/64000.
func TestHomogeneityByHand(t *testing.T) {
	strata := []TableStratum{{5, 5, 5, 5}, {18, 6, 6, 18}}
	plain, err := OddsRatioHomogeneity(strata, HomogeneityOptions{Uncorrected: true})
	must(t, err)
	tarone, err := OddsRatioHomogeneity(strata, HomogeneityOptions{})
	must(t, err)
	strata = []TableStratum{{10, 30, 5, 35}, {5, 35, 5, 35}}
	ratio, err := RiskRatioHomogeneity(strata)
	must(t, err)
	difference, err := RiskDifferenceHomogeneity(strata)
	must(t, err)
	for i, c := range []struct {
		test Test
		want float64
	}{{plain, 4}, {tarone, 4 - 1.0/34}, {ratio, math.Ln2 * math.Ln2 / 0.6}, {difference, 40.0 / 33}} {
		if !near(c.test.Statistic, c.want, 1e-12) || c.test.DF != 1 || !near(c.test.P, math.Erfc(math.Sqrt(c.want/2)), 1e-12) {
			t.Errorf("%d: %+v, want %v", i, c.test, c.want)
		}
	}
}
