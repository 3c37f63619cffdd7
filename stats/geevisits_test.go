package stats

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestVisitDifferenceCovers draws pain of children over three visits after a
// baseline, with one or two heels, values that depend on each other more the
// nearer their visits, and values missing by chance: limits of the difference
// between two groups at the last visit, whose change differs by −6 then. The
// working correlation is exchangeable, which is not that of the draws: estimates
// are right nevertheless. With 30 children, 10 of them in the group, plain
// robust errors cover too little, bias-reduced ones by clusters do not. Of 2,000
// draws a coverage of 0.95 has an error of 0.005.
func TestVisitDifferenceCovers(t *testing.T) {
	r := rand.New(rand.NewPCG(19, 86))
	const draws, truth = 2000, -6.0
	terms := []string{"group", "v2", "v3", "base", "group v2", "group v3"}
	last := []float64{0, 1, 0, 0, 0, 0, 1}
	var plain, reduced int
	var mean Sum
	done := 0
	for range draws {
		var x [][]float64
		var y []float64
		var cluster []int
		for child := range 30 {
			group := 0.0
			if child < 10 {
				group = 1
			}
			own := 8 * r.NormFloat64()
			for range 1 + child%2 {
				base := 50 + own + 8*r.NormFloat64()
				carried := 8 * r.NormFloat64()
				for v := range 3 {
					carried = 0.7*carried + 8*math.Sqrt(1-0.49)*r.NormFloat64()
					value := base - 10*float64(v+1) - 3*group*float64(v) + own/2 + carried
					if r.Float64() < 0.15 {
						continue
					}
					late := [3][2]float64{{0, 0}, {1, 0}, {0, 1}}[v]
					x = append(x, []float64{group, late[0], late[1], base, group * late[0], group * late[1]})
					y, cluster = append(y, value), append(cluster, child)
				}
			}
		}
		one, err := FitGEE(x, terms, y, nil, GEEOptions{Family: GEEGaussian, Cluster: cluster})
		if err != nil {
			continue
		}
		two, err := FitGEE(x, terms, y, nil, GEEOptions{Family: GEEGaussian, Cluster: cluster, BiasReduced: true, StudentT: true})
		must(t, err)
		done++
		e := one.Combination("", last, 0)
		mean.Add(e.Value)
		if e.Lower <= truth && truth <= e.Upper {
			plain++
		}
		if e := two.Combination("", last, 0); e.Lower <= truth && truth <= e.Upper {
			reduced++
		}
	}
	n := float64(done)
	t.Logf("%d fits: mean %.2f; coverage %.3f plain, %.3f bias-reduced by clusters", done, mean.Total()/n, float64(plain)/n, float64(reduced)/n)
	if done < draws*99/100 {
		t.Errorf("%d of %d fits", done, draws)
	}
	// The difference has a standard deviation of about 5, its mean an error of 0.1.
	if got := mean.Total() / n; math.Abs(got-truth) > 0.4 {
		t.Errorf("mean difference %v, want %v", got, truth)
	}
	if c := float64(plain) / n; c > 0.94 || c < 0.85 {
		t.Errorf("plain coverage %v", c)
	}
	if c := float64(reduced) / n; c < 0.935 || c > 0.98 {
		t.Errorf("bias-reduced coverage %v", c)
	}
}
