package stats

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// In the saturated model of a group by strata the marginal risks are the
// directly standardised ones, with the delta method's error.
func TestMarginalRiskIsStandardised(t *testing.T) {
	// Stratum 0: exposed 3 of 10, others 2 of 20; stratum 1: 6 of 8, 5 of 12.
	cells := [][4]float64{{1, 0, 3, 10}, {0, 0, 2, 20}, {1, 1, 6, 8}, {0, 1, 5, 12}}
	var x, one, zero [][]float64
	var y []bool
	for _, c := range cells {
		for i := range int(c[3]) {
			x = append(x, []float64{c[0], c[1], c[0] * c[1]})
			one, zero = append(one, []float64{1, c[1], c[1]}), append(zero, []float64{0, c[1], 0})
			y = append(y, i < int(c[2]))
		}
	}
	f, err := FitLogistic(x, []string{"exposed", "stratum", "both"}, y, GLMOptions{})
	must(t, err)
	share := 20.0 / 50
	risk1 := (1-share)*0.3 + share*0.75
	risk0 := (1-share)*0.1 + share*5/12
	v1 := (1-share)*(1-share)*0.3*0.7/10 + share*share*0.75*0.25/8
	v0 := (1-share)*(1-share)*0.1*0.9/20 + share*share*5*7/(12.0*12*12)
	m, err := MarginalRisk(f, one, MarginalOptions{})
	must(t, err)
	logit := math.Sqrt(v1) / (risk1 * (1 - risk1))
	if !near(m.Value, risk1, 1e-9) || !near(m.SE, logit, 1e-8) {
		t.Errorf("risk %v (%v), want %v (%v)", m.Value, m.SE, risk1, logit)
	}
	d, err := MarginalRiskDifference(f, one, zero, MarginalOptions{})
	must(t, err)
	if !near(d.Value, risk1-risk0, 1e-9) || !near(d.SE, math.Sqrt(v1+v0), 1e-8) {
		t.Errorf("difference %v (%v), want %v (%v)", d.Value, d.SE, risk1-risk0, math.Sqrt(v1+v0))
	}
	r, err := MarginalRiskRatio(f, one, zero, MarginalOptions{})
	must(t, err)
	if !near(r.Value, risk1/risk0, 1e-9) || !near(r.SE, math.Sqrt(v1/risk1/risk1+v0/risk0/risk0), 1e-8) {
		t.Errorf("ratio %v (%v)", r.Value, r.SE)
	}
}

// A second implementation: gradients by differences of the coefficients, with
// the clustered covariance of a marginal model.
func TestMarginalRiskByDifferences(t *testing.T) {
	r := rand.New(rand.NewPCG(20, 4))
	for range 30 {
		c := randomGEE(r, GEEBinomial)
		g, err := FitGEE(c.X, []string{"group", "z"}, c.Y, nil, GEEOptions{Family: GEEBinomial, Cluster: c.Cluster})
		if err != nil {
			continue
		}
		set := func(v float64) [][]float64 {
			out := make([][]float64, len(c.X))
			for i, row := range c.X {
				out[i] = []float64{v, row[1]}
			}
			return out
		}
		d, err := MarginalRiskDifference(g.Fit, set(1), set(0), MarginalOptions{})
		must(t, err)
		at := func(b []float64) float64 {
			sum := 0.0
			for _, row := range c.X {
				sum += 1/(1+math.Exp(-b[0]-b[1]-b[2]*row[1])) - 1/(1+math.Exp(-b[0]-b[2]*row[1]))
			}
			return sum / float64(len(c.X))
		}
		gradient := make([]float64, 3)
		for j := range 3 {
			up, down := slices.Clone(g.Coefficients), slices.Clone(g.Coefficients)
			up[j] += 1e-5
			down[j] -= 1e-5
			gradient[j] = (at(up) - at(down)) / 2e-5
		}
		variance := 0.0
		for j := range 3 {
			variance += gradient[j] * dot(g.Covariance[j], gradient)
		}
		if !near(d.Value, at(g.Coefficients), 1e-12) || !near(d.SE, math.Sqrt(variance), 1e-8) {
			t.Errorf("difference %v (%v), by differences %v (%v)", d.Value, d.SE, at(g.Coefficients), math.Sqrt(variance))
		}
	}
	if _, err := MarginalRisk(Fit{}, nil, MarginalOptions{}); !errors.Is(err, ErrNoData) {
		t.Errorf("no rows: %v", err)
	}
}

