package stats

import (
	"errors"
	"math/rand/v2"
	"testing"
)

type firthCoxOutput struct {
	Version []string
	Cases   []struct {
		Failed                            []bool
		Coefficients, LogLik, Null, Slope []number
	}
}

func sparseCoxCases(seed uint64, n int) []coxCase {
	r := rand.New(rand.NewPCG(seed, 74))
	var cases []coxCase
	for range n {
		cases = append(cases, sparseCoxCase(r))
	}
	return cases
}

func TestFirthCoxAgainstStoredR(t *testing.T) {
	var cases []coxCase
	var out firthCoxOutput
	storedCrosscheck(t, "firthcox", &cases, &out)
	compareFirthCox(t, cases, out, 15)
}

// TestFirthCoxAgainstR compares with the penalised likelihood made of R's
// likelihood and information on 600 random small data sets.
func TestFirthCoxAgainstR(t *testing.T) {
	t.Parallel()
	cases := sparseCoxCases(1, 600)
	var out firthCoxOutput
	crosscheck(t, "firthcox.R", cases, &out)
	compareFirthCox(t, cases, out, 500)
}

// Both sides iterate: 1e-6.
func compareFirthCox(t *testing.T, cases []coxCase, out firthCoxOutput, least int) {
	t.Helper()
	if len(out.Cases) != len(cases) || len(cases) == 0 {
		t.Fatalf("%d answers for %d cases", len(out.Cases), len(cases))
	}
	fits, monotone, unsure := 0, 0, 0
	for i, c := range cases {
		want := out.Cases[i]
		f, err := FitFirthCox(c.times(), c.X, c.terms(), FirthCoxOptions{Strata: c.Stratum, Offset: c.Offset})
		if errors.Is(err, ErrNoEvents) || errors.Is(err, ErrCollinear) {
			continue
		}
		must(t, err)
		if want.Failed[0] || !(want.Slope[0] < 1e-7) {
			unsure++ // R's search did not end in a maximum
			continue
		}
		fits++
		if _, err := FitCox(c.times(), c.X, c.terms(), c.options()); errors.Is(err, ErrSeparation) {
			monotone++
		}
		if !near(f.LogLik, float64(want.LogLik[0]), 1e-8) || !near(f.NullLogLik, float64(want.Null[0]), 1e-8) {
			t.Errorf("case %d: penalised log likelihoods %v and %v, want %v and %v", i+1, f.LogLik, f.NullLogLik, want.LogLik, want.Null)
		}
		for j, b := range f.Coefficients {
			if !near(b, float64(want.Coefficients[j]), 1e-6) {
				t.Errorf("case %d: coefficients %v, want %v", i+1, f.Coefficients, want.Coefficients)
			}
		}
	}
	t.Logf("%s: %d fits, %d of them monotone for FitCox, %d searches of R without end", out.Version, fits, monotone, unsure)
	if fits < least || monotone < least/5 || unsure > fits/50 {
		t.Error("too few compared")
	}
}
