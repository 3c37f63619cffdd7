package stats

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestAdjustedSurvivalCovers draws studies of children with two heels and wants the
// limits of adjusted survival, restricted means and their differences to hold the
// truth as often as they say. Heels of a child share a frailty of the positive
// stable law, with which each heel's hazard is still proportional in group and
// covariate, and exp(−t exp(x'b)) its survival. The truth is the mean of that over
// the normal law of the covariate. Of 400 studies a share of 95% is known to 1.1%:
// it stays within three times that.
func TestAdjustedSurvivalCovers(t *testing.T) {
	if testing.Short() {
		t.Skip("400 fits")
	}
	const studies, children = 400, 120
	r := rand.New(rand.NewPCG(77, 5))
	const alpha, group, covariate = 0.7, 0.6, 0.8
	stable := func() float64 { // Kanter's positive stable law of index α
		u, e := math.Pi*r.Float64(), r.ExpFloat64()
		return math.Sin(alpha*u) / math.Pow(math.Sin(u), 1/alpha) * math.Pow(math.Sin((1-alpha)*u)/e, (1-alpha)/alpha)
	}
	const at, horizon = 0.7, 1.2
	truth := func(g, t float64) float64 {
		sum, total := 0.0, 0.0
		for x := -6.0; x <= 6; x += 0.01 {
			density := math.Exp(-x * x / 2)
			sum += density * math.Exp(-t*math.Exp(group*g+covariate*x))
			total += density
		}
		return sum / total
	}
	area := func(g float64) float64 {
		const steps = 200
		sum := 0.0
		for i := range steps {
			sum += truth(g, (float64(i)+0.5)*horizon/steps) * horizon / steps
		}
		return sum
	}
	want := []float64{truth(0, at), truth(1, at), truth(1, at) - truth(0, at), area(0), area(1), area(1) - area(0)}
	held := make([]int, len(want))
	used := 0
	for range studies {
		var times Times
		var x [][]float64
		var child []int
		for c := range children {
			z, measured := stable(), r.NormFloat64()
			g := 0.0
			if r.Float64() < 1/(1+math.Exp(-measured)) {
				g = 1
			}
			for range 2 {
				exit := math.Pow(r.ExpFloat64()/z, alpha) / math.Exp(group*g+covariate*measured)
				stop := 0.5 + 2*r.Float64()
				times.Exit, times.Status = append(times.Exit, math.Min(exit, stop)), append(times.Status, exit <= stop)
				x, child = append(x, []float64{g, measured}), append(child, c)
			}
		}
		f, err := FitCox(times, x, []string{"group", "measured"}, CoxOptions{Cluster: child})
		must(t, err)
		a, err := f.AdjustedSurvival([][][]float64{atLevel(x, 0), atLevel(x, 1)}, AdjustedOptions{})
		must(t, err)
		if a.End < horizon {
			continue
		}
		used++
		survival, err := a.At(at)
		must(t, err)
		means, err := a.RestrictedMeans(horizon)
		must(t, err)
		var got []Estimate
		for _, v := range []AdjustedValues{survival, means} {
			d, err := v.Difference(1, 0)
			must(t, err)
			got = append(got, v.Values[0], v.Values[1], d)
		}
		for j, e := range got {
			if e.Lower <= want[j] && want[j] <= e.Upper {
				held[j]++
			}
		}
	}
	for j, n := range held {
		share := float64(n) / float64(used)
		t.Logf("number %d: %.1f%% of %d", j, 100*share, used)
		if math.Abs(share-0.95) > 0.033 {
			t.Errorf("number %d: limits hold %v in %.1f%% of studies", j, want[j], 100*share)
		}
	}
}
