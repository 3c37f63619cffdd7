package stats

import (
	"errors"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"testing"

	"gonum.org/v1/gonum/optimize"
	"gonum.org/v1/gonum/stat/distuv"

	"heelcohort/stats/internal/published"
)

func TestParametricPublished(t *testing.T) {
	set := published.Load(t, "kleinbaum-klein-2005")
	weeks, relapse, treatment := set.Floats("weeks"), set.Floats("relapse"), set.Floats("treatment")
	times := Times{Exit: weeks}
	var x [][]float64
	for i, v := range treatment {
		times.Status = append(times.Status, relapse[i] == 1)
		x = append(x, []float64{v})
	}
	fit := func(d LifetimeDistribution) ParametricFit {
		f, err := FitParametricSurvival(times.Intervals(), x, []string{"treatment"}, d, ParametricOptions{})
		must(t, err)
		return f
	}
	f := fit(Exponential)
	set.Check("exponential treatment", f.Coefficients[1])
	set.Check("exponential treatment se", f.SE[1])
	set.Check("exponential intercept", f.Coefficients[0])
	set.Check("exponential intercept se", f.SE[0])
	f = fit(Weibull)
	set.Check("weibull treatment", f.Coefficients[1])
	set.Check("weibull treatment se", f.SE[1])
	set.Check("weibull intercept", f.Coefficients[0])
	set.Check("weibull intercept se", f.SE[0])
	set.Check("weibull shape", f.Shape.Value)
	set.Check("weibull log hazard ratio", math.Log(f.HazardRatios[0].Value))
	f = fit(LogLogistic)
	set.Check("loglogistic treatment", f.Coefficients[1])
	set.Check("loglogistic intercept", f.Coefficients[0])
}

// Exponential times of two groups: rates d/T with T from entry to exit, the log
// of their ratio with variance 1/d1 + 1/d2, and the likelihood of both.
func TestExponentialByHand(t *testing.T) {
	v := Times{
		Entry:  []float64{0, 2, 0, 1, 0, 3},
		Exit:   []float64{5, 6, 4, 4, 2, 9},
		Status: []bool{true, true, false, true, true, false},
	}.Intervals()
	x := [][]float64{{0}, {0}, {0}, {1}, {1}, {1}}
	f, err := FitParametricSurvival(v, x, []string{"b"}, Exponential, ParametricOptions{})
	must(t, err)
	// Group 0: 2 events in 5+4+4 = 13; group 1: 2 in 3+2+6 = 11; together 4 in 24.
	logLik := 2*math.Log(2.0/13) + 2*math.Log(2.0/11) - 4
	null := 4*math.Log(4.0/24) - 4
	for _, c := range []struct {
		what      string
		got, want float64
	}{
		{"mean time", math.Exp(f.Coefficients[0]), 6.5},
		{"time ratio", f.Estimates[0].Value, 11.0 / 13},
		{"hazard ratio", f.HazardRatios[0].Value, 13.0 / 11},
		{"its error", f.HazardRatios[0].SE, 1},
		{"log likelihood", f.LogLik, logLik},
		{"null log likelihood", f.NullLogLik, null},
		{"likelihood ratio", f.Tests[0].Statistic, 2 * (logLik - null)},
		{"AIC", f.AIC, -2*logLik + 4},
		{"survival", f.Survival([]float64{1}, 3, 0).Value, math.Exp(-6.0 / 11)},
		{"its error", f.Survival([]float64{1}, 3, 0).SE, math.Sqrt(0.5)},
		{"median", f.Quantile([]float64{0}, 0.5, 0).Value, 6.5 * math.Ln2},
	} {
		if !near(c.got, c.want, 1e-12) {
			t.Errorf("%s %v, want %v", c.what, c.got, c.want)
		}
	}
}

// Log-normal exact times: mean and standard deviation, with divisor n, of log
// times, with errors s/√n and of log s 1/√(2n).
func TestLogNormalByHand(t *testing.T) {
	v := Times{Exit: []float64{math.E, math.Exp(2), math.Exp(6)}, Status: []bool{true, true, true}}.Intervals()
	f, err := FitParametricSurvival(v, make([][]float64, 3), nil, LogNormal, ParametricOptions{})
	must(t, err)
	s := math.Sqrt(14.0 / 3)
	for i, want := range []float64{3, math.Log(s)} {
		if !near(f.Coefficients[i], want, 1e-12) || !near(f.SE[i], []float64{s / math.Sqrt(3), 1 / math.Sqrt(6)}[i], 1e-12) {
			t.Errorf("coefficient %d: %v with SE %v", i, f.Coefficients[i], f.SE[i])
		}
	}
}

