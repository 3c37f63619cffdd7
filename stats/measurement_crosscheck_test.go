package stats

import (
	"math"
	"math/rand/v2"
	"testing"
)

// A measurementCase is what measurement.R reads.
type measurementCase struct {
	Level   float64     `json:"level"`
	Ratings [][]float64 `json:"ratings"`
	P       []float64   `json:"p"`
}

type measurementOutput struct {
	Version []string
	Cases   []struct {
		ICC struct {
			Squares, Oneway, Consistency, Agreement, SEM []number
		}
		Difference []number
		Adjusted   [][]number
	}
}

func randomMeasurement(r *rand.Rand) measurementCase {
	c := measurementCase{Level: []float64{0.8, 0.9, 0.95, 0.99}[r.IntN(4)]}
	raters := 2 + r.IntN(3)
	spread := math.Exp(2*r.NormFloat64() - 0.5)
	shift := make([]float64, raters)
	for j := range shift {
		shift[j] = r.NormFloat64() * float64(r.IntN(2))
	}
	for range 4 + r.IntN([]int{5, 40, 150}[r.IntN(3)]) {
		truth := 10 + spread*r.NormFloat64()
		var row []float64
		for j := range raters {
			row = append(row, math.Round(1000*(truth+shift[j]+r.NormFloat64()))/1000)
		}
		c.Ratings = append(c.Ratings, row)
	}
	for range 1 + r.IntN(20) {
		c.P = append(c.P, r.Float64()*r.Float64())
	}
	return c
}

func TestMeasurementAgainstStoredR(t *testing.T) {
	var cases []measurementCase
	var out measurementOutput
	storedCrosscheck(t, "measurement", &cases, &out)
	compareMeasurement(t, cases, out)
}

func TestMeasurementAgainstR(t *testing.T) {
	r := rand.New(rand.NewPCG(19, 79))
	var cases []measurementCase
	for range 500 {
		cases = append(cases, randomMeasurement(r))
	}
	var out measurementOutput
	crosscheck(t, "measurement.R", cases, &out)
	compareMeasurement(t, cases, out)
}

// Closed forms and quantiles of F agree to 1e-8; the quantiles of the noncentral
// t are there a root of a series, good to 1e-8 too, where the noncentrality is
// below 37.6: the cases have at most 154 rows, or 24.3.
func compareMeasurement(t *testing.T, cases []measurementCase, out measurementOutput) {
	t.Helper()
	if len(out.Cases) != len(cases) || len(cases) == 0 {
		t.Fatalf("%d answers for %d cases", len(out.Cases), len(cases))
	}
	for i, c := range cases {
		want := out.Cases[i]
		check := func(what string, got float64, want number) {
			t.Helper()
			if !near(got, float64(want), 1e-8) {
				t.Errorf("case %d: %s: got %.15g, want %.15g", i+1, what, got, float64(want))
			}
		}
		for m, w := range map[ICCModel][]number{OneWay: want.ICC.Oneway, TwoWayAgreement: want.ICC.Agreement, TwoWayConsistency: want.ICC.Consistency} {
			r, err := ICC(c.Ratings, m, LimitOptions{Level: c.Level})
			must(t, err)
			for j, x := range []float64{r.Between, r.Within, r.Columns, r.Residue} {
				check("mean square", x, want.ICC.Squares[j])
			}
			for j, x := range []float64{r.Single.Value, r.Single.Lower, r.Single.Upper, r.Average.Value, r.Average.Lower, r.Average.Upper} {
				if math.IsNaN(x) || math.IsInf(x, -1) || math.Abs(x) > 1e3 {
					continue // where 1 + (k−1)ρ is not above 0 the average has no value
				}
				check(m.String(), x, w[j])
			}
			if !nearRelative(r.Single.P, float64(w[6]), 1e-8) {
				t.Errorf("case %d: %v P: got %v, want %v", i+1, m, r.Single.P, w[6])
			}
			check("standard error of measurement", r.SEM, want.ICC.SEM[m-1])
		}
		var first, second []float64
		for _, row := range c.Ratings {
			first, second = append(first, row[0]), append(second, row[1])
		}
		d, err := BlandAltman(first, second, BlandAltmanOptions{Level: c.Level})
		must(t, err)
		for j, x := range []float64{
			d.Bias.Value, d.SD, d.Bias.Lower, d.Bias.Upper, d.Bias.P,
			d.Lower.Value, d.Upper.Value, d.Lower.Lower, d.Lower.Upper, d.Upper.Lower, d.Upper.Upper,
			d.Slope.Value, d.Slope.SE, d.Slope.P, d.Intercept, d.Slope.Lower, d.Slope.Upper,
		} {
			check([]string{
				"mean", "sd", "mean lower", "mean upper", "mean P", "lower", "upper", "lower lower", "lower upper", "upper lower", "upper upper",
				"slope", "slope se", "slope P", "intercept", "slope lower", "slope upper",
			}[j], x, want.Difference[j])
		}
		for m, adjusted := range want.Adjusted {
			got, err := AdjustP(c.P, Multiplicity(m))
			must(t, err)
			for j, p := range adjusted {
				check(Multiplicity(m).String(), got.P[j], p)
			}
		}
	}
	t.Logf("%s: %d cases", out.Version, len(cases))
}
