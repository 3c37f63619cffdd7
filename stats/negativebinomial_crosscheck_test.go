package stats

import (
	"math"
	"math/rand/v2"
	"testing"
)

// An overdispersedCase is what negativebinomial.py reads.
type overdispersedCase struct {
	X      [][]float64 `json:"x"`
	Events []float64   `json:"events"`
	Time   []float64   `json:"time"`
}

type overdispersedOutput struct {
	Version []string
	Cases   []struct {
		Coefficients, SE []number
		Alpha            number
		LogLik           number
		Null             number
		Plain            number
		Slope            number
	}
}

// randomOverdispersed draws counts from gamma-mixed Poisson rates.
func randomOverdispersed(r *rand.Rand) overdispersedCase {
	var c overdispersedCase
	alpha := 0.4 + 1.5*r.Float64()
	for range 60 + r.IntN(120) {
		a, b := float64(r.IntN(2)), r.NormFloat64()
		time := 0.5 + 3*r.Float64()
		mean := time * math.Exp(0.7+0.5*a-0.2*b)
		// A gamma variable of mean 1 and variance α by summing exponentials
		// of a whole shape nearest to 1/α.
		shape := max(1, int(math.Round(1/alpha)))
		mix := 0.0
		for range shape {
			mix += r.ExpFloat64() / float64(shape)
		}
		c.X, c.Time = append(c.X, []float64{a, b}), append(c.Time, time)
		c.Events = append(c.Events, float64(randomPoisson(r, mean*mix)))
	}
	return c
}

func TestNegativeBinomialAgainstStoredPython(t *testing.T) {
	var cases []overdispersedCase
	var out overdispersedOutput
	storedCrosscheck(t, "negativebinomial", &cases, &out)
	compareOverdispersed(t, cases, out)
}

func TestNegativeBinomialAgainstPython(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(2, 71))
	var cases []overdispersedCase
	for range 500 {
		cases = append(cases, randomOverdispersed(r))
	}
	var out overdispersedOutput
	crosscheck(t, "negativebinomial.py", cases, &out)
	compareOverdispersed(t, cases, out)
}

// Both sides iterate: 1e-6, which the other program reaches where its slope at
// the estimates is small. Log likelihoods agree further.
func compareOverdispersed(t *testing.T, cases []overdispersedCase, out overdispersedOutput) {
	t.Helper()
	if len(out.Cases) != len(cases) || len(cases) == 0 {
		t.Fatalf("%d answers for %d cases", len(out.Cases), len(cases))
	}
	compared := 0
	for i, c := range cases {
		want := out.Cases[i]
		f, err := FitNegativeBinomial(c.X, []string{"a", "b"}, c.Events, c.Time, GLMOptions{})
		must(t, err)
		if want.Alpha == 0 || want.Slope > 1e-5 {
			continue
		}
		compared++
		if f.LogLik < float64(want.LogLik)-1e-8 || f.NullLogLik < float64(want.Null)-1e-8 {
			t.Errorf("case %d: log likelihoods %.12g and %.12g, below %.12g and %.12g", i+1, f.LogLik, f.NullLogLik, float64(want.LogLik), float64(want.Null))
		}
		if !nearRelative(f.Overdispersion, float64(want.Alpha), 1e-6) || !nearRelative(f.LogLik, float64(want.LogLik), 1e-10) {
			t.Errorf("case %d: α %.12g, log likelihood %.12g; want %.12g, %.12g", i+1, f.Overdispersion, f.LogLik, float64(want.Alpha), float64(want.LogLik))
		}
		for j := range f.Coefficients {
			if !near(f.Coefficients[j], float64(want.Coefficients[j]), 1e-6) || !nearRelative(f.SE[j], float64(want.SE[j]), 1e-6) {
				t.Errorf("case %d, coefficient %d: %.12g ± %.12g, want %.12g ± %.12g", i+1, j+1, f.Coefficients[j], f.SE[j], float64(want.Coefficients[j]), float64(want.SE[j]))
			}
		}
		test := f.Tests[len(f.Tests)-1]
		if wanted := 2 * float64(want.LogLik-want.Plain); !near(test.Statistic, wanted, 1e-6) {
			t.Errorf("case %d: test of overdispersion %v, want %v", i+1, test.Statistic, wanted)
		}
	}
	if compared < len(cases)*9/10 {
		t.Errorf("%d of %d cases compared", compared, len(cases))
	}
}