// plainTail is P(T > t) as textbooks have it.
func plainTail(d LifetimeDistribution, t, eta, sigma float64) float64 {
	switch d {
	case LogNormal:
		return 1 - distuv.LogNormal{Mu: eta, Sigma: sigma}.CDF(t)
	case LogLogistic:
		return 1 / (1 + math.Pow(t/math.Exp(eta), 1/sigma))
	}
	return math.Exp(-math.Pow(t/math.Exp(eta), 1/sigma))
}

func plainDensity(d LifetimeDistribution, t, eta, sigma float64) float64 {
	shape, scale := 1/sigma, math.Exp(eta)
	switch d {
	case LogNormal:
		return distuv.LogNormal{Mu: eta, Sigma: sigma}.Prob(t)
	case LogLogistic:
		u := math.Pow(t/scale, shape)
		return shape / t * u / ((1 + u) * (1 + u))
	}
	return distuv.Weibull{K: shape, Lambda: scale}.Prob(t)
}

func plainLogLik(d LifetimeDistribution, v EnteredIntervals, x [][]float64, theta []float64) float64 {
	sigma := 1.0
	if d != Exponential {
		sigma = math.Exp(theta[len(theta)-1])
	}
	sum := 0.0
	for i, l := range v.Left {
		eta := theta[0] + dot(x[i], theta[1:1+len(x[i])])
		r, p := v.Right[i], 0.0
		switch {
		case l == r:
			p = plainDensity(d, l, eta, sigma)
		case math.IsInf(r, 1):
			p = plainTail(d, l, eta, sigma)
		default:
			p = plainTail(d, l, eta, sigma) - plainTail(d, r, eta, sigma)
		}
		sum += math.Log(p) - math.Log(plainTail(d, v.Entry[i], eta, sigma))
	}
	return sum
}

// Late entry has no form in R: an optimiser of a plain log likelihood starts
// from the fit and finds nothing larger, and its second differences are the
// information.
func TestParametricLateEntryAgainstPlain(t *testing.T) {
	sets := 40
	if os.Getenv(crosscheckEnv) == "1" {
		sets = 500
	}
	r := rand.New(rand.NewPCG(5, 11))
	compared := 0
	for s := range sets {
		c := randomParametric(r, lifetimeDistributions[s%4])
		v := c.times()
		for i, l := range v.Left {
			v.Entry = append(v.Entry, 0)
			if l > 1 {
				v.Entry[i] = math.Floor(r.Float64() * l)
			}
		}
		x, terms := c.covariates()
		f, err := FitParametricSurvival(v, x, terms, c.Distribution, ParametricOptions{})
		if errors.Is(err, ErrNoEvents) || errors.Is(err, ErrNotConverged) {
			t.Logf("set %d: %v", s, err)
			continue
		}
		must(t, err)
		compared++
		at := func(theta []float64) float64 { return plainLogLik(c.Distribution, v, x, theta) }
		if !near(f.LogLik, at(f.Coefficients), 1e-9) {
			t.Errorf("set %d, %s: log likelihood %.12g, plain %.12g", s, c.Distribution, f.LogLik, at(f.Coefficients))
		}
		start := slices.Clone(f.Coefficients)
		for j := range start {
			start[j] += 0.05 * r.NormFloat64()
		}
		found, _ := optimize.Minimize(optimize.Problem{Func: func(theta []float64) float64 {
			if l := at(theta); !math.IsNaN(l) {
				return -l
			}
			return math.Inf(1)
		}}, start, &optimize.Settings{FuncEvaluations: 20000, Converger: &optimize.FunctionConverge{Absolute: 1e-13, Iterations: 400}}, &optimize.NelderMead{})
		if -found.F > f.LogLik+1e-8 {
			t.Errorf("set %d, %s: %.12g found, here %.12g", s, c.Distribution, -found.F, f.LogLik)
		}
		information := newMatrix(len(start), len(start))
		for j := range start {
			if !near(found.X[j], f.Coefficients[j], 1e-5) {
				t.Errorf("set %d, %s: coefficient %d %.9g, found %.9g", s, c.Distribution, j, f.Coefficients[j], found.X[j])
			}
			for k := range start {
				h := 1e-3
				value := func(a, b float64) float64 {
					theta := slices.Clone(f.Coefficients)
					theta[j] += a
					theta[k] += b
					return at(theta)
				}
				information[j][k] = -(value(h, h) - value(h, -h) - value(-h, h) + value(-h, -h)) / (4 * h * h)
			}
		}
		l, _, ok := cholesky(information, 0)
		if !ok {
			t.Fatalf("set %d: second differences are not positive definite", s)
		}
		for j, want := range diagonalRoots(choleskyInverse(l)) {
			if !near(f.SE[j]/want, 1, 1e-3) {
				t.Errorf("set %d, %s: SE %v, by differences %v", s, c.Distribution, f.SE[j], want)
			}
		}
	}
	if compared*10 < sets*9 {
		t.Errorf("%d of %d compared", compared, sets)
	}
}

