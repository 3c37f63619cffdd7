package stats

import (
	"errors"
	"math"
	"strings"
	"testing"
)

// pairRows are three risk sets of two rows, one with x = 1 and one with x = 0,
// that late entry keeps apart. The row with x = 1 has the event in two of them,
// so with r the hazard ratio the partial likelihood is r²/(1+r)³, at most 4/27
// where r = 2.
var (
	pairRows = Times{
		Entry:  []float64{0, 0, 1, 1, 2, 2},
		Exit:   []float64{1, 1, 2, 2, 3, 3},
		Status: []bool{true, false, true, false, false, true},
	}
	pairX = [][]float64{{1}, {0}, {1}, {0}, {1}, {0}}
)

func TestFitCoxByHand(t *testing.T) {
	for _, ties := range []string{TiesEfron, TiesBreslow} {
		f := mustCox(t, pairRows, pairX, []string{"x"}, CoxOptions{Ties: ties})
		// Information 3 (2/3)(1/3); at zero 3/4 with gradient 1/2.
		for _, c := range []struct {
			what      string
			got, want float64
		}{
			{"coefficient", f.Coefficients[0], math.Ln2},
			{"ratio", f.Estimates[0].Value, 2},
			{"SE", f.SE[0], math.Sqrt(1.5)},
			{"log likelihood", f.LogLik, math.Log(4.0 / 27)},
			{"log likelihood at zero", f.NullLogLik, -3 * math.Ln2},
			{"likelihood ratio test", f.Tests[0].Statistic, 2 * math.Log(32.0/27)},
			{"Wald test", f.Tests[1].Statistic, math.Ln2 * math.Ln2 / 1.5},
			{"score test", f.Tests[2].Statistic, 1.0 / 3},
			{"upper limit", f.Estimates[0].Upper, 2 * math.Exp(1.959963984540054*math.Sqrt(1.5))},
		} {
			if !near(c.got, c.want, 1e-12) {
				t.Errorf("%s %s: got %.17g, want %.17g", ties, c.what, c.got, c.want)
			}
		}
		if f.N != 6 || f.Events != 3 || f.DF != 1 || f.Ties != ties || !math.IsNaN(f.Deviance) || f.Robust != "" {
			t.Errorf("%+v", f)
		}
		if !hasWarning(f.Warnings, "few-events") {
			t.Errorf("3 events: warnings %v", f.Warnings)
		}
	}
}

// Score residuals at r = 2 by hand: 1/9 and 2/9 in the first two risk sets,
// -2/9 and -4/9 in the third. Squares summed by row make 30/81, by risk set
// 2/3; the inverse information is 3/2.
func TestFitCoxRobustByHand(t *testing.T) {
	for _, c := range []struct {
		cluster []int
		want    float64
	}{
		{[]int{1, 2, 3, 4, 5, 6}, 5.0 / 6},
		{[]int{7, 7, -1, -1, 0, 0}, 3.0 / 2},
	} {
		f := mustCox(t, pairRows, pairX, []string{"x"}, CoxOptions{Cluster: c.cluster})
		if !near(f.Covariance[0][0], c.want, 1e-12) || !near(f.SE[0], math.Sqrt(c.want), 1e-12) {
			t.Errorf("clusters %v: variance %.17g, want %.17g", c.cluster, f.Covariance[0][0], c.want)
		}
		if !near(f.ModelSE[0], math.Sqrt(1.5), 1e-12) || f.Robust == "" || !hasWarning(f.Warnings, "few-clusters") {
			t.Errorf("%+v", f)
		}
		e, z := f.Estimates[0], math.Ln2/math.Sqrt(c.want)
		if !near(e.P, math.Erfc(z/math.Sqrt2), 1e-12) || !near(e.Lower, 2*math.Exp(-1.959963984540054*math.Sqrt(c.want)), 1e-12) {
			t.Errorf("clusters %v: lower limit %v, P %v, not those of the robust variance %v", c.cluster, e.Lower, e.P, c.want)
		}
		if !near(f.Tests[1].Statistic, math.Ln2*math.Ln2/c.want, 1e-12) || !hasWarning(f.Tests[0].Warnings, "assumes-independence") {
			t.Errorf("tests %+v", f.Tests)
		}
	}
}

