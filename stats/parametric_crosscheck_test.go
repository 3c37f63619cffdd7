package stats

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"
)

// A parametricCase is what parametric.R reads; an end of −1 is none.
type parametricCase struct {
	Left         []float64            `json:"left"`
	Right        []float64            `json:"right"`
	X            []float64            `json:"x"` // row by row
	Columns      int                  `json:"columns"`
	Weight       []float64            `json:"weight"`
	Cluster      []int                `json:"cluster"`
	At           []float64            `json:"at"`
	Distribution LifetimeDistribution `json:"distribution"`
}

type parametricOutput struct {
	Version []string
	Cases   []struct {
		Warned                     []bool
		Coefficients, LogLik       []number
		Model, Robust              [][]number
		Quantile, Spread, Survival []number
	}
}

var lifetimeDistributions = []LifetimeDistribution{Exponential, Weibull, LogNormal, LogLogistic}

// randomParametric draws rows of all four kinds of censoring, whole days and
// visits, weights and clusters.
func randomParametric(r *rand.Rand, distribution LifetimeDistribution) parametricCase {
	n := 20 + r.IntN(60)
	c := parametricCase{Columns: 1 + r.IntN(3), Distribution: distribution, At: []float64{5, 20, 60}}
	kinds := 1 + r.IntN(4)
	for i := range n {
		eta := 3.0
		for j := range c.Columns {
			v := math.Round(r.NormFloat64()*100) / 100
			if j == 0 {
				v = float64(i % 2)
			}
			eta += 0.4 * v
			c.X = append(c.X, v)
		}
		t := math.Ceil(math.Exp(eta + (0.3+r.Float64())*r.NormFloat64()))
		gap := float64(3 + r.IntN(20))
		left, right := t, t
		switch r.IntN(kinds) {
		case 1:
			right = -1
		case 2: // between visits
			left = math.Floor((t-1)/gap) * gap
			right = left + gap
		case 3:
			left = 0
		}
		c.Left, c.Right = append(c.Left, left), append(c.Right, right)
		c.Weight = append(c.Weight, 0.5+math.Round(r.Float64()*100)/100)
		c.Cluster = append(c.Cluster, i/2)
	}
	return c
}

func (c parametricCase) times() EnteredIntervals {
	v := EnteredIntervals{Intervals: Intervals{Left: c.Left}}
	for _, r := range c.Right {
		if r < 0 {
			r = math.Inf(1)
		}
		v.Right = append(v.Right, r)
	}
	return v
}

func (c parametricCase) covariates() (x [][]float64, terms []string) {
	for i := range c.Left {
		x = append(x, c.X[i*c.Columns:(i+1)*c.Columns])
	}
	return x, []string{"a", "b", "c"}[:c.Columns]
}

func TestParametricAgainstStoredR(t *testing.T) {
	var cases []parametricCase
	var out parametricOutput
	storedCrosscheck(t, "parametric", &cases, &out)
	compareParametric(t, cases, out)
}

func TestParametricAgainstR(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 26))
	var cases []parametricCase
	for i := range 600 {
		cases = append(cases, randomParametric(r, lifetimeDistributions[i%4]))
	}
	var out parametricOutput
	crosscheck(t, "parametric.R", cases, &out)
	compareParametric(t, cases, out)
}

// Both sides stop Newton's method where nothing moves: 1e-6, relatively.
func compareParametric(t *testing.T, cases []parametricCase, out parametricOutput) {
	t.Helper()
	if len(out.Cases) != len(cases) || len(cases) == 0 {
		t.Fatalf("%d answers for %d cases", len(out.Cases), len(cases))
	}
	compared := 0
	for i, c := range cases {
		want := out.Cases[i]
		x, terms := c.covariates()
		if want.Warned[0] {
			continue
		}
		robust, err := FitParametricSurvival(c.times(), x, terms, c.Distribution, ParametricOptions{Weights: c.Weight, Cluster: c.Cluster})
		if err != nil {
			if !errors.Is(err, ErrNoEvents) {
				t.Errorf("case %d: %v", i+1, err)
			}
			continue
		}
		compared++
		check := func(what string, got float64, want number) {
			if !near(got, float64(want), 1e-6) {
				t.Errorf("case %d, %s: %s %.10g, want %.10g", i+1, c.Distribution, what, got, float64(want))
			}
		}
		check("log likelihood", robust.LogLik, want.LogLik[1])
		check("null log likelihood", robust.NullLogLik, want.LogLik[0])
		for j, b := range robust.Coefficients {
			check("coefficient", b, want.Coefficients[j])
			check("model error", robust.ModelSE[j], number(math.Sqrt(float64(want.Model[j][j]))))
			for k := range robust.Coefficients {
				check("robust covariance", robust.Covariance[j][k], want.Robust[j][k])
			}
		}
		for k, p := range []float64{0.1, 0.5, 0.9} {
			q := robust.Quantile(x[0], p, 0)
			check("quantile", q.Value/float64(want.Quantile[k]), 1)
			// R's comes from the model-based covariance.
			model := robust
			model.Covariance, _ = modelCovariance(c, x, terms)
			check("error of quantile", model.Quantile(x[0], p, 0).SE, want.Spread[k])
		}
		for k, at := range c.At {
			check("survival", robust.Survival(x[0], at, 0).Value, want.Survival[k])
		}
	}
	t.Logf("%s: %d of %d compared", out.Version, compared, len(cases))
	if compared*10 < len(cases)*9 {
		t.Errorf("%d of %d compared: too few", compared, len(cases))
	}
}

// modelCovariance is the inverse information of the weighted rows.
func modelCovariance(c parametricCase, x [][]float64, terms []string) ([][]float64, error) {
	m, err := newParametric(c.times(), x, terms, c.Distribution, ParametricOptions{Weights: c.Weight})
	if err != nil {
		return nil, err
	}
	if err := m.fit(); err != nil {
		return nil, err
	}
	l, _, _ := cholesky(m.information, 0)
	_, jacobian := m.transform()
	return sandwiched(jacobian, choleskyInverse(l)), nil
}