// First and second derivatives of every law by difference quotients, far out
// and between near ends too.
func TestLifetimeLawDerivatives(t *testing.T) {
	for name, law := range map[string]lifetimeLaw{"extreme value": extremeValue{}, "normal": normalLaw{}, "logistic": logisticLaw{}} {
		for _, z := range []float64{-30, -8, -2, -0.5, 0, 0.3, 2, 5} {
			for what, f := range map[string]func(float64) (float64, float64, float64){"density": law.density, "above": law.above, "below": law.below} {
				const h = 1e-5
				value, first, second := f(z)
				up, upFirst, _ := f(z + h)
				down, downFirst, _ := f(z - h)
				if !finite(value) || !near(first, (up-down)/(2*h), 1e-5) || !near(second, (upFirst-downFirst)/(2*h), 1e-5) {
					t.Errorf("%s %s at %v: %v, %v, %v; by differences %v, %v", name, what, z, value, first, second, (up-down)/(2*h), (upFirst-downFirst)/(2*h))
				}
			}
			for _, width := range []float64{1e-3, 0.5, 3} {
				const h = 1e-6
				at := func(du, dl float64) float64 { return law.between(z+width+du, z+dl) }
				value, byU, byL, _, _, _ := betweenDerivatives(law, z+width, z)
				if !finite(value) || !near(byU, (at(h, 0)-at(-h, 0))/(2*h), 1e-4) || !near(byL, (at(0, h)-at(0, -h))/(2*h), 1e-4) {
					t.Errorf("%s between %v and %v: %v, slopes %v, %v", name, z, z+width, value, byU, byL)
				}
				// The tail on the side where it is small keeps its digits.
				if a, _, _ := law.above(z); z > 0 {
					b, _, _ := law.above(z + width)
					if want := a + math.Log(-math.Expm1(b-a)); !near(value, want, 1e-9) {
						t.Errorf("%s between %v and %v: %v, by tails %v", name, z, z+width, value, want)
					}
				}
			}
		}
		for _, p := range []float64{1e-9, 0.1, 0.5, 0.999} {
			if below, _, _ := law.below(law.quantile(p)); !near(math.Exp(below)/p, 1, 1e-9) {
				t.Errorf("%s quantile of %v holds %v", name, p, math.Exp(below))
			}
		}
	}
	// Mills' ratio far out: log P(Z > 40) to seven digits from its continued fraction.
	if got, want := logNormalTail(40), -800-logRootTwoPi-math.Log(40+1/(40+2/(40+3/40.0))); !near(got, want, 1e-12) {
		t.Errorf("log P(Z > 40) = %v, want %v", got, want)
	}
}

