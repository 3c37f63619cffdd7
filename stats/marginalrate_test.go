package stats

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

func ExampleMarginalRate() {
	// Football (1) and swimming (0) by age group; more of the older play football.
	x := [][]float64{{1, 0}, {1, 1}, {0, 0}, {0, 1}}
	events, hours := []float64{10, 60, 8, 6}, []float64{5000, 15000, 8000, 3000}
	f, err := FitPoisson(x, []string{"football", "older"}, events, hours, GLMOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for level, name := range []string{"swimming", "football"} {
		everybody := [][]float64{{float64(level), 0}, {float64(level), 1}, {float64(level), 0}, {float64(level), 1}}
		e, err := MarginalRate(f, everybody, hours, MarginalOptions{Per: 1000})
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("%s %.2f (%.2f to %.2f)\n", name, e.Value, e.Lower, e.Upper)
	}
	// Output:
	// swimming 1.58 (0.91 to 2.74)
	// football 3.16 (2.48 to 4.04)
}

// By hand: without covariates it is the crude rate with the error 1/sqrt(48) of
// its log; the ratio of two groups alone is their rate ratio.
func TestMarginalRateByHand(t *testing.T) {
	x := [][]float64{{1}, {0}}
	time := []float64{8, 4}
	crude, err := FitPoisson([][]float64{{}, {}}, nil, []float64{36, 12}, time, GLMOptions{})
	must(t, err)
	e, err := MarginalRate(crude, [][]float64{{}, {}}, time, MarginalOptions{Per: 10})
	must(t, err)
	if !near(e.Value, 40, 1e-12) || !near(e.SE, 1/math.Sqrt(48), 1e-12) || !near(e.Upper, 40*math.Exp(1.959963984540054/math.Sqrt(48)), 1e-12) {
		t.Errorf("crude: %+v", e)
	}
	f, err := FitPoisson(x, []string{"a"}, []float64{36, 12}, time, GLMOptions{})
	must(t, err)
	ratio, err := MarginalRatio(f, setColumn(x, 0, 1), setColumn(x, 0, 0), time, MarginalOptions{})
	must(t, err)
	if want := f.Estimates[0]; !near(ratio.Value, 1.5, 1e-12) || !near(ratio.SE, want.SE, 1e-12) || !near(ratio.P, want.P, 1e-12) {
		t.Errorf("ratio %+v, want %+v", ratio, want)
	}
	// 4.5 − 3 with variance 36/64 + 12/16.
	d, err := MarginalDifference(f, setColumn(x, 0, 1), setColumn(x, 0, 0), time, MarginalOptions{Per: 2})
	must(t, err)
	if !near(d.Value, 3, 1e-12) || !near(d.SE, 2*math.Sqrt(36.0/64+12.0/16), 1e-12) {
		t.Errorf("difference %+v", d)
	}
}

// In the saturated model of a group by strata the marginal rates are the
// directly standardised ones with the strata's person-time as standard, and
// their errors the delta method's: sqrt(Σ w² events)/rate.
func TestMarginalRateIsStandardised(t *testing.T) {
	r := rand.New(rand.NewPCG(54, 1))
	for range 200 {
		strata := 2 + r.IntN(4)
		var x [][]float64
		var events, time []float64
		standard := make([]float64, strata)
		counts, times := [2][]int{}, [2][]float64{}
		row := func(group, stratum int) []float64 {
			v := make([]float64, 2*strata-1)
			v[0] = float64(group)
			if stratum > 0 {
				v[stratum] = 1
				v[strata-1+stratum] = float64(group)
			}
			return v
		}
		set := [2][][]float64{}
		var terms []string
		for j := range 2*strata - 1 {
			terms = append(terms, fmt.Sprintf("x%d", j))
		}
		for group := range 2 {
			for s := range strata {
				n, y := 1+9*r.Float64(), 1+r.IntN(30)
				x, events, time = append(x, row(group, s)), append(events, float64(y)), append(time, n)
				standard[s] += n
				counts[group], times[group] = append(counts[group], y), append(times[group], n)
				set[0], set[1] = append(set[0], row(0, s)), append(set[1], row(1, s))
			}
		}
		f, err := FitPoisson(x, terms, events, time, GLMOptions{})
		must(t, err)
		for group := range 2 {
			want, err := DirectStandardisation(counts[group], times[group], standard, StandardOptions{})
			must(t, err)
			got, err := MarginalRate(f, set[group], time, MarginalOptions{})
			must(t, err)
			if !near(got.Value, want.Value, 1e-9) || !near(got.SE, want.SE/want.Value, 1e-8) {
				t.Errorf("group %d: %v (%v), standardised %v (%v)", group, got.Value, got.SE, want.Value, want.SE/want.Value)
			}
		}
	}
}

func TestMarginalRateRefuses(t *testing.T) {
	f := Fit{Model: "Poisson regression", Terms: []string{Intercept, "a"}, Coefficients: []float64{0, 1}, Covariance: newMatrix(2, 2)}
	if _, err := MarginalRate(f, [][]float64{{math.NaN()}}, []float64{1}, MarginalOptions{}); !errors.Is(err, ErrNotFinite) {
		t.Errorf("not a number: %v", err)
	}
	if _, err := MarginalRate(f, [][]float64{{1}}, []float64{0}, MarginalOptions{}); !errors.Is(err, ErrNoPersonTime) {
		t.Errorf("no weight: %v", err)
	}
	rate := func(f Fit, x [][]float64, w []float64) func() {
		return func() { _, _ = MarginalRate(f, x, w, MarginalOptions{}) }
	}
	panics(t, "1 rows of covariates with 2 weights", rate(f, [][]float64{{1}}, []float64{1, 1}))
	panics(t, "2 covariates, expected 1", rate(f, [][]float64{{1, 2}}, []float64{1}))
	panics(t, "weight -1", rate(f, [][]float64{{1}}, []float64{-1}))
	panics(t, "not a model of rates", rate(Fit{Model: "Cox regression", Terms: []string{"a"}, Coefficients: []float64{1}}, [][]float64{{1}}, []float64{1}))
}