func TestFitCoxRefused(t *testing.T) {
	plain := Times{
		Exit:   []float64{1, 2, 3, 4, 5, 6, 7, 8},
		Status: []bool{true, true, true, true, false, true, false, false},
	}
	mixed := []float64{1, 0, 1, 0, 1, 0, 0, 1}
	other := []float64{2, 4, 3, 1, 2, 5, 3, 1}
	sum := make([]float64, 8)
	for i := range sum {
		sum[i] = 3 - 2*mixed[i] + other[i]
	}
	noEventIn := []float64{0, 0, 0, 0, 1, 0, 1, 1}
	// Entry lies so that every risk set has one value of the column.
	split := Times{
		Entry:  []float64{0, 0, 0, 0, 5, 5, 5, 5},
		Exit:   []float64{1, 2, 3, 4, 6, 7, 8, 9},
		Status: plain.Status,
	}
	halves := []float64{0, 0, 0, 0, 1, 1, 1, 1}
	for _, c := range []struct {
		name string
		rows Times
		x    [][]float64
		opts CoxOptions
		want error
		text []string
	}{
		{"no event", Times{Exit: plain.Exit, Status: make([]bool, 8)}, columns(mixed, other), CoxOptions{}, ErrNoEvents, []string{"8 rows"}},
		{"constant", plain, columns(mixed, make([]float64, 8)), CoxOptions{}, ErrCollinear, []string{`"b" has one value`}},
		{"one value a risk set", split, columns(other, halves), CoxOptions{}, ErrCollinear, []string{`"b" has one value within each risk set`}},
		{"combination", plain, columns(mixed, other, sum), CoxOptions{}, ErrCollinear, []string{`"c" is a combination of "a" and "b"`}},
		{"a group without event", plain, columns(other, noEventIn), CoxOptions{}, ErrSeparation, []string{`coefficient of "b" `}},
		{"perfect order", plain, columns([]float64{9, 8, 7, 6, 5, 4, 3, 2}), CoxOptions{Ties: TiesBreslow}, ErrSeparation, []string{`"a"`}},
		{"separated, stopped early", plain, columns(other, noEventIn), CoxOptions{MaxIterations: 2}, ErrSeparation, []string{`"b"`}},
		{"stopped early", plain, columns(mixed, other), CoxOptions{MaxIterations: 1}, ErrNotConverged, []string{"1 iterations"}},
		{"missing value", plain, columns(mixed, []float64{1, 2, nan, 1, 2, 3, math.Inf(1), 1}), CoxOptions{}, ErrNotFinite, []string{`term "b"`, "2 of 8 rows (row 3, 7)"}},
		{"one cluster", plain, columns(mixed), CoxOptions{Cluster: make([]int, 8)}, ErrTooFewClusters, []string{"found 1"}},
		{"as many clusters as coefficients", plain, columns(mixed, other), CoxOptions{Cluster: []int{0, 0, 0, 0, 1, 1, 1, 1}}, ErrTooFewClusters, []string{"found 2", "2 coefficients"}},
	} {
		terms := []string{"a", "b", "c"}[:len(c.x[0])]
		_, err := FitCox(c.rows, c.x, terms, c.opts)
		if !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
			continue
		}
		for _, text := range c.text {
			if !strings.Contains(err.Error(), text) {
				t.Errorf("%s: %q does not say %q", c.name, err, text)
			}
		}
	}
}

// A column that is nearly another one is refused where their difference is a
// millionth, and kept where it is a hundredth.
func TestFitCoxNearlyCollinear(t *testing.T) {
	var rows Times
	a, noise := make([]float64, 60), make([]float64, 60)
	for i := range a {
		rows.Exit = append(rows.Exit, float64(1+(i*7)%23))
		rows.Status = append(rows.Status, i%4 > 0)
		a[i], noise[i] = float64((i*5)%11), float64((i*3)%7-3)
	}
	beside := func(share float64) [][]float64 {
		b := make([]float64, len(a))
		for i := range b {
			b[i] = a[i] + share*noise[i]
		}
		return columns(a, b)
	}
	_, err := FitCox(rows, beside(1e-6), []string{"a", "b"}, CoxOptions{})
	if !errors.Is(err, ErrCollinear) || !strings.Contains(err.Error(), `"b" is a combination of "a"`) {
		t.Errorf("a millionth apart: %v", err)
	}
	f := mustCox(t, rows, beside(1e-2), []string{"a", "b"}, CoxOptions{})
	plain := mustCox(t, rows, columns(a, noise), []string{"a", "noise"}, CoxOptions{})
	if !near(f.LogLik, plain.LogLik, 1e-10) || !near(f.Coefficients[1], 100*plain.Coefficients[1], 1e-6) {
		t.Errorf("a hundredth apart: %v with coefficients %v, want %v with %v", f.LogLik, f.Coefficients, plain.LogLik, plain.Coefficients)
	}
}

// The doubt about few events goes by coefficient: 19 are enough for one and
// not for two.
func TestFitCoxFewEvents(t *testing.T) {
	var rows Times
	one, two := make([]float64, 30), make([]float64, 30)
	for i := range one {
		rows.Exit = append(rows.Exit, float64(1+(i*7)%29))
		rows.Status = append(rows.Status, i < 19)
		one[i], two[i] = float64(i%2), float64(i%3)
	}
	if f := mustCox(t, rows, columns(one), []string{"a"}, CoxOptions{}); len(f.Warnings) > 0 {
		t.Errorf("19 events, one coefficient: %v", f.Warnings)
	}
	if f := mustCox(t, rows, columns(one, two), []string{"a", "b"}, CoxOptions{}); !hasWarning(f.Warnings, "few-events") {
		t.Errorf("19 events, two coefficients: %v", f.Warnings)
	}
}

