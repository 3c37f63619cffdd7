package stats

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"heelcohort/stats/internal/published"
)

func TestBlandAltmanPublished(t *testing.T) {
	want := published.Load(t, "bland-altman-1986")
	d, err := BlandAltman(want.Floats("wright1"), want.Floats("mini1"), BlandAltmanOptions{Multiplier: 2, Limits: ApproximateAgreementLimits})
	must(t, err)
	want.Check("mean", d.Bias.Value)
	want.Check("sd", d.SD)
	want.Check("lower", d.Lower.Value)
	want.Check("upper", d.Upper.Value)
	want.Check("mean_lower", d.Bias.Lower)
	want.Check("mean_upper", d.Bias.Upper)
	want.Check("lower_lower", d.Lower.Lower)
	want.Check("lower_upper", d.Lower.Upper)
	want.Check("upper_lower", d.Upper.Lower)
	want.Check("upper_upper", d.Upper.Upper)
}

func ExampleBlandAltman() {
	d, err := BlandAltman([]float64{4, 7, 1, 9, 6, 3}, []float64{5, 6, 3, 8, 9, 3}, BlandAltmanOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("bias %.2f, limits of agreement %.2f to %.2f\n", d.Bias.Value, d.Lower.Value, d.Upper.Value)
	// Output: bias -0.67, limits of agreement -3.87 to 2.53
}

// The exact limits of a limit of agreement hold 1.96 standard deviations of a
// normal distribution in 95 of 100 samples; four standard errors of 6000 runs
// are 0.0113. Those of √3 need not.
func TestExactAgreementLimitsCover(t *testing.T) {
	r := rand.New(rand.NewPCG(20, 15))
	z := criticalZ(0.95)
	for _, n := range []int{3, 10, 40} {
		near, far, _ := agreementLimits(n, 1, 0.95, z, ExactAgreementLimits)
		const runs = 6000
		covered := 0
		sample := make([]float64, n)
		for range runs {
			for i := range sample {
				sample[i] = r.NormFloat64()
			}
			mean, sd := meanSD(sample)
			if mean+near*sd <= z && z <= mean+far*sd {
				covered++
			}
		}
		if share := float64(covered) / runs; math.Abs(share-0.95) > 0.0113 {
			t.Errorf("n %d: covered %v of the time", n, share)
		}
	}
}

// At δ = 0 it is Student's t, whose incomplete beta function loses a few digits
// with many degrees of freedom; elsewhere Simpson's rule over u on 400,000 steps.
func TestNoncentralT(t *testing.T) {
	for _, df := range []float64{1, 2, 7, 30, 400, 5000} {
		d := newNoncentralT(df, 0)
		for _, x := range []float64{-3, -0.5, 0, 1, 4} {
			want := studentTail(x, df) / 2
			if x > 0 {
				want = 1 - want
			}
			if !near(d.atMost(x), want, 1e-11) {
				t.Errorf("df %v at %v: %v, Student's t %v", df, x, d.atMost(x), want)
			}
		}
		delta := 1.96 * math.Sqrt(df+1)
		d = newNoncentralT(df, delta)
		norm, _ := math.Lgamma(df / 2)
		for _, p := range []float64{0.025, 0.6, 0.975} {
			x := d.quantile(p)
			f := func(u float64) float64 {
				u = math.Max(u, 1e-300) // of one degree of freedom the density is not 0 at 0
				log := math.Ln2 + df/2*math.Log(df/2) - norm + (df-1)*math.Log(u) - df*u*u/2
				return math.Exp(log) * math.Erfc((delta-x*u)/math.Sqrt2) / 2
			}
			const steps = 400000
			top := math.Min(1+12/math.Sqrt(df), 9)
			sum := f(0) + f(top)
			for i := 1; i < steps; i++ {
				sum += f(top*float64(i)/steps) * float64(2+2*(i%2))
			}
			if got := sum * top / steps / 3; !near(got, p, 1e-9) {
				t.Errorf("df %v, noncentrality %v: at the quantile of %v plain integration gives %v", df, delta, p, got)
			}
		}
	}
}

func TestBlandAltmanEdges(t *testing.T) {
	for _, one := range []struct {
		first, second []float64
		want          error
	}{
		{nil, nil, ErrTooFewRows},
		{[]float64{1}, []float64{2}, ErrTooFewRows},
		{[]float64{1.1, 2.2, 3.3}, []float64{1.1, 2.2, 3.3}, ErrNoVariance},
		{[]float64{1, math.Inf(1)}, []float64{2, 4}, ErrNotFinite},
	} {
		if _, err := BlandAltman(one.first, one.second, BlandAltmanOptions{}); !errors.Is(err, one.want) {
			t.Errorf("%v, %v: error %v, want %v", one.first, one.second, err, one.want)
		}
	}
	flat, err := BlandAltman([]float64{1, 2, 3}, []float64{3, 2, 1}, BlandAltmanOptions{})
	must(t, err)
	if !math.IsNaN(flat.Slope.Value) || len(flat.Slope.Warnings) == 0 {
		t.Errorf("means that do not vary: %+v", flat.Slope)
	}
	steep, err := BlandAltman([]float64{2, 4, 6.1, 8, 10}, []float64{1, 2, 3, 4.1, 5}, BlandAltmanOptions{})
	must(t, err)
	if !warned(steep.Warnings, "proportional-bias") {
		t.Errorf("twice the other: %+v", steep)
	}
	panics(t, "coverage 95", func() { _, _ = BlandAltman([]float64{1, 2}, []float64{1, 3}, BlandAltmanOptions{Coverage: 95}) })
}

// By hand: differences 0, 2 of one child and 4, 6 of another have mean 3,
// B = 16, W = 2, m0 = 2, so variances 7 between and 2 within: standard deviation
// 3.
func TestBlandAltmanRepeated(t *testing.T) {
	d, err := BlandAltmanRepeated([]float64{10, 12, 24, 36}, []float64{10, 10, 20, 30}, []int{0, 0, 1, 1}, BlandAltmanOptions{Multiplier: 2}, BootstrapOptions{Replicates: 100})
	must(t, err)
	for _, one := range []struct{ got, want float64 }{
		{d.Bias, 3}, {d.SD, 3}, {d.BetweenSD, math.Sqrt(7)}, {d.WithinSD, math.Sqrt2}, {d.Lower, -3}, {d.Upper, 9},
	} {
		if !near(one.got, one.want, 1e-14) {
			t.Errorf("got %v, want %v", one.got, one.want)
		}
	}
	// One pair a child is the plain analysis.
	r := rand.New(rand.NewPCG(20, 7))
	for range 20 {
		var first, second []float64
		var cluster []int
		for i := range 5 + r.IntN(20) {
			first, second, cluster = append(first, r.NormFloat64()), append(second, r.NormFloat64()), append(cluster, i)
		}
		plain, err := BlandAltman(first, second, BlandAltmanOptions{})
		must(t, err)
		one, err := BlandAltmanRepeated(first, second, cluster, BlandAltmanOptions{}, BootstrapOptions{Replicates: 100})
		must(t, err)
		if !near(plain.SD, one.SD, 1e-12) || !near(plain.Lower.Value, one.Lower, 1e-12) || !near(plain.Bias.Value, one.Bias, 1e-12) {
			t.Errorf("single pairs: %+v, plainly %+v", one, plain)
		}
	}
	if _, err := BlandAltmanRepeated([]float64{1, 2}, []float64{2, 4}, []int{0, 0}, BlandAltmanOptions{}, BootstrapOptions{}); !errors.Is(err, ErrTooFewClusters) {
		t.Errorf("one child: %v", err)
	}
}

// A child taken twice in the weights is as two children of the same pairs.
func TestRepeatedVarianceWeights(t *testing.T) {
	r := rand.New(rand.NewPCG(20, 8))
	for range 200 {
		var d, doubled []float64
		var members, more [][]int
		weight := []int{}
		for range 2 + r.IntN(6) {
			var rows []int
			for range 1 + r.IntN(3) {
				rows, d = append(rows, len(d)), append(d, r.NormFloat64())
			}
			w := r.IntN(4)
			members, weight = append(members, rows), append(weight, w)
			for range w {
				var again []int
				for _, i := range rows {
					again, doubled = append(again, len(doubled)), append(doubled, d[i])
				}
				more = append(more, again)
			}
		}
		once := make([]int, len(more))
		for i := range once {
			once[i] = 1
		}
		a, b, c := repeatedVariance(d, members, weight)
		x, y, z := repeatedVariance(doubled, more, once)
		if !near(a, x, 1e-12) || !near(b, y, 1e-12) || !near(c, z, 1e-12) {
			t.Errorf("weighted %v %v %v, repeated %v %v %v", a, b, c, x, y, z)
		}
	}
}
