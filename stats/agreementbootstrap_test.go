package stats

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// plainBCa is the same written out, from replicates already made.
func plainBCa(values []float64, estimate float64, without []float64, z float64) (lower, upper float64) {
	slices.Sort(values)
	below := 0.0
	for _, v := range values {
		if v < estimate {
			below++
		}
		if v == estimate {
			below += 0.5
		}
	}
	phi := func(x float64) float64 { return (1 + math.Erf(x/math.Sqrt2)) / 2 }
	z0 := math.Sqrt2 * math.Erfinv(2*below/float64(len(values))-1)
	mean := 0.0
	for _, x := range without {
		mean += x / float64(len(without))
	}
	two, three := 0.0, 0.0
	for _, x := range without {
		two += math.Pow(mean-x, 2)
		three += math.Pow(mean-x, 3)
	}
	a := three / 6 / math.Pow(two, 1.5)
	b := float64(len(values) + 1)
	low := math.Floor(b * phi(z0+(z0-z)/(1-a*(z0-z))))
	high := math.Ceil(b * phi(z0+(z0+z)/(1-a*(z0+z))))
	return values[int(math.Max(1, low))-1], values[int(math.Min(b-1, high))-1]
}

// The mean of skewed values, against the plain one on the same replicates;
// the limits of a linear function are the function of the limits.
func TestBCaBootstrap(t *testing.T) {
	r := rand.New(rand.NewPCG(19, 87))
	for seed := range uint64(20) {
		n := 12 + r.IntN(30)
		var x []float64
		for range n {
			x = append(x, math.Exp(r.NormFloat64()))
		}
		mean := func(weight []int) float64 {
			sum, all := 0.0, 0.0
			for i, w := range weight {
				sum, all = sum+float64(w)*x[i], all+float64(w)
			}
			return sum / all
		}
		got, err := BCaBootstrap(n, mean, BootstrapOptions{Replicates: 400, Seed: seed})
		must(t, err)
		var without []float64
		once := slices.Repeat([]int{1}, n)
		estimate := mean(once)
		for i := range n {
			w := slices.Clone(once)
			w[i] = 0
			without = append(without, mean(w))
		}
		lower, upper := plainBCa(replicates(n, 400, seed, mean), estimate, without, 1.959963984540054)
		if got.Lower != lower || got.Upper != upper {
			t.Errorf("got %v to %v, plainly %v to %v", got.Lower, got.Upper, lower, upper)
		}
		moved, err := BCaBootstrap(n, func(w []int) float64 { return 4*mean(w) - 1 }, BootstrapOptions{Replicates: 400, Seed: seed})
		must(t, err)
		if !near(moved.Lower, 4*lower-1, 1e-12) || !near(moved.Upper, 4*upper-1, 1e-12) {
			t.Errorf("moved %v to %v, want %v to %v", moved.Lower, moved.Upper, 4*lower-1, 4*upper-1)
		}
	}
	flat, err := BCaBootstrap(5, func([]int) float64 { return 3 }, BootstrapOptions{Replicates: 100})
	must(t, err)
	if !math.IsNaN(flat.Lower) || !warned(flat.Warnings, "limit-not-estimable") {
		t.Errorf("a statistic that does not vary: %+v", flat)
	}
}

// Weights count clusters as if they were there so often; limits cover the
// estimate, and where each subject is a cluster they are near the large-sample
// ones.
func TestKappaBootstrap(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 8))
	var first, second, cluster []int
	for i := range 200 {
		a := r.IntN(3)
		b := a
		if r.IntN(3) == 0 {
			b = r.IntN(3)
		}
		first, second, cluster = append(first, a), append(second, b), append(cluster, i)
	}
	k, err := Kappa(RatingTable(first, second, 3), KappaOptions{})
	must(t, err)
	b, err := KappaBootstrap(first, second, cluster, 3, KappaOptions{}, BootstrapOptions{Seed: 3})
	must(t, err)
	// 2000 replicates know an end to about 0.05 standard errors.
	if math.Abs(b.Lower-k.Estimate.Lower) > 0.25*k.Estimate.SE || math.Abs(b.Upper-k.Estimate.Upper) > 0.25*k.Estimate.SE || math.Abs(b.SE/k.Estimate.SE-1) > 0.1 {
		t.Errorf("bootstrap %v to %v (%v), large-sample %+v", b.Lower, b.Upper, b.SE, k.Estimate)
	}
	// Every subject twice in its cluster changes nothing.
	double, err := KappaBootstrap(append(first, first...), append(second, second...), append(cluster, cluster...), 3, KappaOptions{}, BootstrapOptions{Seed: 3})
	must(t, err)
	if !near(double.Lower, b.Lower, 1e-12) || !near(double.Upper, b.Upper, 1e-12) {
		t.Errorf("twice: %v to %v, once: %v to %v", double.Lower, double.Upper, b.Lower, b.Upper)
	}
	if _, err := KappaBootstrap([]int{0, 0}, []int{0, 0}, []int{0, 1}, 2, KappaOptions{}, BootstrapOptions{}); !errors.Is(err, ErrNoVariance) {
		t.Errorf("one category: %v", err)
	}
	panics(t, "expected categories 0 to 1", func() { RatingTable([]int{2}, []int{0}, 2) })
	panics(t, "cluster 1 has no row", func() {
		_, _ = KappaBootstrap([]int{0, 1}, []int{0, 1}, []int{0, 2}, 2, KappaOptions{}, BootstrapOptions{})
	})
}

func TestICCBootstrap(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 9))
	var ratings [][]float64
	var counts [][]int
	var cluster []int
	for i := range 120 {
		truth := 2 * r.NormFloat64()
		ratings = append(ratings, []float64{truth + r.NormFloat64(), truth + r.NormFloat64() + 0.5})
		row := []int{0, 0}
		for range 4 {
			if truth+r.NormFloat64() > 0 {
				row[0]++
			} else {
				row[1]++
			}
		}
		counts, cluster = append(counts, row), append(cluster, i)
	}
	for _, model := range []ICCModel{OneWay, TwoWayAgreement, TwoWayConsistency} {
		e, err := ICC(ratings, model, LimitOptions{})
		must(t, err)
		for _, average := range []bool{false, true} {
			want := e.Single
			if average {
				want = e.Average
			}
			b, err := ICCBootstrap(ratings, cluster, model, average, BootstrapOptions{Seed: 5, Replicates: 1000})
			must(t, err)
			width := want.Upper - want.Lower
			if math.Abs(b.Lower-want.Lower) > width/4 || math.Abs(b.Upper-want.Upper) > width/4 {
				t.Errorf("%v: bootstrap %v to %v, F limits %v to %v", model, b.Lower, b.Upper, want.Lower, want.Upper)
			}
		}
	}
	k, err := FleissKappa(counts, LimitOptions{})
	must(t, err)
	b, err := FleissKappaBootstrap(counts, cluster, BootstrapOptions{Seed: 5})
	must(t, err)
	if math.Abs(b.SE/k.Estimate.SE-1) > 0.1 {
		t.Errorf("kappa of many raters: bootstrap error %v, large-sample %v", b.SE, k.Estimate.SE)
	}
}