// A ratio that is merely large is not separation: one event in 400 of the
// reference rows, all of 40 others.
func TestFitCoxLargeRatio(t *testing.T) {
	var rows Times
	var x [][]float64
	for i := range 440 {
		exposed := i < 40
		rows.Exit = append(rows.Exit, float64(1+i%7))
		rows.Status = append(rows.Status, exposed || i == 41)
		x = append(x, []float64{0})
		if exposed {
			x[i][0] = 1
		}
	}
	f := mustCox(t, rows, x, []string{"exposed"}, CoxOptions{})
	if b := f.Coefficients[0]; b < 4 || b > 12 || math.IsInf(f.Estimates[0].Upper, 1) {
		t.Errorf("coefficient %v, SE %v", b, f.SE[0])
	}
}

// Separation in each of many dummy columns, and among columns that move
// together, is named.
func TestFitCoxNamesSeparatedTerms(t *testing.T) {
	var rows Times
	var x [][]float64
	for i := range 120 {
		site := i % 4
		rows.Exit = append(rows.Exit, float64(1+(i*7)%13))
		// No event in site 2 and none in site 3.
		rows.Status = append(rows.Status, site < 2 && i%3 != 0)
		row := []float64{0, 0, 0, float64((i * 5) % 11)}
		if site > 0 {
			row[site-1] = 1
		}
		x = append(x, row)
	}
	_, err := FitCox(rows, x, []string{"site 1", "site 2", "site 3", "age"}, CoxOptions{})
	if !errors.Is(err, ErrSeparation) || !strings.Contains(err.Error(), `of "site 2" and "site 3" grows`) {
		t.Errorf("%v", err)
	}
}

// A row with e³⁰ times the weight of the others leaves the risk set: what is
// left must be what was there before, not the rounding of the large weight.
func TestCoxLikelihoodAfterLargeWeight(t *testing.T) {
	rows := Times{
		Entry:  []float64{6, 0, 0, 0, 0, 7},
		Exit:   []float64{9, 2, 3, 5, 10, 12},
		Status: []bool{true, true, true, true, false, true},
	}
	x := [][]float64{{30.3}, {0.1}, {0.7}, {0.2}, {0.4}, {0.9}}
	for _, ties := range []string{TiesEfron, TiesBreslow} {
		m := newCoxModel(rows, x, CoxOptions{Ties: ties})
		got, _, _ := m.likelihood([]float64{m.scale[0]})
		if want := naiveCoxLogLik(rows, x, []float64{1}, ones(6), ties); !near(got, want, 1e-13) {
			t.Errorf("%s: log likelihood %.17g, want %.17g", ties, got, want)
		}
	}
}

// The same of case weights and offsets, where two rows of different sizes
// outweigh the others by more than the digits carried along, and leave.
func TestCoxLikelihoodAfterLargeCaseWeights(t *testing.T) {
	rows := Times{
		Entry:  []float64{6, 0, 0, 0, 0, 7, 7},
		Exit:   []float64{9, 2, 3, 5, 10, 12, 8},
		Status: []bool{false, true, true, true, false, false, true},
	}
	x := [][]float64{{1.3}, {0.1}, {0.7}, {0.2}, {0.4}, {0.9}, {0.3}}
	both := newMatrix(len(x), 2)
	for _, large := range []float64{1e10, 1e20, 1e40, 1e200} {
		weights := []float64{large, 1, 2, 1, 3, math.Sqrt(large), 1}
		offset := make([]float64, len(weights))
		for i, w := range weights {
			offset[i] = math.Log(w)
			both[i][0], both[i][1] = x[i][0], offset[i]
		}
		for what, c := range map[string]struct {
			opts  CoxOptions
			naive func(b float64) float64
		}{
			"weights": {CoxOptions{Ties: TiesBreslow, Weights: weights}, func(b float64) float64 {
				return naiveCoxLogLik(rows, x, []float64{b}, weights, TiesBreslow)
			}},
			"offset": {CoxOptions{Ties: TiesBreslow, Offset: offset}, func(b float64) float64 {
				return naiveCoxLogLik(rows, both, []float64{b, 1}, ones(len(x)), TiesBreslow)
			}},
		} {
			m := newCoxModel(rows, x, c.opts)
			got, gradient, _ := m.likelihood([]float64{m.scale[0]})
			if want := c.naive(1); !near(m.rescaled(got), want, 1e-12) {
				t.Errorf("%s up to %g: log likelihood %.17g, want %.17g", what, large, m.rescaled(got), want)
			}
			const h = 1e-4 // good to h² and to rounding over h
			if want := (c.naive(1+h) - c.naive(1-h)) / (2 * h); !near(gradient[0]*m.scale[0]*m.unit, want, 1e-6) {
				t.Errorf("%s up to %g: slope %v, want %v", what, large, gradient[0]*m.scale[0]*m.unit, want)
			}
		}
	}
	// Too far apart for any sum.
	_, err := FitCox(rows, x, []string{"x"}, CoxOptions{Offset: []float64{2000, 0, 0, 0, 0, 0, 0}})
	if !errors.Is(err, ErrNotFinite) || !strings.Contains(err.Error(), "too far apart") {
		t.Errorf("%v", err)
	}
}
