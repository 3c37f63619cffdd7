package stats

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"
)

// A robustAnswer is what robust.R makes of a case.
type robustAnswer struct {
	Coefficients      []number
	CR0, CR2, CR3     [][]number
	DF0, DF2, DF3     []number
	Marginal          []number
	MarginalSE        []number `json:"marginal_se"`
	Dean, F           []number
	Quadratic, Linear []number
	T, Tail           []number
	Knots, Spline     []number
	Converged         []bool
}

type robustOutput struct {
	Version []string
	Cases   []robustAnswer
}

func TestRobustFormsAgainstStoredR(t *testing.T) {
	var cases []glmCase
	var out robustOutput
	storedCrosscheck(t, "robust", &cases, &out)
	compareRobust(t, cases, out)
}

func TestRobustFormsAgainstR(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 91))
	var cases []glmCase
	for range 600 {
		cases = append(cases, randomRobust(r))
	}
	var out robustOutput
	crosscheck(t, "robust.R", cases, &out)
	compareRobust(t, cases, out)
}

// randomRobust is a small cohort in few clusters without columns far from the
// others' scale.
func randomRobust(r *rand.Rand) glmCase {
	for {
		c := randomGLM(r, 20+r.IntN(50))
		for i := range c.X {
			c.X[i] = c.X[i][:2]
			if r.IntN(3) > 0 {
				c.Cluster[i] %= 7
			}
		}
		if _, err := FitPoisson(c.X, c.terms(), c.Events, c.Time, GLMOptions{Cluster: c.Cluster, Robust: CR3}); err == nil {
			return c
		}
	}
}

// Closed forms of an iterated maximum: 1e-8 relative to the largest entry for
// covariances, whose own digits both sides lose; gradients there are numerical.
func compareRobust(t *testing.T, cases []glmCase, out robustOutput) {
	t.Helper()
	if len(out.Cases) != len(cases) || len(cases) == 0 {
		t.Fatalf("%d answers for %d cases", len(out.Cases), len(cases))
	}
	compared := 0
	for i, c := range cases {
		want := out.Cases[i]
		fit := func(form RobustForm) Fit {
			f, err := FitPoisson(c.X, c.terms(), c.Events, c.Time, GLMOptions{Level: c.Level, Cluster: c.Cluster, Robust: form, Reference: ReferenceSatterthwaite})
			must(t, err)
			return f
		}
		for _, form := range []struct {
			form RobustForm
			v    [][]number
			df   []number
		}{{CR0, want.CR0, want.DF0}, {CR2, want.CR2, want.DF2}, {CR3, want.CR3, want.DF3}} {
			f := fit(form.form)
			for j := range f.Terms {
				if !near(f.Coefficients[j], float64(want.Coefficients[j]), 1e-8) {
					t.Fatalf("case %d: coefficients %v, want %v", i+1, f.Coefficients, want.Coefficients)
				}
				if !nearRelative(f.RobustDF[j], float64(form.df[j]), 1e-7) {
					t.Errorf("case %d, %s: degrees of freedom %v, want %v", i+1, form.form, f.RobustDF, form.df)
				}
				for k := range f.Terms {
					size := math.Sqrt(float64(form.v[j][j] * form.v[k][k]))
					if math.Abs(f.Covariance[j][k]-float64(form.v[j][k])) > 1e-8*size {
						t.Errorf("case %d, %s: covariance %v, want %v", i+1, form.form, f.Covariance, form.v)
					}
				}
			}
		}
		f := fit(CR2)
		for j, df := range f.RobustDF {
			if got := criticalT(c.Level, df); !nearRelative(got, float64(want.T[j]), 1e-7) {
				t.Errorf("case %d: t quantile on %v %v, want %v", i+1, df, got, want.T[j])
			}
			if got := studentTail(2.5, float64(want.DF3[j])); !nearRelative(got, float64(want.Tail[j]), 1e-9) {
				t.Errorf("case %d: t tail %v, want %v", i+1, got, want.Tail[j])
			}
		}
		if got := fisherTail(3.1, 2, float64(want.DF2[0])); !nearRelative(got, float64(want.F[0]), 1e-9) {
			t.Errorf("case %d: F tail %v, want %v", i+1, got, want.F)
		}
		compareMarginal(t, i+1, c, f, want)
		tests, err := OverdispersionTests(c.X, c.terms(), c.Events, c.Time)
		must(t, err)
		for k, w := range []number{want.Dean[0], want.Quadratic[0], want.Linear[0]} {
			if !near(tests[k].Statistic, float64(w), 1e-7) {
				t.Errorf("case %d: %s %v, want %v", i+1, tests[k].Name, tests[k].Statistic, w)
			}
		}
		if want.Converged[0] && compareSpline(t, i+1, c, want) {
			compared++
		}
	}
	if compared < len(cases)*8/10 {
		t.Errorf("%d of %d splines compared", compared, len(cases))
	}
}

