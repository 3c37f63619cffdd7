package stats

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// Kolmogorov: over the whole of [0, 1] the bridge stays within 1.3581 with
// probability 0.95 and within 1.6276 with 0.99 (tables of the limiting
// distribution, Smirnov N. Ann Math Stat 1948;19:279-281). Over [0.1, 0.6] the
// factors 1.3211 (Hall-Wellner) and 2.8826 (equal precision) are printed in
// Klein JP, Moeschberger ML. Survival Analysis, 2nd ed. Springer, 2003, sec.
// 4.4 and tables C.3 and C.4, from memory; the first is tabled by simulation
// and rounding there, the second by another approximation.
func TestBandFactors(t *testing.T) {
	for _, c := range []struct {
		name                 string
		got, want, tolerance float64
	}{
		{"Kolmogorov 0.95", hallWellner(1e-7, 1-1e-7, 0.95), 1.3581, 0.0005},
		{"Kolmogorov 0.99", hallWellner(1e-7, 1-1e-7, 0.99), 1.6276, 0.0005},
		{"Hall-Wellner", hallWellner(0.1, 0.6, 0.95), 1.3211, 0.005},
		{"equal precision", equalPrecision(0.1, 0.6, 0.95), 2.8826, 0.005},
		{"one point", hallWellner(0.5, 0.5, 0.95), criticalZ(0.95) / 2, 1e-9},
	} {
		if math.Abs(c.got-c.want) > c.tolerance {
			t.Errorf("%s: %.5f, want %v ± %v", c.name, c.got, c.want, c.tolerance)
		}
	}
}

// A walk of 4,000 steps of the bridge, a plain second implementation: between
// the steps it can go further, by some 0.58 of their standard deviation.
func TestBridgeWithinIsSimulated(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 14))
	const steps, draws = 4000, 4000
	from, to, k := 0.2, 0.7, 1.1
	held := 0
	for range draws {
		w := make([]float64, steps+1)
		for i := range steps {
			w[i+1] = w[i] + r.NormFloat64()/math.Sqrt(steps)
		}
		inside := true
		for i := int(from * steps); i <= int(to*steps); i++ {
			inside = inside && math.Abs(w[i]-float64(i)/steps*w[steps]) <= k-0.583/math.Sqrt(steps)
		}
		if inside {
			held++
		}
	}
	p := bridgeWithin(k, from, to)
	if got := float64(held) / draws; math.Abs(got-p) > 3*math.Sqrt(p*(1-p)/draws) {
		t.Errorf("simulated %v, integrated %v", got, p)
	}
}

// Bands hold the whole curve about as often as they say, and are wider than the
// pointwise limits: 300 draws of 80 rows, within three standard errors.
func TestBandsCover(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 15))
	const draws = 300
	held := map[BandKind]int{}
	for range draws {
		var rows Times
		for range 80 {
			event, end := r.ExpFloat64(), 3*r.Float64()
			rows.Exit, rows.Status = append(rows.Exit, math.Min(event, end)), append(rows.Status, event <= end)
		}
		c := mustCurve(t, rows, CurveOptions{Limits: LimitsArcsine})
		for _, kind := range []BandKind{HallWellner, EqualPrecision} {
			b, err := c.Band(BandOptions{Kind: kind, From: 0.1, To: 1.5})
			must(t, err)
			inside := true
			for i, at := range b.Time {
				// The truth falls over the step before its end.
				end := b.To
				if i+1 < len(b.Time) {
					end = b.Time[i+1]
				}
				inside = inside && math.Exp(-at) <= b.Upper[i] && math.Exp(-end) >= b.Lower[i]
			}
			if inside {
				held[kind]++
			}
			i := slices.Index(c.Time, b.Time[0])
			if kind == EqualPrecision && !(b.Lower[0] < c.Lower[i] && b.Upper[0] > c.Upper[i]) {
				t.Fatalf("band %v to %v, pointwise %v to %v", b.Lower[0], b.Upper[0], c.Lower[i], c.Upper[i])
			}
		}
	}
	for kind, n := range held {
		if share := float64(n) / draws; share < 0.95-3*math.Sqrt(0.05*0.95/draws) {
			t.Errorf("%s: holds %v", kind, share)
		}
	}
}

func TestBandRefuses(t *testing.T) {
	none := mustCurve(t, Times{Exit: []float64{1, 2}, Status: []bool{false, false}}, CurveOptions{})
	if _, err := none.Band(BandOptions{}); !errors.Is(err, ErrNoEvents) {
		t.Errorf("no events: %v", err)
	}
	robust := mustCurve(t, lateRows, CurveOptions{Cluster: []int{1, 1, 2, 2, 3, 3, 4}})
	if _, err := robust.Band(BandOptions{}); !errors.Is(err, ErrNoVariance) {
		t.Errorf("robust errors: %v", err)
	}
}
