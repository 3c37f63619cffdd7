package stats

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"testing"
)

// What survival.R answers. It writes every number as a vector.
type survivalOutput struct {
	Version []string
	Cases   []survivalAnswer
}

type survivalAnswer struct {
	Curve struct {
		Time             []float64
		AtRisk           []int `json:"at_risk"`
		Events, Censored []int
		Survival, SE     []number
		Lower, Upper     [][]number // log-log, log, plain
		Median           []number
		MedianLower      []number `json:"median_lower"`
		MedianUpper      []number `json:"median_upper"`
	}
	LogRank struct {
		Score              []number
		Observed, Expected []number
		Chisq, Stratified  []number
		Variance           [][]number
	}
	Efron, Breslow coxAnswer
}

type coxAnswer struct {
	Coefficients  []number
	Model, Robust [][]number
	LogLik        []number
	Score, Wald   []number
	Warned        []bool
}

// TestSurvivalAgainstStoredR compares with the committed output of survival.R
// on survival_input.json, made as survival.R says.
func TestSurvivalAgainstStoredR(t *testing.T) {
	var cases []survivalCase
	var out survivalOutput
	for name, into := range map[string]any{"survival_input.json": &cases, "survival_output.json": &out} {
		b, err := os.ReadFile(filepath.Join("testdata", "crosscheck", name))
		if err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal(b, into); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
	}
	compareSurvival(t, cases, out)
}

// TestSurvivalAgainstR compares with R itself on random data: 120 data sets
// where everybody is there from the start and 120 with late entry.
func TestSurvivalAgainstR(t *testing.T) {
	r := rand.New(rand.NewPCG(20, 26))
	var cases []survivalCase
	for i := range 240 {
		cases = append(cases, randomCase(r, 8+r.IntN(60), i%2 == 1))
	}
	var out survivalOutput
	crosscheck(t, "survival.R", cases, &out)
	compareSurvival(t, cases, out)
}

func compareSurvival(t *testing.T, cases []survivalCase, out survivalOutput) {
	t.Helper()
	if len(out.Cases) != len(cases) || len(cases) == 0 {
		t.Fatalf("%d answers for %d cases", len(out.Cases), len(cases))
	}
	fitted, refused := 0, 0
	for i, c := range cases {
		want := out.Cases[i]
		t.Run(fmt.Sprintf("case %d", i+1), func(t *testing.T) {
			compareCurve(t, c, want)
			compareLogRank(t, c, want)
			for ties, answer := range map[string]coxAnswer{TiesEfron: want.Efron, TiesBreslow: want.Breslow} {
				if compareCox(t, c, ties, answer) {
					fitted++
				} else {
					refused++
				}
			}
		})
	}
	t.Logf("%s: %d Cox models compared, %d refused here", out.Version, fitted, refused)
	if refused*5 > fitted {
		t.Errorf("%d Cox models refused, %d fitted: too few compared", refused, fitted)
	}
}

// Curves agree to 1e-10: both sides multiply the same fractions.
func compareCurve(t *testing.T, c survivalCase, answer survivalAnswer) {
	t.Helper()
	want := answer.Curve
	for k, limits := range []string{LimitsLogLog, LimitsLog, LimitsPlain} {
		got, err := KaplanMeier(c.times(), CurveOptions{Limits: limits})
		if err != nil {
			t.Fatal(err)
		}
		if len(got.Time) != len(want.Time) {
			t.Fatalf("%d times, want %d", len(got.Time), len(want.Time))
		}
		for i := range got.Time {
			if got.Time[i] != want.Time[i] || got.AtRisk[i] != want.AtRisk[i] ||
				got.Events[i] != want.Events[i] || got.Censored[i] != want.Censored[i] {
				t.Errorf("step %d: time, at risk, events, censored %v %d %d %d, want %v %d %d %d", i,
					got.Time[i], got.AtRisk[i], got.Events[i], got.Censored[i],
					want.Time[i], want.AtRisk[i], want.Events[i], want.Censored[i])
			}
			for _, pair := range []struct {
				what      string
				got, want float64
			}{
				{"survival", got.Survival[i], float64(want.Survival[i])},
				{"SE", got.SE[i], float64(want.SE[i])},
				{limits + " lower", got.Lower[i], float64(want.Lower[k][i])},
				{limits + " upper", got.Upper[i], float64(want.Upper[k][i])},
			} {
				if pair.what == "SE" && got.Survival[i] == 0 {
					pair.want = math.NaN() // 0 times infinity there
				}
				if !near(pair.got, pair.want, 1e-10) {
					t.Errorf("%s at %v: got %v, want %v", pair.what, got.Time[i], pair.got, pair.want)
				}
			}
		}
		if k == 0 {
			compareMedian(t, got, answer)
		}
	}
}

