package stats

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// heelScene is how children with two heels are drawn: half of them exposed as a
// whole child, with outcomes of the two heels that agree more often than chance.
type heelScene struct {
	children int
	log      float64 // log odds ratio of the exposure
}

const heelAlike = 0.6 // chance that the second heel takes the first's outcome

func (s heelScene) draw(r *rand.Rand) (x [][]float64, y []bool, counts []float64, child []int) {
	for c := range s.children {
		exposed := float64(c % 2)
		p := 1 / (1 + math.Exp(0.4-s.log*exposed))
		first := r.Float64() < p
		second := first
		if r.Float64() >= heelAlike {
			second = r.Float64() < p
		}
		for _, had := range []bool{first, second} {
			x, y, child = append(x, []float64{exposed}), append(y, had), append(child, c)
			if had {
				counts = append(counts, 1)
			} else {
				counts = append(counts, 0)
			}
		}
	}
	return x, y, counts, child
}

// TestTwoHeels simulates what becomes of errors that take heels for independent:
// how often an odds ratio of 1 is rejected at 0.05, and how often limits of 0.95
// hold an odds ratio of 2. It compares with the committed table, which is why
// the program clusters by child wherever a plan names the child.
func TestTwoHeels(t *testing.T) {
	const draws = 2000
	sizes := []int{20, 40, 100, 300}
	methods := []struct {
		name string
		fit  func(x [][]float64, y []bool, counts []float64, child []int) (Estimate, error)
	}{
		{"logistic, heels independent", func(x [][]float64, y []bool, _ []float64, _ []int) (Estimate, error) {
			return firstEstimate(FitLogistic(x, []string{"exposed"}, y, GLMOptions{}))
		}},
		{"logistic, robust by child CR1", func(x [][]float64, y []bool, _ []float64, child []int) (Estimate, error) {
			return firstEstimate(FitLogistic(x, []string{"exposed"}, y, GLMOptions{Cluster: child}))
		}},
		{"logistic, CR2, t on Satterthwaite's degrees", func(x [][]float64, y []bool, _ []float64, child []int) (Estimate, error) {
			return firstEstimate(FitLogistic(x, []string{"exposed"}, y, GLMOptions{Cluster: child, Robust: CR2, Reference: ReferenceSatterthwaite}))
		}},
		{"marginal model, exchangeable", func(x [][]float64, _ []bool, counts []float64, child []int) (Estimate, error) {
			f, err := FitGEE(x, []string{"exposed"}, counts, nil, GEEOptions{Family: GEEBinomial, Cluster: child})
			return firstEstimate(f.Fit, err)
		}},
		{"marginal model, bias-reduced, t on clusters", func(x [][]float64, _ []bool, counts []float64, child []int) (Estimate, error) {
			f, err := FitGEE(x, []string{"exposed"}, counts, nil, GEEOptions{Family: GEEBinomial, Cluster: child, BiasReduced: true, StudentT: true})
			return firstEstimate(f.Fit, err)
		}},
	}
	rejected, held := make([][]float64, len(sizes)), make([][]float64, len(sizes))
	var all sync.WaitGroup
	for k, n := range sizes {
		all.Go(func() {
			for pass, log := range []float64{0, math.Log(2)} {
				r := rand.New(rand.NewPCG(52, uint64(10*k+pass)))
				hits, of := make([]int, len(methods)), make([]int, len(methods))
				for range draws {
					x, y, counts, child := heelScene{n, log}.draw(r)
					for i, m := range methods {
						e, err := m.fit(x, y, counts, child)
						if err != nil {
							continue // not estimable in this draw
						}
						of[i]++
						if pass == 0 && e.P < 0.05 || pass == 1 && e.Lower <= 2 && 2 <= e.Upper {
							hits[i]++
						}
					}
				}
				shares := make([]float64, len(methods))
				for i := range shares {
					shares[i] = float64(hits[i]) / float64(of[i])
				}
				if pass == 0 {
					rejected[k] = shares
				} else {
					held[k] = shares
				}
			}
		})
	}
	all.Wait()
	var table strings.Builder
	fmt.Fprintf(&table, "Two heels a child, whose outcomes correlate by %.1f; the child is exposed as a whole. %d seeded\n", heelAlike, draws)
	table.WriteString("draws a column. Left: how often an odds ratio of 1 is rejected at 0.05. Right: how often limits of\n0.95 hold an odds ratio of 2.\n\n")
	fmt.Fprintf(&table, "%-46s", "children")
	for range 2 {
		for _, n := range sizes {
			fmt.Fprintf(&table, " %6d", n)
		}
		table.WriteString("   ")
	}
	table.WriteString("\n")
	for i, m := range methods {
		fmt.Fprintf(&table, "%-46s", m.name)
		for _, shares := range [][][]float64{rejected, held} {
			for k := range sizes {
				fmt.Fprintf(&table, " %6.3f", shares[k][i])
			}
			table.WriteString("   ")
		}
		table.WriteString("\n")
	}
	text := strings.ReplaceAll(table.String(), "   \n", "\n")
	file := filepath.Join("testdata", "twoheels.txt")
	if *update {
		must(t, os.WriteFile(file, []byte(text), 0o644))
	}
	want, err := os.ReadFile(file)
	must(t, err)
	if diff := cmp.Diff(string(want), text); diff != "" {
		t.Errorf("the table differs from %s:\n%s", file, diff)
	}
}

func firstEstimate(f Fit, err error) (Estimate, error) {
	if err != nil {
		return Estimate{}, err
	}
	return f.Estimates[0], nil
}
