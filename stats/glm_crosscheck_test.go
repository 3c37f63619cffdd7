package stats

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

// A glmCase is what glm.R, tables.py and separation.py read.
type glmCase struct {
	Level   float64     `json:"level"`
	Four    []int       `json:"four"`
	X       [][]float64 `json:"x"`
	Yes     []bool      `json:"yes"`
	Events  []float64   `json:"events"`
	Time    []float64   `json:"time"`
	Cluster []int       `json:"cluster"`
}

func (c glmCase) terms() []string {
	var names []string
	for j := range c.X[0] {
		names = append(names, fmt.Sprintf("x%d", j+1))
	}
	return names
}

type glmAnswer struct {
	Coefficients                  []number
	SE                            []number
	Covariance, Robust, Corrected [][]number
	LogLik, Null, Deviance        []number
	Dispersion, Furthest          []number
	Converged                     []bool
}

// randomGLM is a cohort of n rows in clusters, with a two-valued covariate, a
// continuous one and perhaps a third on a scale far from theirs.
func randomGLM(r *rand.Rand, n int) glmCase {
	c := glmCase{Level: []float64{0.9, 0.95, 0.99}[r.IntN(3)], Four: []int{r.IntN(40), 1 + r.IntN(40), r.IntN(40), 1 + r.IntN(40)}}
	wide := r.IntN(2) == 0
	base, slope := r.NormFloat64()*0.7, r.NormFloat64()*0.5
	shared := map[int]float64{}
	for range n {
		g := r.IntN(2 + n/4)
		if _, ok := shared[g]; !ok {
			shared[g] = r.NormFloat64() * 0.6
		}
		row := []float64{float64(r.IntN(2)), math.Round(100*r.NormFloat64()) / 100}
		eta := base + slope*row[1] + 0.4*row[0] + shared[g]
		if wide {
			row = append(row, 2021+float64(r.IntN(4)))
		}
		time := math.Round(1+9*r.Float64()) / 4
		c.X = append(c.X, row)
		c.Yes = append(c.Yes, r.Float64() < 1/(1+math.Exp(-eta)))
		c.Events = append(c.Events, float64(randomPoisson(r, time*math.Exp(eta-0.5))))
		c.Time = append(c.Time, time)
		c.Cluster = append(c.Cluster, g)
	}
	return c
}

func randomPoisson(r *rand.Rand, mean float64) int {
	k, p, u := 0, math.Exp(-mean), r.Float64()
	for u > p && k < 1000 {
		u -= p
		k++
		p *= mean / float64(k)
	}
	return k
}

type glmOutput struct {
	Version []string
	Cases   []struct{ Logistic, Poisson glmAnswer }
}

func TestGLMAgainstStoredR(t *testing.T) {
	var cases []glmCase
	var out glmOutput
	storedCrosscheck(t, "glm", &cases, &out)
	compareGLM(t, cases, out)
}

func TestGLMAgainstR(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 1))
	var cases []glmCase
	for range 500 {
		cases = append(cases, randomGLM(r, 20+r.IntN(100)))
	}
	var out glmOutput
	crosscheck(t, "glm.R", cases, &out)
	compareGLM(t, cases, out)
}

func compareGLM(t *testing.T, cases []glmCase, out glmOutput) {
	t.Helper()
	if len(out.Cases) != len(cases) || len(cases) == 0 {
		t.Fatalf("%d answers for %d cases", len(out.Cases), len(cases))
	}
	compared, refused := 0, 0
	for i, c := range cases {
		for _, side := range []struct {
			name string
			fit  func(GLMOptions) (Fit, error)
			want glmAnswer
		}{
			{"logistic", func(o GLMOptions) (Fit, error) { return FitLogistic(c.X, c.terms(), c.Yes, o) }, out.Cases[i].Logistic},
			{"Poisson", func(o GLMOptions) (Fit, error) { return FitPoisson(c.X, c.terms(), c.Events, c.Time, o) }, out.Cases[i].Poisson},
		} {
			fit, err := side.fit(GLMOptions{Level: c.Level})
			if errors.Is(err, ErrSeparation) && float64(side.want.Furthest[0]) > 15 {
				refused++ // the other program stops where it gets no further
				continue
			}
			if err != nil {
				t.Errorf("case %d, %s: %v", i+1, side.name, err)
				continue
			}
			compared++
			compareFit(t, fmt.Sprintf("case %d, %s", i+1, side.name), fit, side.want)
			robust, err := side.fit(GLMOptions{Cluster: c.Cluster, Uncorrected: true})
			must(t, err)
			corrected, err := side.fit(GLMOptions{Cluster: c.Cluster})
			must(t, err)
			spread, err := side.fit(GLMOptions{Dispersion: true})
			must(t, err)
			compareMatrix(t, "robust covariance", robust.Covariance, side.want.Robust)
			compareMatrix(t, "corrected covariance", corrected.Covariance, side.want.Corrected)
			if !near(spread.Dispersion, float64(side.want.Dispersion[0]), 1e-6) {
				t.Errorf("case %d, %s: dispersion %v, want %v", i+1, side.name, spread.Dispersion, side.want.Dispersion[0])
			}
		}
	}
	t.Logf("%s: %d fits compared, %d separated ones refused", out.Version, compared, refused)
	if refused*5 > compared {
		t.Errorf("%d fits refused, %d compared: too few", refused, compared)
	}
}

