package stats

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"heelcohort/stats/internal/published"
)

func ExampleAdjustP() {
	a, err := AdjustP([]float64{0.01, 0.04, math.NaN(), 0.03}, Holm)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f, a family of %d\n", a.P, a.Family)
	// Output: [0.03 0.06 NaN 0.06], a family of 3
}

func TestAdjustPBenjaminiHochberg(t *testing.T) {
	want := published.Load(t, "benjamini-hochberg-1995")
	for name, method := range map[string]Multiplicity{"bonferroni": Bonferroni, "hochberg": Hochberg, "bh": BenjaminiHochberg} {
		a, err := AdjustP(want.Floats("p"), method)
		must(t, err)
		rejects := 0
		for _, p := range a.P {
			if p <= 0.05 {
				rejects++
			}
		}
		want.Check(name+"_rejects", float64(rejects))
	}
}

// By hand: 0.01, 0.02, 0.03, 0.5 of four.
func TestAdjustPByHand(t *testing.T) {
	p := []float64{0.03, 0.5, 0.01, 0.02}
	for method, want := range map[Multiplicity][]float64{
		Bonferroni:         {0.12, 1, 0.04, 0.08},
		Holm:               {0.06, 0.5, 0.04, 0.06},
		Hochberg:           {0.06, 0.5, 0.04, 0.06},
		BenjaminiHochberg:  {0.04, 0.5, 0.04, 0.04},
		BenjaminiYekutieli: {0.04 * 25 / 12, 1, 0.04 * 25 / 12, 0.04 * 25 / 12},
	} {
		a, err := AdjustP(p, method)
		must(t, err)
		for i, x := range a.P {
			if !near(x, want[i], 1e-15) {
				t.Errorf("%v: got %v, want %v", method, a.P, want)
				break
			}
		}
	}
}

// Every adjusted value is at least its p-value and keeps the order; Bonferroni
// is at least Holm, Holm at least Hochberg, that at least Benjamini-Hochberg.
func TestAdjustPProperties(t *testing.T) {
	r := rand.New(rand.NewPCG(19, 95))
	for range 500 {
		var p []float64
		for range 1 + r.IntN(30) {
			p = append(p, float64(r.IntN(1000))/999)
		}
		before := p
		for _, method := range []Multiplicity{BenjaminiHochberg, Hochberg, Holm, Bonferroni} {
			a, err := AdjustP(p, method)
			must(t, err)
			for i := range p {
				if a.P[i] < before[i]-1e-15 || a.P[i] > 1 {
					t.Errorf("%v: %v of %v, before it %v", method, a.P[i], p[i], before[i])
				}
				for j := range p {
					if p[i] < p[j] && a.P[i] > a.P[j] || p[i] == p[j] && a.P[i] != a.P[j] {
						t.Errorf("%v: order of %v and %v is lost", method, p[i], p[j])
					}
				}
			}
			before = a.P
		}
	}
}

func TestAdjustPRefuses(t *testing.T) {
	for _, p := range [][]float64{nil, {math.NaN()}} {
		if _, err := AdjustP(p, Holm); !errors.Is(err, ErrNoData) {
			t.Errorf("%v: %v", p, err)
		}
	}
	given := []float64{0.2, 0.1}
	_, err := AdjustP(given, Holm)
	must(t, err)
	if !slices.Equal(given, []float64{0.2, 0.1}) {
		t.Error("the values given were changed")
	}
	panics(t, "p-value 1.5", func() { _, _ = AdjustP([]float64{1.5}, Holm) })
	panics(t, "unknown Multiplicity", func() { _, _ = AdjustP([]float64{0.5}, 17) })
}
