package stats

import (
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// Each kind's coefficients, model-based and robust errors are those of a model
// of its own; only the covariances between kinds are new.
func TestFitMarginalCoxIsSeparateModels(t *testing.T) {
	r := rand.New(rand.NewPCG(12, 34))
	fitted := 0
	for i := range 40 {
		var rows Times
		var x [][]float64
		var kind, child []int
		separate := make([]coxCase, 3)
		n := 40 + r.IntN(30)
		for id := range n {
			covariates := []float64{float64(r.IntN(2)), float64(r.IntN(9))}
			for k := range separate {
				exit, status := float64(1+r.IntN(12)), r.IntN(2)
				rows.Exit = append(rows.Exit, exit)
				rows.Status = append(rows.Status, status == 1)
				x, kind, child = append(x, covariates), append(kind, k), append(child, id)
				s := &separate[k]
				s.Exit, s.Status, s.X = append(s.Exit, exit), append(s.Status, status), append(s.X, covariates)
				s.Cluster = append(s.Cluster, id)
			}
		}
		ties := []string{TiesEfron, TiesBreslow}[i%2]
		f, err := FitMarginalCox(rows, x, []string{"sex", "age"}, kind, []string{"left", "right", "back"}, CoxOptions{Cluster: child, Ties: ties})
		if err != nil {
			continue
		}
		fitted++
		if f.Terms[4] != "age (right)" || f.Strata != 3 || f.Clusters != n {
			t.Fatalf("%+v", f)
		}
		logLik := 0.0
		for k, s := range separate {
			one := mustCox(t, s.times(), s.X, []string{"sex", "age"}, CoxOptions{Cluster: s.Cluster, Ties: ties})
			logLik += one.LogLik
			for j := range 2 {
				at := 3*j + k
				if !near(f.Coefficients[at], one.Coefficients[j], 1e-9) || !near(f.SE[at], one.SE[j], 1e-9) || !near(f.ModelSE[at], one.ModelSE[j], 1e-9) {
					t.Errorf("%s: %v (%v, %v), alone %v (%v, %v)", f.Terms[at], f.Coefficients[at], f.SE[at], f.ModelSE[at], one.Coefficients[j], one.SE[j], one.ModelSE[j])
				}
			}
			if !near(f.Covariance[k][3+k], one.Covariance[0][1], 1e-9) {
				t.Errorf("covariance %v, alone %v", f.Covariance[k][3+k], one.Covariance[0][1])
			}
		}
		if !near(f.LogLik, logLik, 1e-10) {
			t.Errorf("log likelihood %v, alone %v", f.LogLik, logLik)
		}
	}
	if fitted < 35 {
		t.Errorf("%d of 40 fitted", fitted)
	}
}

// A second kind that is the first one again, for the same children, has the same
// coefficient, and says nothing more: the covariance is singular.
func TestFitMarginalCoxSameKindTwice(t *testing.T) {
	var rows Times
	var x [][]float64
	var kind, child []int
	for id := range 40 {
		for k := range 2 {
			rows.Exit = append(rows.Exit, float64(1+(id*7)%23))
			rows.Status = append(rows.Status, id%3 > 0)
			x, kind, child = append(x, []float64{float64(id % 2)}), append(kind, k), append(child, id)
		}
	}
	f, err := FitMarginalCox(rows, x, []string{"sex"}, kind, []string{"left", "right"}, CoxOptions{Cluster: child})
	if err != nil {
		t.Fatal(err)
	}
	if !near(f.Coefficients[0], f.Coefficients[1], 1e-12) || !near(f.Covariance[0][1], f.Covariance[0][0], 1e-12) {
		t.Errorf("coefficients %v, covariance %v", f.Coefficients, f.Covariance)
	}
	if _, _, err := f.WeightedAverage("sex", []int{0, 1}, 0); !errors.Is(err, ErrTooFewClusters) || !strings.Contains(err.Error(), `"sex (right)"`) {
		t.Errorf("average: %v", err)
	}
	if test := f.JointTest("both", []int{0, 1}); !math.IsNaN(test.Statistic) || !hasWarning(test.Warnings, "singular-covariance") {
		t.Errorf("%+v", test)
	}
}

func TestFitMarginalCoxRefused(t *testing.T) {
	rows := Times{Exit: []float64{1, 2, 3, 1, 2, 3}, Status: []bool{true, true, false, false, false, false}}
	x := columns([]float64{0, 1, 0, 1, 0, 1})
	kind, child := []int{0, 0, 0, 1, 1, 1}, []int{1, 2, 3, 1, 2, 3}
	_, err := FitMarginalCox(rows, x, []string{"sex"}, kind, []string{"first", "second"}, CoxOptions{Cluster: child})
	if !errors.Is(err, ErrNoEvents) || !strings.Contains(err.Error(), `of "second"`) {
		t.Errorf("%v", err)
	}
	for name, f := range map[string]func() (Fit, error){
		"no cluster": func() (Fit, error) {
			return FitMarginalCox(rows, x, []string{"sex"}, kind, []string{"first", "second"}, CoxOptions{})
		},
		"strata": func() (Fit, error) {
			return FitMarginalCox(rows, x, []string{"sex"}, kind, []string{"first", "second"}, CoxOptions{Cluster: child, Strata: kind})
		},
		"unknown kind": func() (Fit, error) {
			return FitMarginalCox(rows, x, []string{"sex"}, kind, []string{"first"}, CoxOptions{Cluster: child})
		},
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s was taken", name)
				}
			}()
			_, _ = f()
		}()
	}
}
