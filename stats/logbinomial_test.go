package stats

import (
	"errors"
	"fmt"
	"math"
	"testing"
)

// tableRows lays out a table of one covariate row, events and others for each
// line.
func tableRows(lines []struct {
	x           []float64
	yes, others int
},
) (x [][]float64, y []bool) {
	for _, l := range lines {
		for i := range l.yes + l.others {
			x, y = append(x, l.x), append(y, i < l.yes)
		}
	}
	return x, y
}

type tableLine = struct {
	x           []float64
	yes, others int
}

// Of a single yes-or-no exposure the ratio is that of the risks with Katz's
// limits, the log likelihood that of two binomials.
func TestLogBinomialByHand(t *testing.T) {
	x, y := tableRows([]tableLine{{[]float64{1}, 13, 12}, {[]float64{0}, 5, 20}})
	f, err := FitLogBinomial(x, []string{"exposed"}, y, GLMOptions{})
	must(t, err)
	want, err := RiskRatio(13, 12, 5, 20, LimitOptions{})
	must(t, err)
	e := f.Estimates[0]
	if e.Measure != "risk ratio" || !near(e.Value, 2.6, 1e-12) || !near(e.SE, want.SE, 1e-12) || !near(e.Lower, want.Lower, 1e-12) || !near(e.P, want.P, 1e-12) {
		t.Errorf("%+v, want %+v", e, want)
	}
	if !near(f.Coefficients[0], math.Log(0.2), 1e-12) {
		t.Errorf("intercept %v, want log 1/5", f.Coefficients[0])
	}
	logLik := 13*math.Log(13.0/25) + 12*math.Log(12.0/25) + 5*math.Log(0.2) + 20*math.Log(0.8)
	null := 18*math.Log(18.0/50) + 32*math.Log(32.0/50)
	if !near(f.LogLik, logLik, 1e-12) || !near(f.NullLogLik, null, 1e-12) || !near(f.Deviance, -2*logLik, 1e-12) {
		t.Errorf("log likelihood %v (null %v), want %v (%v)", f.LogLik, f.NullLogLik, logLik, null)
	}
	// Robust errors of single rows are, uncorrected, the same: each level has its
	// own risk.
	rows := make([]int, len(y))
	for i := range rows {
		rows[i] = i
	}
	r, err := FitLogBinomial(x, []string{"exposed"}, y, GLMOptions{Cluster: rows, Robust: CR0})
	must(t, err)
	if !near(r.SE[1], want.SE, 1e-10) {
		t.Errorf("robust SE %v, want %v", r.SE[1], want.SE)
	}
}

// Risks of exactly 1/8, 2/8, 4/8 are a model with one trend: the maximum is where
// every fitted risk is the one seen.
func TestLogBinomialTrend(t *testing.T) {
	x, y := tableRows([]tableLine{{[]float64{0}, 10, 70}, {[]float64{1}, 20, 60}, {[]float64{2}, 40, 40}})
	f, err := FitLogBinomial(x, []string{"dose"}, y, GLMOptions{})
	must(t, err)
	if !near(f.Estimates[0].Value, 2, 1e-11) || !near(math.Exp(f.Coefficients[0]), 0.125, 1e-11) {
		t.Errorf("risks %v and ratio %v, want 1/8 and 2", math.Exp(f.Coefficients[0]), f.Estimates[0].Value)
	}
	// Information Σ n μ/(1−μ) xx' = 80/7, 80/3, 80 at doses 0, 1, 2; its inverse's
	// lower right entry is Σw / (Σw Σwd² − (Σwd)²).
	w := [3]float64{80.0 / 7, 80.0 / 3, 80}
	s0, s1, s2 := w[0]+w[1]+w[2], w[1]+2*w[2], w[1]+4*w[2]
	if want := math.Sqrt(s0 / (s0*s2 - s1*s1)); !near(f.SE[1], want, 1e-10) {
		t.Errorf("SE %v, want %v", f.SE[1], want)
	}
}

func TestLogBinomialRefuses(t *testing.T) {
	for _, c := range []struct {
		name  string
		lines []tableLine
		want  error
	}{
		{"no rows", nil, ErrNoData},
		{"no events", []tableLine{{[]float64{0}, 0, 3}, {[]float64{1}, 0, 3}}, ErrNoEvents},
		{"events only", []tableLine{{[]float64{0}, 3, 0}, {[]float64{1}, 3, 0}}, ErrNoVariance},
		{"a level without events", []tableLine{{[]float64{0}, 4, 3}, {[]float64{1}, 0, 9}}, ErrSeparation},
		{"a level with events only", []tableLine{{[]float64{0}, 4, 3}, {[]float64{1}, 9, 0}}, ErrBoundary},
		// Risks 0.2, 0.9, 0.95 on a line of logs: the best line goes above 1.
		{"a trend beyond 1", []tableLine{{[]float64{0}, 20, 80}, {[]float64{1}, 90, 10}, {[]float64{2}, 95, 5}, {[]float64{3}, 20, 0}}, ErrBoundary},
		{"a constant", []tableLine{{[]float64{1}, 4, 3}}, ErrCollinear},
		// The two columns differ in two rows alone, both with the outcome, on
		// either side: the likelihood does not depend on how they share.
		{"undetermined by the others", []tableLine{{[]float64{0}, 8, 12}, {[]float64{1}, 1, 0}, {[]float64{-1}, 1, 0}}, ErrCollinear},
	} {
		x, y := tableRows(c.lines)
		_, err := FitLogBinomial(x, []string{"x"}, y, GLMOptions{})
		if !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
		t.Log(err)
	}
	panics(t, "dispersion", func() { _, _ = FitLogBinomial(nil, nil, nil, GLMOptions{Dispersion: true}) })
}

// Where every child of a level has the outcome there is no maximum inside.
func ExampleFitLogBinomial() {
	x := [][]float64{{0}, {0}, {0}, {0}, {1}, {1}, {1}, {1}}
	f, err := FitLogBinomial(x, []string{"early growth"}, []bool{true, false, false, false, true, true, true, false}, GLMOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("risk ratio %.2f\n", f.Estimates[0].Value)
	_, err = FitLogBinomial(x, []string{"early growth"}, []bool{true, false, false, false, true, true, true, true}, GLMOptions{})
	fmt.Println(errors.Is(err, ErrBoundary))
	// Output:
	// risk ratio 3.00
	// true
}
