package stats

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// By hand: estimates 1, 2, 3 with variance 1 each have mean 2, W = 1, B = 1, so
// T = 7/3, λ = 4/7, ν = 2·(7/4)² = 6.125, r = 4/3.
func TestPoolImputedByHand(t *testing.T) {
	p, err := PoolImputed([]float64{1, 2, 3}, []float64{1, 1, 1}, PooledOptions{})
	must(t, err)
	if p.Value != 2 || p.Within != 1 || !near(p.Between, 1, 1e-15) || !near(p.SE, math.Sqrt(7./3), 1e-14) || !near(p.DF, 6.125, 1e-12) || !near(p.Increase, 4./3, 1e-14) {
		t.Errorf("%+v", p)
	}
	if want := (4./3 + 2/9.125) / (7. / 3); !near(p.Missing, want, 1e-12) {
		t.Errorf("fraction of missing information %v, want %v", p.Missing, want)
	}
	if half := criticalT(0.95, 6.125) * math.Sqrt(7./3); !near(p.Upper, 2+half, 1e-12) {
		t.Errorf("upper limit %v, want %v", p.Upper, 2+half)
	}
	// With 10 degrees of freedom of the complete data ν_obs = 11/13·10·3/7.
	p, err = PoolImputed([]float64{1, 2, 3}, []float64{1, 1, 1}, PooledOptions{CompleteDF: 10})
	must(t, err)
	if want := 1 / (1/6.125 + 1/(110./13*3/7)); !near(p.DF, want, 1e-12) {
		t.Errorf("small-sample degrees of freedom %v, want %v", p.DF, want)
	}
	p, err = PoolImputed([]float64{2, 2}, []float64{4, 4}, PooledOptions{})
	must(t, err)
	if p.SE != 2 || !math.IsInf(p.DF, 1) || p.Missing != 0 || !near(p.Upper, 2+2*1.959963984540054, 1e-12) {
		t.Errorf("without difference: %+v", p)
	}
	if _, err := PoolImputed([]float64{1}, []float64{1}, PooledOptions{}); !errors.Is(err, ErrTooFewRows) {
		t.Errorf("one data set: %v", err)
	}
	if _, err := PoolImputed([]float64{1, 1}, []float64{0, 0}, PooledOptions{}); !errors.Is(err, ErrNoVariance) {
		t.Errorf("no variance: %v", err)
	}
	if _, err := PoolImputed([]float64{1, math.NaN()}, []float64{1, 1}, PooledOptions{}); !errors.Is(err, ErrNotFinite) {
		t.Errorf("NaN: %v", err)
	}
}

// gappyStudy has a number, an ordered category and a yes-or-no column with values
// missing at random, beside two that are complete.
func gappyStudy(seed uint64, n int) []ImputeColumn {
	r := rand.New(rand.NewPCG(seed, 99))
	c := []ImputeColumn{{Name: "age"}, {Name: "bmi"}, {Name: "grade", Levels: 3}, {Name: "side", Levels: 2}, {Name: "pain", Levels: 2}}
	for range n {
		age := 10 + 2*r.NormFloat64()
		bmi := 17 + (age-10)/2 + r.NormFloat64()
		grade := float64(min(2, max(0, int(math.Floor((bmi-15)/2)))))
		side, pain := float64(r.IntN(2)), 0.0
		if r.Float64() < 0.2+0.2*grade {
			pain = 1
		}
		for j, v := range []float64{age, bmi, grade, side, pain} {
			if j > 0 && j < 4 && r.Float64() < 0.15+0.2*pain {
				v = math.NaN()
			}
			c[j].Values = append(c[j].Values, v)
		}
	}
	return c
}

// What is observed stays, what is imputed occurs, the same seed gives the same,
// and more imputations do not change the first.
func TestImputeIdentities(t *testing.T) {
	c := gappyStudy(1, 120)
	a, err := Impute(c, ImputeOptions{Imputations: 3, Cycles: 4, Seed: 5})
	must(t, err)
	b, err := Impute(c, ImputeOptions{Imputations: 5, Cycles: 4, Seed: 5})
	must(t, err)
	differs := false
	for m := range a.Values {
		for j, column := range a.Values[m] {
			for i, v := range column {
				if was := c[j].Values[i]; !math.IsNaN(was) && v != was {
					t.Fatalf("%s, row %d: observed %v became %v", c[j].Name, i, was, v)
				}
				if !slices.Contains(c[j].Values, v) {
					t.Fatalf("%s, row %d: %v does not occur", c[j].Name, i, v)
				}
				if v != b.Values[m][j][i] {
					t.Fatalf("data set %d of 3 is not that of 5", m)
				}
				differs = differs || v != a.Values[0][j][i]
			}
		}
	}
	if !differs {
		t.Error("all data sets are the same")
	}
	if len(a.Mean[0][1]) != 4 || a.Mean[0][0] != nil {
		t.Errorf("traces %v", a.Mean[0])
	}
	whole := []ImputeColumn{{Name: "x", Values: []float64{1, 2, 3}}}
	same, err := Impute(whole, ImputeOptions{Imputations: 2})
	must(t, err)
	if !slices.Equal(same.Values[1][0], whole[0].Values) {
		t.Errorf("nothing missing: %v", same.Values)
	}
}

