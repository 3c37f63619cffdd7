package stats

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

// A riskCase is what risks.R reads.
type riskCase struct {
	X       [][]float64 `json:"x"`
	Yes     []bool      `json:"yes"`
	Cluster []int       `json:"cluster"`
}

// randomRisks is a cohort whose log risks are linear, cut at 0.97, so that some
// samples have their maximum where a risk is 1.
func randomRisks(r *rand.Rand) riskCase {
	var c riskCase
	base, slope := -1.9+0.9*r.Float64(), 0.25*r.NormFloat64()
	for i := range 60 + r.IntN(140) {
		row := []float64{float64(r.IntN(2)), math.Round(100*r.NormFloat64()) / 100}
		risk := math.Min(0.97, math.Exp(base+0.3*row[0]+slope*row[1]))
		c.X, c.Yes, c.Cluster = append(c.X, row), append(c.Yes, r.Float64() < risk), append(c.Cluster, i/3)
	}
	return c
}

type riskOutput struct {
	Version []string
	Cases   []struct {
		LogBinomial *glmAnswer
		Largest     *struct{ LogLik, Risk []number }
		Poisson     glmAnswer
	}
}

func TestRisksAgainstStoredR(t *testing.T) {
	var cases []riskCase
	var out riskOutput
	storedCrosscheck(t, "risks", &cases, &out)
	compareRisks(t, cases, out)
}

// TestRisksAgainstR compares models of risk ratios with R on 500 random data
// sets.
func TestRisksAgainstR(t *testing.T) {
	r := rand.New(rand.NewPCG(20, 0o4))
	var cases []riskCase
	for range 500 {
		cases = append(cases, randomRisks(r))
	}
	var out riskOutput
	crosscheck(t, "risks.R", cases, &out)
	compareRisks(t, cases, out)
}

func compareRisks(t *testing.T, cases []riskCase, out riskOutput) {
	t.Helper()
	if len(out.Cases) != len(cases) || len(cases) == 0 {
		t.Fatalf("%d answers for %d cases", len(out.Cases), len(cases))
	}
	terms := []string{"group", "z"}
	compared, lost, bounded, unsearched := 0, 0, 0, 0
	for i, c := range cases {
		want := out.Cases[i]
		what := fmt.Sprintf("case %d", i+1)
		p, err := FitModifiedPoisson(c.X, terms, c.Yes, GLMOptions{})
		must(t, err)
		clustered, err := FitModifiedPoisson(c.X, terms, c.Yes, GLMOptions{Cluster: c.Cluster})
		must(t, err)
		for j, b := range want.Poisson.Coefficients {
			if !near(p.Coefficients[j], float64(b), 1e-6) {
				t.Errorf("%s: modified Poisson coefficient %d: %v, want %v", what, j, p.Coefficients[j], b)
			}
		}
		compareMatrix(t, what+", modified Poisson", p.Covariance, want.Poisson.Covariance)
		compareMatrix(t, what+", modified Poisson by cluster", clustered.Covariance, want.Poisson.Robust)

		f, err := FitLogBinomial(c.X, terms, c.Yes, GLMOptions{})
		if want.Largest == nil {
			unsearched++
		}
		if errors.Is(err, ErrBoundary) {
			// The barrier there stops within about 1e-5 of the bound, or is shy of it.
			if bounded++; want.Largest != nil && float64(want.Largest.Risk[0]) < 0.999 {
				t.Errorf("%s: %v, but the largest likelihood is at risks of at most %v", what, err, want.Largest.Risk[0])
			}
			continue
		}
		if err != nil {
			t.Errorf("%s: %v", what, err)
			continue
		}
		// A maximum over a region has nothing above it, whoever looks for it.
		if want.Largest != nil {
			if top := float64(want.Largest.LogLik[0]); f.LogLik < top-1e-9*math.Abs(top) || f.LogLik > top+1e-4 {
				t.Errorf("%s: log likelihood %v, by constrained search %v", what, f.LogLik, top)
			}
		}
		if a := want.LogBinomial; a != nil && a.Converged[0] {
			compared++
			compareFit(t, what, f, *a)
			r, err := FitLogBinomial(c.X, terms, c.Yes, GLMOptions{Cluster: c.Cluster, Robust: CR0})
			must(t, err)
			compareMatrix(t, what+", robust", r.Covariance, a.Robust)
		} else {
			lost++
		}
	}
	t.Logf("%s: %d log-binomial fits compared, %d that glm does not find, %d at the bound; %d without a constrained search", out.Version, compared, lost, bounded, unsearched)
	if compared < len(cases)/2 {
		t.Errorf("only %d of %d compared", compared, len(cases))
	}
}

// The largest likelihood over the risks below 1 is where no small move raises
// it: a second look at what the search calls a maximum.
func TestLogBinomialIsTheMaximum(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 86))
	found := 0
	for range 200 {
		c := randomRisks(r)
		f, err := FitLogBinomial(c.X, []string{"group", "z"}, c.Yes, GLMOptions{})
		if err != nil {
			continue
		}
		found++
		logLik := func(b []float64) float64 {
			sum := 0.0
			for i, row := range c.X {
				mu := math.Exp(b[0] + b[1]*row[0] + b[2]*row[1])
				if c.Yes[i] {
					sum += math.Log(mu)
				} else {
					sum += math.Log(1 - mu)
				}
			}
			return sum
		}
		best := logLik(f.Coefficients)
		if !near(best, f.LogLik, 1e-11) {
			t.Fatalf("log likelihood %v, want %v", f.LogLik, best)
		}
		for range 50 {
			b := make([]float64, 3)
			for j := range b {
				b[j] = f.Coefficients[j] + math.Pow(10, -4*r.Float64())*r.NormFloat64()*f.SE[j]
			}
			if l := logLik(b); l > best+1e-10 {
				t.Fatalf("%v is more likely by %v than %v", b, l-best, f.Coefficients)
			}
		}
	}
	if found < 100 {
		t.Errorf("only %d fits", found)
	}
}
