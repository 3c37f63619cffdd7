package stats

import (
	"math"
	"testing"
)

func equicorrelated(m int, r float64) [][]float64 {
	out := newMatrix(m, m)
	for i := range out {
		for j := range out {
			out[i][j] = r
		}
		out[i][i] = 1
	}
	return out
}

// Equal correlations r come of a common part √r W, so that one integral over W
// of the rest's probabilities is a second implementation.
func TestMaxNormalTailOfEqualCorrelations(t *testing.T) {
	for _, r := range []float64{0, 0.5, 0.95} {
		for _, c := range []float64{0.3, 1.96, 4.5} {
			inside := map[int]float64{}
			const step = 0.002
			for w := -9.0; w <= 9; w += step {
				s := math.Sqrt(1 - r)
				low, high := (-c-math.Sqrt(r)*w)/s, (c-math.Sqrt(r)*w)/s
				density, own := step*math.Exp(-w*w/2)/math.Sqrt(2*math.Pi), normalTail(low)-normalTail(high)
				for _, m := range []int{1, 2, 3, 4, 6} {
					inside[m] += density * math.Pow(own, float64(m))
				}
			}
			for m, in := range inside {
				p, within := maxNormalTail(c, equicorrelated(m, r), 1)
				if m <= 2 && within != 0 {
					t.Errorf("m %d: within %v", m, within)
				}
				if math.Abs(p-(1-in)) > 2*within+1e-9 {
					t.Errorf("m %d, r %v, c %v: %v ± %v, want %v", m, r, c, p, within, 1-in)
				}
				if within > 1e-3*p {
					t.Errorf("m %d, r %v, c %v: %v is not known better than ± %v", m, r, c, p, within)
				}
			}
		}
	}
}

// Printed: two-sided 5 % points for comparing p treatments with a control
// (correlation 1/2), known variance. Dunnett CW. New tables for multiple
// comparisons with a control. Biometrics 1964;20:482-491, table of two-sided
// points, last row; from memory. The points are rounded to two digits.
func TestMaxNormalTailPublished(t *testing.T) {
	for m, point := range map[int]float64{1: 1.96, 2: 2.21, 3: 2.35, 4: 2.44, 5: 2.51, 6: 2.57} {
		above, _ := maxNormalTail(point-0.005, equicorrelated(m, 0.5), 3)
		below, _ := maxNormalTail(point+0.005, equicorrelated(m, 0.5), 3)
		if !(above > 0.05 && below < 0.05) {
			t.Errorf("m %d: 0.05 is not between %v and %v", m, below, above)
		}
	}
}

func TestMaxNormalTailBounds(t *testing.T) {
	for _, c := range []float64{0.01, 1, 2, 6, 20} {
		own := 2 * normalTail(c)
		for _, r := range []float64{1, -1} {
			if p, _ := maxNormalTail(c, [][]float64{{1, r}, {r, 1}}, 0); !nearRelative(p, own, 1e-12) {
				t.Errorf("correlation %v at %v: %v, want %v", r, c, p, own)
			}
		}
		// A third that the first two determine, or that is one of them.
		if p, within := maxNormalTail(c, [][]float64{{1, 0.3, 1}, {0.3, 1, 0.3}, {1, 0.3, 1}}, 0); true {
			if want, _ := maxNormalTail(c, [][]float64{{1, 0.3}, {0.3, 1}}, 0); !nearRelative(p, want, 1e-9) || within != 0 {
				t.Errorf("one of them twice, at %v: %v ± %v, want %v", c, p, within, want)
			}
		}
		want := 1 - (1-own)*(1-own)
		if p, _ := maxNormalTail(c, equicorrelated(2, 0), 0); !nearRelative(p, want, 1e-9) && c < 5 {
			t.Errorf("independent at %v: %v, want %v", c, p, want)
		}
		p, within := maxNormalTail(c, equicorrelated(4, 0.6), 7)
		q, _ := maxNormalTail(c, equicorrelated(4, 0.6), 7)
		other, _ := maxNormalTail(c, equicorrelated(4, 0.6), 8)
		if p != q || p < own*(1-1e-12) || p > 4*own*(1+1e-12) || math.Abs(p-other) > 3*within {
			t.Errorf("at %v: %v, again %v, another seed %v, within %v", c, p, q, other, within)
		}
	}
	if p, _ := maxNormalTail(0, equicorrelated(3, 0.5), 0); p != 1 {
		t.Errorf("at 0: %v", p)
	}
	// √0.5 (Z_1 + Z_2) of independent ones: singular, by a fine sum over Z_1.
	s := math.Sqrt(0.5)
	singular := [][]float64{{1, 0, s}, {0, 1, s}, {s, s, 1}}
	inside := 0.0
	const c, step = 1.7, 0.0001
	for z := -c + step/2; z < c; z += step {
		low, high := math.Max(-c, -c/s-z), math.Min(c, c/s-z)
		inside += step * math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) * (normalTail(low) - normalTail(high))
	}
	if p, within := maxNormalTail(c, singular, 2); math.Abs(p-(1-inside)) > 2*within+1e-7 {
		t.Errorf("singular: %v ± %v, want %v", p, within, 1-inside)
	}
}
