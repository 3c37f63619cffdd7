package stats

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// TestSorted compares with a stable sort by comparing, for keys of every shape:
// on both sides of 0, tied, in few bits, and different in their last bits only.
func TestSorted(t *testing.T) {
	shapes := map[string]func(r *rand.Rand) float64{
		"days":       func(r *rand.Rand) float64 { return float64(r.IntN(300)) },
		"one":        func(*rand.Rand) float64 { return 3 },
		"signs":      func(r *rand.Rand) float64 { return float64(r.IntN(7)-3) * 0.5 },
		"zeros":      func(r *rand.Rand) float64 { return math.Copysign(0, float64(r.IntN(2))-0.5) },
		"times":      func(r *rand.Rand) float64 { return 400 * r.ExpFloat64() },
		"normal":     func(r *rand.Rand) float64 { return r.NormFloat64() },
		"magnitudes": func(r *rand.Rand) float64 { return math.Exp(1400*r.Float64() - 700) },
		"last bits":  func(r *rand.Rand) float64 { return 1 + float64(r.IntN(50))*0x1p-52 + float64(r.IntN(2)) },
		"extremes": func(r *rand.Rand) float64 {
			return []float64{math.Inf(-1), -math.MaxFloat64, 0, 5e-324, math.Inf(1)}[r.IntN(5)]
		},
	}
	for name, draw := range shapes {
		for _, n := range []int{0, 1, 2, 30, fewPlaced, fewPlaced + 1, 5000, 3 * severalPlaced} {
			t.Run(fmt.Sprint(name, " ", n), func(t *testing.T) {
				r := rand.New(rand.NewPCG(1, uint64(n)))
				keys := make([]float64, n)
				want := make([]int, n)
				for i := range keys {
					keys[i], want[i] = draw(r), i
				}
				slices.SortStableFunc(want, func(a, b int) int { return cmp.Compare(keys[a], keys[b]) })
				if got := ordered(n, func(i int) float64 { return keys[i] }); !slices.Equal(got, want) {
					t.Errorf("order %v, want %v", got, want)
				}
				for _, p := range sorted(n, func(i int) float64 { return keys[i] }) {
					if p.value() != keys[p.row] {
						t.Errorf("row %d has %v, expected %v", p.row, p.value(), keys[p.row])
					}
				}
			})
		}
	}
}

// BenchmarkSorted sorts a million times with their rows; "slices" are the bare
// times.
func BenchmarkSorted(b *testing.B) {
	for _, days := range []bool{true, false} {
		c := benchmarkGroups(1_000_000, 1, days, false)
		b.Run(ties(days)+"/heelcohort", func(b *testing.B) {
			for b.Loop() {
				sorted(len(c.exit), func(i int) float64 { return c.exit[i] })
			}
		})
		b.Run(ties(days)+"/slices", func(b *testing.B) {
			for b.Loop() {
				slices.Sort(slices.Clone(c.exit))
			}
		})
	}
}