// Of a single yes-or-no exposure the ratio is that of the risks and, uncorrected,
// its error Katz's.
func TestModifiedPoissonByHand(t *testing.T) {
	var x [][]float64
	var y []bool
	for i := range 50 {
		x, y = append(x, []float64{float64(i / 25)}), append(y, i%25 < 5+8*(i/25))
	}
	f, err := FitModifiedPoisson(x, []string{"exposed"}, y, GLMOptions{Uncorrected: true})
	must(t, err)
	want, err := RiskRatio(13, 12, 5, 20, LimitOptions{})
	must(t, err)
	if e := f.Estimates[0]; e.Measure != "risk ratio" || !near(e.Value, want.Value, 1e-9) || !near(e.SE, want.SE, 1e-9) || !near(e.Upper, want.Upper, 1e-9) {
		t.Errorf("%+v, want %+v", e, want)
	}
	for i := range y {
		y[i] = true
	}
	if _, err := FitModifiedPoisson(x, []string{"exposed"}, y, GLMOptions{}); !errors.Is(err, ErrNoVariance) {
		t.Errorf("all with the outcome: %v", err)
	}
}

// In a model of log risks without products the ratio of marginal risks is that
// of the model, and so is its error; risks and difference by a second
// implementation, gradients by differences of the coefficients.
func TestMarginalRiskOfLogRisks(t *testing.T) {
	r := rand.New(rand.NewPCG(20, 5))
	compared, above := 0, 0
	for i := range 60 {
		c := randomRisks(r)
		fit := FitLogBinomial
		if i%2 == 1 {
			fit = FitModifiedPoisson
		}
		f, err := fit(c.X, []string{"group", "z"}, c.Yes, GLMOptions{Cluster: c.Cluster})
		if err != nil {
			continue
		}
		one, zero := make([][]float64, len(c.X)), make([][]float64, len(c.X))
		for i, row := range c.X {
			one[i], zero[i] = []float64{1, row[1]}, []float64{0, row[1]}
		}
		ratio, err := MarginalRiskRatio(f, one, zero, MarginalOptions{})
		if errors.Is(err, ErrBoundary) {
			above++
			continue
		}
		must(t, err)
		compared++
		if e := f.Estimates[0]; !near(ratio.Value, e.Value, 1e-10) || !near(ratio.SE, e.SE, 1e-10) || !near(ratio.P, e.P, 1e-10) {
			t.Errorf("ratio %v (%v), want %v (%v)", ratio.Value, ratio.SE, e.Value, e.SE)
		}
		mean := func(b []float64, group float64) float64 {
			sum := 0.0
			for _, row := range c.X {
				sum += math.Exp(b[0] + b[1]*group + b[2]*row[1])
			}
			return sum / float64(len(c.X))
		}
		spread := func(g func(b []float64) float64) float64 {
			gradient := make([]float64, 3)
			for j := range 3 {
				up, down := slices.Clone(f.Coefficients), slices.Clone(f.Coefficients)
				up[j] += 1e-5
				down[j] -= 1e-5
				gradient[j] = (g(up) - g(down)) / 2e-5
			}
			variance := 0.0
			for j := range 3 {
				variance += gradient[j] * dot(f.Covariance[j], gradient)
			}
			return math.Sqrt(variance)
		}
		risk, err := MarginalRisk(f, one, MarginalOptions{})
		must(t, err)
		logit := spread(func(b []float64) float64 { m := mean(b, 1); return math.Log(m / (1 - m)) })
		if !near(risk.Value, mean(f.Coefficients, 1), 1e-12) || !near(risk.SE, logit, 1e-7) {
			t.Errorf("risk %v (%v), want %v (%v)", risk.Value, risk.SE, mean(f.Coefficients, 1), logit)
		}
		d, err := MarginalRiskDifference(f, one, zero, MarginalOptions{})
		must(t, err)
		apart := func(b []float64) float64 { return mean(b, 1) - mean(b, 0) }
		if !near(d.Value, apart(f.Coefficients), 1e-12) || !near(d.SE, spread(apart), 1e-8) {
			t.Errorf("difference %v (%v), want %v (%v)", d.Value, d.SE, apart(f.Coefficients), spread(apart))
		}
	}
	if compared < 20 || above == 0 {
		t.Errorf("%d compared, %d with risks above 1", compared, above)
	}
	counts, err := FitPoisson([][]float64{{0}, {1}, {0}, {1}}, []string{"x"}, []float64{1, 2, 3, 4}, nil, GLMOptions{})
	must(t, err)
	odds, err := FitFirth([][]float64{{0}, {1}, {0}, {1}}, []string{"x"}, []bool{true, false, false, true}, FirthOptions{})
	must(t, err)
	panics(t, "not a model of rates", func() { _, _ = MarginalRate(odds, [][]float64{{1}}, []float64{1}, MarginalOptions{}) })
	panics(t, "not a model of risks", func() { _, _ = MarginalRisk(counts, [][]float64{{1}}, MarginalOptions{}) })
}
