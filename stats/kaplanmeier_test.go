package stats

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"
)

// exactly compares with fractions worked by hand; both sides round a few times.
func exactly(t *testing.T, what string, got, want float64) {
	t.Helper()
	if !near(got, want, 4e-15) {
		t.Errorf("%s: got %.17g, want %.17g", what, got, want)
	}
}

// lateRows covers late entry, entries tied with an event, tied events and
// censorings tied with events. At 4 rows 1, 2, 3 and 7 are at risk (those
// entering at 4 are not yet), at 6 rows 2, 4, 5, 6, 7, at 9 rows 5 and 7.
var lateRows = Times{
	Entry:  []float64{0, 0, 2, 4, 4, 5, 0},
	Exit:   []float64{4, 6, 4, 6, 9, 6, 10},
	Status: []bool{true, false, false, true, true, true, false},
}

func TestKaplanMeierByHand(t *testing.T) {
	// The row censored at 3 is at risk for the event at 3.
	c := mustCurve(t, Times{
		Exit:   []float64{5, 3, 7, 3, 8, 5},
		Status: []bool{true, false, false, true, true, true},
	}, CurveOptions{})
	if !slices.Equal(c.Time, []float64{3, 5, 7, 8}) || !slices.Equal(c.AtRisk, []int{6, 4, 2, 1}) ||
		!slices.Equal(c.Events, []int{1, 2, 0, 1}) || !slices.Equal(c.Censored, []int{1, 0, 1, 0}) || c.N != 6 {
		t.Errorf("counts %+v", c)
	}
	for i, want := range []float64{5.0 / 6, 5.0 / 12, 5.0 / 12, 0} {
		exactly(t, "survival", c.Survival[i], want)
	}
	// 25/36 (1/30) and 25/144 (1/30 + 2/8).
	exactly(t, "SE at 3", c.SE[0], math.Sqrt(5.0/216))
	exactly(t, "SE at 5", c.SE[1], math.Sqrt(85.0/1728))
	if !math.IsNaN(c.SE[3]) || !math.IsNaN(c.Lower[3]) || !math.IsNaN(c.Upper[3]) {
		t.Errorf("SE and limits where survival is 0: %v %v %v, want NaN", c.SE[3], c.Lower[3], c.Upper[3])
	}
	if len(c.Warnings) > 0 {
		t.Errorf("warnings %v", c.Warnings)
	}
}

func TestKaplanMeierDelayedEntryByHand(t *testing.T) {
	c := mustCurve(t, lateRows, CurveOptions{})
	if !slices.Equal(c.Time, []float64{4, 6, 9, 10}) || !slices.Equal(c.AtRisk, []int{4, 5, 2, 1}) ||
		!slices.Equal(c.Events, []int{1, 2, 1, 0}) || !slices.Equal(c.Censored, []int{1, 1, 0, 1}) ||
		!slices.Equal(c.Entered, []int{6, 1, 0, 0}) {
		t.Errorf("counts %+v", c)
	}
	for i, want := range []float64{3.0 / 4, 9.0 / 20, 9.0 / 40, 9.0 / 40} {
		exactly(t, "survival", c.Survival[i], want)
	}
	// 9/16 (1/12), 81/400 (1/12 + 2/15), 81/1600 (1/12 + 2/15 + 1/2).
	for i, want := range []float64{3.0 / 64, 351.0 / 8000, 1161.0 / 32000} {
		exactly(t, "SE", c.SE[i], math.Sqrt(want))
	}
	if !hasWarning(c.Warnings, "small-risk-set") {
		t.Errorf("4 at risk at the first event and 5 later: warnings %v", c.Warnings)
	}
}