func compareMarginal(t *testing.T, i int, c glmCase, f Fit, want robustAnswer) {
	t.Helper()
	one, zero := setColumn(c.X, 0, 1), setColumn(c.X, 0, 0)
	a, err := MarginalRate(f, one, c.Time, MarginalOptions{})
	must(t, err)
	b, err := MarginalRate(f, zero, c.Time, MarginalOptions{})
	must(t, err)
	ratio, err := MarginalRatio(f, one, zero, c.Time, MarginalOptions{})
	must(t, err)
	difference, err := MarginalDifference(f, one, zero, c.Time, MarginalOptions{})
	must(t, err)
	for _, x := range []struct {
		what      string
		got, want float64
	}{
		{"rate at 1", math.Log(a.Value), float64(want.Marginal[0])},
		{"rate at 0", math.Log(b.Value), float64(want.Marginal[1])},
		{"ratio", math.Log(ratio.Value), float64(want.Marginal[0] - want.Marginal[1])},
		{"difference", difference.Value, math.Exp(float64(want.Marginal[0])) - math.Exp(float64(want.Marginal[1]))},
		{"error of the rate", a.SE, float64(want.MarginalSE[0])},
		{"error of the ratio", ratio.SE, float64(want.MarginalSE[1])},
		{"error of the difference", difference.SE, float64(want.MarginalSE[2])},
	} {
		if !near(x.got, x.want, 1e-8) {
			t.Errorf("case %d: %s %.12g, want %.12g", i, x.what, x.got, x.want)
		}
	}
}

// setColumn is a copy of x with a column set.
func setColumn(x [][]float64, column int, to float64) [][]float64 {
	out := make([][]float64, len(x))
	for i, row := range x {
		out[i] = append([]float64{}, row...)
		out[i][column] = to
	}
	return out
}

func compareSpline(t *testing.T, i int, c glmCase, want robustAnswer) bool {
	t.Helper()
	number := make([]float64, len(c.X))
	for k, row := range c.X {
		number[k] = row[1]
	}
	knots, err := QuantileKnots(number, 4)
	must(t, err)
	s, err := NewNaturalSpline(knots)
	must(t, err)
	x := make([][]float64, len(number))
	for k, v := range number {
		x[k] = s.At(v)
	}
	f, err := FitPoisson(x, []string{"x", "x'", "x''"}, c.Events, c.Time, GLMOptions{})
	if errors.Is(err, ErrSeparation) {
		return false
	}
	must(t, err)
	for k := range want.Knots {
		if !near(knots[k], float64(want.Knots[k]), 1e-12) {
			t.Errorf("case %d: knots %v, want %v", i, knots, want.Knots)
		}
	}
	for k, w := range want.Spline {
		if got := f.Coefficients[0] + dot(x[k], f.Coefficients[1:]) + math.Log(c.Time[k]); !near(got, float64(w), 1e-6) {
			t.Errorf("case %d: fitted value %d of the spline %v, want %v", i, k+1, got, w)
		}
	}
	return true
}
