package stats

import (
	"errors"
	"math/rand/v2"
	"slices"
	"testing"
)

// Each point of a curve is the marginal rate with the columns set in every row.
func TestMarginalCurveIsMarginalRates(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 71))
	spline, err := NewNaturalSpline([]float64{6, 9, 12, 15})
	must(t, err)
	for range 50 {
		n := 60 + r.IntN(60)
		var x [][]float64
		var events, time []float64
		var cluster []int
		for i := range n {
			age := 6 + 9*r.Float64()
			x = append(x, append([]float64{float64(i % 2)}, append(spline.At(age), r.NormFloat64())...))
			time = append(time, 1+r.Float64())
			events, cluster = append(events, float64(randomPoisson(r, time[i]*(0.5+age/20)))), append(cluster, i/3)
		}
		f, err := FitPoisson(x, []string{"girls", "age", "curve 1", "curve 2", "mass"}, events, time, GLMOptions{Cluster: cluster, Robust: CR2, Reference: ReferenceSatterthwaite})
		must(t, err)
		values := [][]float64{spline.At(6), spline.At(10.5), spline.At(15)}
		curve, err := MarginalCurve(f, x, time, []int{1, 2, 3}, values, MarginalOptions{Per: 1000})
		must(t, err)
		for k, v := range values {
			set := make([][]float64, n)
			for i := range set {
				set[i] = slices.Clone(x[i])
				copy(set[i][1:], v)
			}
			want, err := MarginalRate(f, set, time, MarginalOptions{Per: 1000})
			must(t, err)
			if got := curve[k]; !near(got.Value, want.Value, 1e-11) || !near(got.Lower, want.Lower, 1e-10) || !near(got.Upper, want.Upper, 1e-10) || got.Method != want.Method {
				t.Fatalf("point %d: %+v, want %+v", k, got, want)
			}
		}
	}
	if _, err := MarginalCurve(Fit{Terms: []string{Intercept, "age"}, Coefficients: []float64{0, 1}}, [][]float64{{1}}, []float64{0}, []int{0}, [][]float64{{1}}, MarginalOptions{}); !errors.Is(err, ErrNoPersonTime) {
		t.Errorf("no person-time: %v", err)
	}
}