// The limits are symmetric on the scale they are named after.
func TestKaplanMeierLimits(t *testing.T) {
	const z90 = 1.6448536269514722 // normal quantile of 0.95
	for limits, scale := range map[string]func(float64) float64{
		LimitsLogLog: func(s float64) float64 { return math.Log(-math.Log(s)) },
		LimitsLog:    math.Log,
		LimitsPlain:  func(s float64) float64 { return s },
	} {
		c := mustCurve(t, lateRows, CurveOptions{Limits: limits, Level: 0.9})
		slope := map[string]float64{
			LimitsLogLog: 1 / (0.45 * math.Log(0.45)), LimitsLog: 1 / 0.45, LimitsPlain: 1,
		}[limits]
		half := z90 * math.Abs(slope) * math.Sqrt(351.0/8000)
		if got := math.Abs(scale(c.Lower[1]) - scale(c.Survival[1])); !near(got, half, 1e-12) {
			t.Errorf("%s: lower limit %v away on its scale, want %v", limits, got, half)
		}
		if got := math.Abs(scale(c.Upper[1]) - scale(c.Survival[1])); c.Upper[1] < 1 && !near(got, half, 1e-12) {
			t.Errorf("%s: upper limit %v away on its scale, want %v", limits, got, half)
		}
		if !(c.Lower[1] < c.Survival[1] && c.Survival[1] < c.Upper[1]) || c.Level != 0.9 || !strings.HasPrefix(c.Method, limits) {
			t.Errorf("%s: %v %v %v level %v method %q", limits, c.Lower[1], c.Survival[1], c.Upper[1], c.Level, c.Method)
		}
	}
	plain := mustCurve(t, lateRows, CurveOptions{Limits: LimitsPlain})
	if plain.Lower[2] != 0 || plain.Upper[0] != 1 {
		t.Errorf("plain limits leave [0, 1]: %v %v", plain.Lower[2], plain.Upper[0])
	}
}

func TestKaplanMeierEdges(t *testing.T) {
	all := mustCurve(t, Times{Exit: []float64{2, 3, 3}, Status: make([]bool, 3)}, CurveOptions{})
	if !slices.Equal(all.Survival, []float64{1, 1}) || !slices.Equal(all.SE, []float64{0, 0}) || !math.IsNaN(all.Lower[0]) {
		t.Errorf("all censored: %+v", all)
	}
	log := mustCurve(t, Times{Exit: []float64{2, 3, 3}, Status: make([]bool, 3)}, CurveOptions{Limits: LimitsLog})
	if log.Lower[0] != 1 || log.Upper[0] != 1 {
		t.Errorf("log limits where survival is 1: %v %v", log.Lower[0], log.Upper[0])
	}
	one := mustCurve(t, Times{Exit: []float64{5}, Status: []bool{true}}, CurveOptions{})
	if one.Survival[0] != 0 || one.AtRisk[0] != 1 {
		t.Errorf("one row: %+v", one)
	}
	atOrigin := mustCurve(t, Times{Exit: []float64{0, 1}, Status: []bool{true, true}}, CurveOptions{})
	if !slices.Equal(atOrigin.AtRisk, []int{2, 1}) || atOrigin.Survival[0] != 0.5 {
		t.Errorf("an event at the origin: %+v", atOrigin)
	}
}

func TestTimesRefused(t *testing.T) {
	for _, c := range []struct {
		rows Times
		want error
		text string
	}{
		{Times{}, ErrNoData, ""},
		{Times{Entry: []float64{0, 3, 4}, Exit: []float64{2, 3, 1}, Status: make([]bool, 3)}, ErrEntryAfterExit, "2 of 3 rows (row 2, 3)"},
		{Times{Exit: []float64{2, -1}, Status: make([]bool, 2)}, ErrEntryAfterExit, "1 of 2 rows (row 2)"},
		{Times{Exit: []float64{2, math.NaN()}, Status: make([]bool, 2)}, ErrNotFinite, "1 of 2 rows (row 2)"},
		{Times{Exit: []float64{math.Inf(1)}, Status: []bool{true}}, ErrNotFinite, "1 of 1 rows (row 1)"},
		{Times{Entry: []float64{math.Inf(-1)}, Exit: []float64{1}, Status: []bool{true}}, ErrNotFinite, "row 1"},
		{Times{Entry: make([]float64, 9), Exit: make([]float64, 9), Status: make([]bool, 9)}, ErrEntryAfterExit, "row 1, 2, 3, 4, 5, ..."},
	} {
		_, curveErr := KaplanMeier(c.rows, CurveOptions{})
		_, testErr := LogRank(c.rows, make([]int, len(c.rows.Exit)), 2, LogRankOptions{})
		_, coxErr := FitCox(c.rows, newMatrix(len(c.rows.Exit), 1), []string{"x"}, CoxOptions{})
		for _, err := range []error{curveErr, testErr, coxErr} {
			if !errors.Is(err, c.want) || !strings.Contains(err.Error(), c.text) {
				t.Errorf("%+v: %v, want %v with %q", c.rows, err, c.want, c.text)
			}
		}
	}
}