// R gives the midpoint of a stretch at exactly one half; here it is in the
// warning, and taken from the curve. R looks limits up as if they only fell;
// the log-log lower limit can rise after an early step, and is then left out.
func compareMedian(t *testing.T, c Curve, answer survivalAnswer) {
	t.Helper()
	e := c.Quantile(0.5)
	want := float64(answer.Curve.Median[0])
	got := e.Value
	if hasWarning(e.Warnings, "level-stretch") {
		i := slices.Index(c.Time, got)
		end := c.Time[len(c.Time)-1]
		for j := len(c.Time) - 1; c.Survival[j] < c.Survival[i]; j-- {
			end = c.Time[j]
		}
		got = (got + end) / 2
	}
	if !near(got, want, 1e-12) {
		t.Errorf("median %v, want %v", got, want)
	}
	upper := e.Upper
	if math.IsInf(upper, 1) {
		upper = math.NaN() // R writes both "unbounded" and "not estimable" as NA
	}
	falls := true
	for i := 1; i < len(c.Lower); i++ {
		falls = falls && !(c.Lower[i] > c.Lower[i-1])
	}
	if (falls && !near(e.Lower, float64(answer.Curve.MedianLower[0]), 1e-12)) || !near(upper, float64(answer.Curve.MedianUpper[0]), 1e-12) {
		t.Errorf("limits of the median %v %v, want %v %v", e.Lower, e.Upper, answer.Curve.MedianLower, answer.Curve.MedianUpper)
	}
}

func compareLogRank(t *testing.T, c survivalCase, answer survivalAnswer) {
	t.Helper()
	want := answer.LogRank
	k := 1
	for _, g := range c.Group {
		k = max(k, g+1)
	}
	got, err := LogRank(c.times(), c.Group, k, LogRankOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if !near(got.Test.Statistic, float64(want.Score[0]), 1e-8) {
		t.Errorf("log-rank statistic %v, score test %v", got.Test.Statistic, want.Score[0])
	}
	if want.Chisq == nil {
		return
	}
	if !near(got.Test.Statistic, float64(want.Chisq[0]), 1e-9) {
		t.Errorf("log-rank statistic %v, want %v", got.Test.Statistic, want.Chisq[0])
	}
	for g := range k {
		if !near(got.Observed[g], float64(want.Observed[g]), 0) || !near(got.Expected[g], float64(want.Expected[g]), 1e-10) {
			t.Errorf("group %d: observed %v expected %v, want %v %v", g, got.Observed[g], got.Expected[g], want.Observed[g], want.Expected[g])
		}
		for h := range k {
			if !near(got.Variance[g][h], float64(want.Variance[g][h]), 1e-10) {
				t.Errorf("variance %d %d: %v, want %v", g, h, got.Variance[g][h], want.Variance[g][h])
			}
		}
	}
	got, err = LogRank(c.times(), c.Group, k, LogRankOptions{Strata: c.Stratum})
	if err != nil {
		t.Fatal(err)
	}
	if !near(got.Test.Statistic, float64(want.Stratified[0]), 1e-9) {
		t.Errorf("stratified log-rank statistic %v, want %v", got.Test.Statistic, want.Stratified[0])
	}
}

// compareCox reports whether there was a fit to compare. Both sides iterate: R
// stops when the log likelihood changes by less than 1e-11 of itself, at worst
// some 1e-8 standard errors from the maximum, hence 1e-6.
func compareCox(t *testing.T, c survivalCase, ties string, want coxAnswer) bool {
	t.Helper()
	got, err := FitCox(c.times(), c.X, c.terms(), CoxOptions{Ties: ties, Cluster: c.Cluster})
	return compareCoxFit(t, ties, got, err, want, true)
}

func compareCoxFit(t *testing.T, ties string, got Fit, err error, want coxAnswer, robust bool) bool {
	t.Helper()
	switch {
	case errors.Is(err, ErrTooFewClusters):
		return false // not more clusters than coefficients: no robust errors
	case errors.Is(err, ErrSeparation), errors.Is(err, ErrCollinear):
		largest := 0.0
		for _, b := range want.Coefficients {
			if math.IsNaN(float64(b)) {
				return false
			}
			largest = math.Max(largest, math.Abs(float64(b)))
		}
		if largest < 8 {
			t.Errorf("%s: %v, but R found %v", ties, err, want.Coefficients)
		}
		return false
	case err != nil:
		t.Errorf("%s: %v", ties, err)
		return false
	}
	check := func(what string, got float64, want number, tolerance float64) {
		t.Helper()
		if !near(got, float64(want), tolerance) {
			t.Errorf("%s %s: got %v, want %v", ties, what, got, want)
		}
	}
	if want.Warned[0] {
		t.Errorf("%s: fitted here, but R warned: %v", ties, want.Coefficients)
	}
	check("log likelihood at 0", got.NullLogLik, want.LogLik[0], 1e-10)
	check("log likelihood", got.LogLik, want.LogLik[1], 1e-10)
	check("score test", got.Tests[2].Statistic, want.Score[0], 1e-8)
	if covariance := want.Model; robust {
		check("Wald test", got.Tests[1].Statistic, want.Wald[0], 1e-6)
	} else {
		want.Robust = covariance
	}
	for i := range got.Coefficients {
		check("coefficient", got.Coefficients[i], want.Coefficients[i], 1e-6)
		check("model SE", got.ModelSE[i], number(math.Sqrt(float64(want.Model[i][i]))), 1e-6)
		for j := range got.Coefficients {
			check("covariance", got.Covariance[i][j], want.Robust[i][j], 1e-6)
		}
	}
	return true
}

func hasWarning(ws []Warning, code string) bool {
	for _, w := range ws {
		if w.Code == code {
			return true
		}
	}
	return false
}