func TestParametricRefusals(t *testing.T) {
	inf := math.Inf(1)
	rows := func(left, right []float64) EnteredIntervals {
		return EnteredIntervals{Intervals: Intervals{Left: left, Right: right}}
	}
	none := func(n int) [][]float64 { return make([][]float64, n) }
	one := func(v ...float64) (x [][]float64) {
		for _, a := range v {
			x = append(x, []float64{a})
		}
		return x
	}
	for _, c := range []struct {
		name string
		v    EnteredIntervals
		x    [][]float64
		d    LifetimeDistribution
		want error
	}{
		{"no rows", rows(nil, nil), nil, Weibull, ErrNoData},
		{"no event", rows([]float64{3, 4}, []float64{inf, inf}), none(2), Weibull, ErrNoEvents},
		{"event at the origin", rows([]float64{0, 4}, []float64{0, 4}), none(2), Weibull, ErrOriginTime},
		{"before the origin", rows([]float64{-1, 4}, []float64{2, 4}), none(2), Weibull, ErrOriginTime},
		{"interval reversed", rows([]float64{5, 4}, []float64{2, 4}), none(2), Weibull, ErrEmptyInterval},
		{"entry after exit", EnteredIntervals{[]float64{3, 5}, Intervals{[]float64{4, 4}, []float64{4, 4}}}, none(2), Weibull, ErrEntryAfterExit},
		{"all at one time", rows([]float64{5, 5, 5}, []float64{5, 5, 5}), none(3), LogNormal, ErrNoVariance},
		{"all at one time, Weibull", rows([]float64{5, 5, 5, 2}, []float64{5, 5, 5, inf}), none(4), Weibull, ErrNoVariance},
		{"visits that all hold one time", rows([]float64{2, 3, 1}, []float64{6, 5, 9}), none(3), LogLogistic, ErrNoVariance},
		{"times told by a column", rows([]float64{2, 4, 2, 4}, []float64{2, 4, 2, 4}), one(0, 1, 0, 1), Weibull, ErrNoVariance},
		{"later visits see fewer events", rows([]float64{0, 0, 30, 40}, []float64{1, 2, inf, inf}), none(4), LogNormal, ErrNoVariance},
		{"group without event", rows([]float64{2, 5, 4, 9, 8}, []float64{2, 5, 4, inf, inf}), one(0, 0, 0, 1, 1), Weibull, ErrSeparation},
		{"group without event", rows([]float64{2, 5, 4, 9, 8}, []float64{2, 5, 4, inf, inf}), one(0, 0, 0, 1, 1), Exponential, ErrSeparation},
		{"group without event", rows([]float64{2, 5, 4, 9, 8}, []float64{2, 5, 4, inf, inf}), one(0, 0, 0, 1, 1), LogNormal, ErrSeparation},
		{"only first visits", rows([]float64{0, 0, 0}, []float64{3, 4, 9}), none(3), LogNormal, ErrSeparation},
		{"constant column", rows([]float64{2, 5, 4}, []float64{2, 5, 4}), one(1, 1, 1), Weibull, ErrCollinear},
		{"column", rows([]float64{2, 5, 4}, []float64{2, 5, 4}), one(1, math.NaN(), 1), Weibull, ErrNotFinite},
	} {
		terms := []string{"a"}
		if len(c.x) == 0 || c.x[0] == nil {
			terms = nil
		}
		_, err := FitParametricSurvival(c.v, c.x, terms, c.d, ParametricOptions{})
		if !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
	}
	v := rows([]float64{2, 5, 4}, []float64{2, 5, inf})
	if _, err := FitParametricSurvival(v, none(3), nil, Weibull, ParametricOptions{Weights: []float64{1, 0, 1}}); !errors.Is(err, ErrNotPositive) {
		t.Errorf("weight of 0: %v", err)
	}
	if _, err := FitParametricSurvival(v, none(3), nil, Weibull, ParametricOptions{Cluster: []int{1, 1, 2}}); !errors.Is(err, ErrTooFewClusters) {
		t.Errorf("two clusters: %v", err)
	}
}

// A change of the unit of time moves the intercept and the log likelihood of
// exact times only; equal rows are a weight.
func TestParametricProperties(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 7))
	for s := range 40 {
		c := randomParametric(r, lifetimeDistributions[s%4])
		x, terms := c.covariates()
		v := c.times()
		f, err := FitParametricSurvival(v, x, terms, c.Distribution, ParametricOptions{})
		must(t, err)
		var weeks EnteredIntervals
		var twice EnteredIntervals
		var xs [][]float64
		for i := range v.Left {
			weeks.Left, weeks.Right = append(weeks.Left, v.Left[i]/7), append(weeks.Right, v.Right[i]/7)
			twice.Left, twice.Right = append(twice.Left, v.Left[i], v.Left[i]), append(twice.Right, v.Right[i], v.Right[i])
			xs = append(xs, x[i], x[i])
		}
		g, err := FitParametricSurvival(weeks, x, terms, c.Distribution, ParametricOptions{})
		must(t, err)
		if f.Exact == 0 || c.Distribution != Exponential || s < 4 {
			if !near(g.LogLik, f.LogLik+float64(f.Exact)*math.Log(7), 1e-8) {
				t.Errorf("set %d: log likelihood %v in weeks, %v in days", s, g.LogLik, f.LogLik)
			}
		}
		for j, b := range f.Coefficients {
			if j == 0 {
				b -= math.Log(7)
			}
			if !near(g.Coefficients[j], b, 1e-7) || !near(g.SE[j], f.SE[j], 1e-7) {
				t.Errorf("set %d: coefficient %d %v (%v) in weeks, %v (%v) in days", s, j, g.Coefficients[j], g.SE[j], b, f.SE[j])
			}
		}
		w := slices.Repeat([]float64{2}, len(x))
		h, err := FitParametricSurvival(v, x, terms, c.Distribution, ParametricOptions{Weights: w})
		must(t, err)
		d, err := FitParametricSurvival(twice, xs, terms, c.Distribution, ParametricOptions{})
		must(t, err)
		for j := range d.SE {
			if !near(h.Coefficients[j], d.Coefficients[j], 1e-8) || !near(h.ModelSE[j], d.SE[j], 1e-8) {
				t.Errorf("set %d: weights %v (%v), rows twice %v (%v)", s, h.Coefficients[j], h.ModelSE[j], d.Coefficients[j], d.SE[j])
			}
		}
	}
}