func TestCallersMistakesPanic(t *testing.T) {
	rows := Times{Exit: []float64{1, 2}, Status: []bool{true, false}}
	x := [][]float64{{0}, {1}}
	for name, f := range map[string]func(){
		"lengths": func() { _, _ = KaplanMeier(Times{Exit: []float64{1}}, CurveOptions{}) },
		"entries": func() {
			_, _ = KaplanMeier(Times{Entry: []float64{0}, Exit: rows.Exit, Status: rows.Status}, CurveOptions{})
		},
		"level":       func() { _, _ = KaplanMeier(rows, CurveOptions{Level: 95}) },
		"limits":      func() { _, _ = KaplanMeier(rows, CurveOptions{Limits: "logit"}) },
		"quantile":    func() { mustCurve(t, rows, CurveOptions{}).Quantile(50) },
		"group":       func() { _, _ = LogRank(rows, []int{0, 2}, 2, LogRankOptions{}) },
		"groups":      func() { _, _ = LogRank(rows, []int{0}, 2, LogRankOptions{}) },
		"strata":      func() { _, _ = LogRank(rows, []int{0, 1}, 2, LogRankOptions{Strata: []int{1}}) },
		"ties":        func() { _, _ = FitCox(rows, x, []string{"x"}, CoxOptions{Ties: "kalbfleisch"}) },
		"rows":        func() { _, _ = FitCox(rows, x[:1], []string{"x"}, CoxOptions{}) },
		"terms":       func() { _, _ = FitCox(rows, x, []string{"x", "y"}, CoxOptions{}) },
		"no terms":    func() { _, _ = FitCox(rows, [][]float64{{}, {}}, nil, CoxOptions{}) },
		"clusters":    func() { _, _ = FitCox(rows, x, []string{"x"}, CoxOptions{Cluster: []int{1}}) },
		"cox's level": func() { _, _ = FitCox(rows, x, []string{"x"}, CoxOptions{Level: 1}) },
	} {
		t.Run(name, func(t *testing.T) {
			defer func() {
				if r := recover(); r == nil || !strings.HasPrefix(r.(string), "stats: ") {
					t.Errorf("recovered %v, want a panic of this package", r)
				}
			}()
			f()
		})
	}
}

func TestCurveWarnings(t *testing.T) {
	for _, c := range []struct {
		name string
		rows Times
		want []string
	}{
		{"an early risk set of one", Times{
			Entry:  []float64{0, 2, 2, 2, 2, 2, 2},
			Exit:   []float64{1, 3, 4, 5, 6, 7, 8},
			Status: []bool{true, true, true, false, true, false, true},
		}, []string{"small-risk-set", "zero-while-at-risk", "empty-risk-set"}},
		{"a gap", Times{
			Entry:  []float64{0, 0, 3, 3},
			Exit:   []float64{1, 2, 4, 5},
			Status: []bool{true, false, true, false},
		}, []string{"empty-risk-set"}},
		{"no gap when others enter at that very time", Times{
			Entry:  []float64{0, 0, 2, 2},
			Exit:   []float64{1, 2, 4, 5},
			Status: []bool{true, false, true, false},
		}, nil},
		{"nobody at first", Times{
			Entry:  []float64{6, 6.5},
			Exit:   []float64{7, 8},
			Status: []bool{true, false},
		}, []string{"conditional-start"}},
		{"nobody in the first half day", Times{
			Entry:  []float64{0.5, 0.5},
			Exit:   []float64{7, 8},
			Status: []bool{true, false},
		}, []string{"conditional-start"}},
		{"a small tail is no surprise", Times{
			Exit:   []float64{1, 2, 3, 4, 5, 6},
			Status: []bool{true, true, true, true, true, true},
		}, nil},
	} {
		got := mustCurve(t, c.rows, CurveOptions{}).Warnings
		var codes []string
		for _, w := range got {
			codes = append(codes, w.Code)
		}
		if !slices.Equal(codes, c.want) {
			t.Errorf("%s: warnings %v, want %v", c.name, got, c.want)
		}
	}
}