// Iterative fits agree to 1e-6, relative to the size of the matrix for
// covariances.
func compareFit(t *testing.T, what string, fit Fit, want glmAnswer) {
	t.Helper()
	for j, b := range want.Coefficients {
		if !near(fit.Coefficients[j], float64(b), 1e-6) {
			t.Errorf("%s: coefficient of %s %v, want %v", what, fit.Terms[j], fit.Coefficients[j], b)
		}
	}
	compareMatrix(t, what+": covariance", fit.Covariance, want.Covariance)
	for _, pair := range []struct {
		what      string
		got, want float64
	}{
		{"log likelihood", fit.LogLik, float64(want.LogLik[0])},
		{"null log likelihood", fit.NullLogLik, float64(want.Null[0])},
		{"deviance", fit.Deviance, float64(want.Deviance[0])},
	} {
		if !near(pair.got, pair.want, 1e-8) {
			t.Errorf("%s: %s %v, want %v", what, pair.what, pair.got, pair.want)
		}
	}
}

func compareMatrix(t *testing.T, what string, got [][]float64, want [][]number) {
	t.Helper()
	for j := range want {
		for k := range want[j] {
			size := math.Sqrt(math.Abs(got[j][j] * got[k][k]))
			if !(math.Abs(got[j][k]-float64(want[j][k])) <= 1e-6*size) {
				t.Errorf("%s [%d,%d]: %v, want %v", what, j, k, got[j][k], want[j][k])
			}
		}
	}
}

type tablesOutput struct {
	Version string
	Cases   []struct {
		Wilson, Newcombe, Exact, Odds, Risk []number
		Logistic, Poisson                   glmAnswer
	}
}

func TestTablesAgainstStoredPython(t *testing.T) {
	var cases []glmCase
	var out tablesOutput
	storedCrosscheck(t, "tables", &cases, &out)
	compareTables(t, cases, out)
}

func TestTablesAgainstPython(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 1))
	var cases []glmCase
	for range 500 {
		cases = append(cases, randomGLM(r, 30+r.IntN(60)))
	}
	var out tablesOutput
	crosscheck(t, "tables.py", cases, &out)
	compareTables(t, cases, out)
}

func compareTables(t *testing.T, cases []glmCase, out tablesOutput) {
	t.Helper()
	if len(out.Cases) != len(cases) || len(cases) == 0 {
		t.Fatalf("%d answers for %d cases", len(out.Cases), len(cases))
	}
	unanswered := 0
	for i, c := range cases {
		want := out.Cases[i]
		check := func(what string, tolerance float64, want []number, got ...float64) {
			t.Helper()
			for j := range want {
				if !near(got[j], float64(want[j]), tolerance) {
					t.Errorf("case %d: %s, number %d: got %.15g, want %.15g (%v at %v)", i+1, what, j, got[j], float64(want[j]), c.Four, c.Level)
				}
			}
		}
		n := c.Four
		opts := LimitOptions{c.Level}
		risk, err := Proportion(n[0], n[0]+n[1], ProportionOptions{Level: c.Level})
		must(t, err)
		check("Wilson", 1e-10, want.Wilson, risk.Lower, risk.Upper)
		difference, err := RiskDifference(n[0], n[1], n[2], n[3], opts)
		must(t, err)
		check("Newcombe", 1e-10, want.Newcombe, difference.Lower, difference.Upper)
		if n[0]+n[2] > 0 {
			exact, err := OddsRatioExact(n[0], n[1], n[2], n[3], opts)
			must(t, err)
			// The root finder there stops within 1e-8 of the root or so.
			check("exact odds ratio", 1e-7, want.Exact, exact.Value, exact.Lower, exact.Upper)
		}
		if want.Odds != nil {
			odds, err := OddsRatio(n[0], n[1], n[2], n[3], opts)
			must(t, err)
			check("odds ratio", 1e-10, want.Odds, odds.Value, odds.Lower, odds.Upper, odds.P)
			ratio, err := RiskRatio(n[0], n[1], n[2], n[3], opts)
			must(t, err)
			check("risk ratio", 1e-10, want.Risk, ratio.Value, ratio.Lower, ratio.Upper, ratio.P)
		}
		robust := GLMOptions{Cluster: c.Cluster, Uncorrected: true}
		if want.Logistic.SE == nil || want.Poisson.SE == nil {
			unanswered++
		}
		if fit, err := FitLogistic(c.X, c.terms(), c.Yes, robust); want.Logistic.SE != nil && !errors.Is(err, ErrSeparation) {
			must(t, err)
			check("clustered logistic", 1e-6, want.Logistic.Coefficients, fit.Coefficients...)
			check("clustered logistic SE", 1e-6, want.Logistic.SE, fit.SE...)
		}
		if fit, err := FitPoisson(c.X, c.terms(), c.Events, c.Time, robust); want.Poisson.SE != nil && !errors.Is(err, ErrSeparation) {
			must(t, err)
			check("clustered Poisson", 1e-6, want.Poisson.Coefficients, fit.Coefficients...)
			check("clustered Poisson SE", 1e-6, want.Poisson.SE, fit.SE...)
		}
	}
	t.Logf("%s: %d cases, in %d of which it fits a model less", out.Version, len(cases), unanswered)
	if 50*unanswered > len(cases) {
		t.Errorf("%d of %d cases are without an answer", unanswered, len(cases))
	}
}