func TestImputeRefuses(t *testing.T) {
	nan := math.NaN()
	for name, c := range map[string]struct {
		columns []ImputeColumn
		want    error
	}{
		"no columns":  {nil, ErrNoData},
		"all missing": {[]ImputeColumn{{Name: "x", Values: []float64{nan, nan}}}, ErrNoData},
		"one value":   {[]ImputeColumn{{Name: "x", Values: []float64{1, 1, nan}}}, ErrNoVariance},
		"too few":     {[]ImputeColumn{{Name: "x", Values: []float64{1, 2, nan}}, {Name: "y", Values: []float64{1, 2, 5}}, {Name: "z", Values: []float64{3, 2, 5}}}, ErrTooFewRows},
		"infinite":    {[]ImputeColumn{{Name: "x", Values: []float64{1, math.Inf(1), nan}}}, ErrNotFinite},
	} {
		if _, err := Impute(c.columns, ImputeOptions{}); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", name, err, c.want)
		}
	}
	panics(t, "level", func() { _, _ = Impute([]ImputeColumn{{Name: "x", Values: []float64{2}, Levels: 2}}, ImputeOptions{}) })
}

// The draws have the distributions that theory gives: coefficients of a normal
// outcome, the chi-squared, and a category's shares where nothing predicts it.
func TestImputeDraws(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 3))
	const draws = 40000
	for _, df := range []float64{1, 7} {
		sum, squares := 0.0, 0.0
		for range draws {
			x := chiSquaredDraw(r, df)
			sum, squares = sum+x, squares+x*x
		}
		mean := sum / draws
		// Within five standard errors of df and 2 df.
		if v := squares/draws - mean*mean; math.Abs(mean-df) > 5*math.Sqrt(2*df/draws) || math.Abs(v-2*df) > 5*math.Sqrt((8*df*df+48*df)/draws) {
			t.Errorf("chi-squared on %v: mean %v, variance %v", df, mean, v)
		}
	}
	l, _, _ := cholesky([][]float64{{4, 1}, {1, 2}}, 1e-12) // inverse 2/7 −1/7 / −1/7 4/7
	var xx, xy, yy float64
	for range draws {
		e := normalWith(r, l)
		xx, xy, yy = xx+e[0]*e[0], xy+e[0]*e[1], yy+e[1]*e[1]
	}
	for got, want := range map[float64]float64{xx / draws: 2. / 7, xy / draws: -1. / 7, yy / draws: 4. / 7} {
		if math.Abs(got-want) > 0.02 {
			t.Errorf("covariance %v, want %v", got, want)
		}
	}
}

// A multinomial fit with two levels and a wide prior is the logistic regression.
func TestFitMultinomialIsLogistic(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 6))
	var x, bare [][]float64
	var y []int
	var yes []bool
	for range 4000 {
		z := r.NormFloat64()
		k := 0
		if r.Float64() < 1/(1+math.Exp(0.5-z)) {
			k = 1
		}
		x, bare = append(x, []float64{1, z}), append(bare, []float64{z})
		y, yes = append(y, k), append(yes, k == 1)
	}
	beta, l, err := fitMultinomial(x, y, 2)
	must(t, err)
	f, err := FitLogistic(bare, []string{"z"}, yes, GLMOptions{})
	must(t, err)
	inverse := choleskyInverse(l)
	for j := range beta {
		// The prior moves the estimate by about SE² b/2.5².
		if !near(beta[j], f.Coefficients[j], 1.1*f.SE[j]*f.SE[j]*math.Abs(f.Coefficients[1])/6.25+1e-9) || !nearRelative(math.Sqrt(inverse[j][j]), f.SE[j], 1e-3) {
			t.Errorf("coefficient %d: %v ± %v, logistic %v ± %v", j, beta[j], math.Sqrt(inverse[j][j]), f.Coefficients[j], f.SE[j])
		}
	}
	// Three levels: the score of the posterior is 0 at the fit.
	for i := range y {
		y[i] = (y[i] + i) % 3
	}
	beta, _, err = fitMultinomial(x, y, 3)
	must(t, err)
	score := make([]float64, 4)
	for i, row := range x {
		chances := multinomialChances(row, beta, 3)
		for k := 1; k < 3; k++ {
			d := -chances[k]
			if y[i] == k {
				d++
			}
			for a, v := range row {
				score[(k-1)*2+a] += d * v
			}
		}
	}
	for a := range score {
		if a%2 == 1 {
			score[a] -= beta[a] / 6.25
		}
		if math.Abs(score[a]) > 1e-5 {
			t.Errorf("score %v at the fit", score)
		}
	}
}
