package stats

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"heelcohort/stats/internal/published"
)

func ExampleFitLogistic() {
	// 18 of 40 children with pronated feet had an episode, 21 of 90 others.
	var x [][]float64
	var y []bool
	for _, cell := range []struct {
		n        int
		pronated float64
		episode  bool
	}{{18, 1, true}, {22, 1, false}, {21, 0, true}, {69, 0, false}} {
		for range cell.n {
			x = append(x, []float64{cell.pronated})
			y = append(y, cell.episode)
		}
	}
	fit, err := FitLogistic(x, []string{"arch=pronated"}, y, GLMOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	e := fit.Estimates[0]
	fmt.Printf("%s of %s: %.2f (%.2f to %.2f)\n", e.Measure, e.Term, e.Value, e.Lower, e.Upper)
	// Output: odds ratio of arch=pronated: 2.69 (1.22 to 5.93)
}

func TestLogisticHosmerLemeshow(t *testing.T) {
	want := published.Load(t, "hosmer-lemeshow-2000")
	var x [][]float64
	var y []bool
	for i, age := range want.Floats("age") {
		x = append(x, []float64{age})
		y = append(y, want.Ints("chd")[i] == 1)
	}
	fit, err := FitLogistic(x, []string{"age"}, y, GLMOptions{})
	must(t, err)
	want.Check("constant", fit.Coefficients[0])
	want.Check("constant_se", fit.SE[0])
	want.Check("age", fit.Coefficients[1])
	want.Check("age_se", fit.SE[1])
	want.Check("loglik", fit.LogLik)
	want.Check("G", fit.Tests[0].Statistic)
	want.Check("z_age", fit.Coefficients[1]/fit.SE[1])
	want.Check("z_constant", fit.Coefficients[0]/fit.SE[0])
	want.Check("cov", fit.Covariance[0][1])
	want.Check("var_constant", fit.Covariance[0][0])
	want.Check("var_age", fit.Covariance[1][1])
}

// fourCells is the model of a two by two table.
func fourCells(a, b, c, d int) (x [][]float64, y []bool) {
	for _, cell := range []struct {
		n       int
		exposed float64
		outcome bool
	}{{a, 1, true}, {b, 1, false}, {c, 0, true}, {d, 0, false}} {
		for range cell.n {
			x = append(x, []float64{cell.exposed})
			y = append(y, cell.outcome)
		}
	}
	return x, y
}

// With one two-valued covariate the model is the two by two table: Woolf's
// odds ratio, limits and p-value, and the log odds of the reference.
func TestLogisticByHand(t *testing.T) {
	x, y := fourCells(10, 20, 5, 40)
	fit, err := FitLogistic(x, []string{"exposed"}, y, GLMOptions{Level: 0.9})
	must(t, err)
	want, err := OddsRatio(10, 20, 5, 40, LimitOptions{0.9})
	must(t, err)
	got := fit.Estimates[0]
	for _, pair := range [][2]float64{
		{got.Value, want.Value},
		{got.Lower, want.Lower},
		{got.Upper, want.Upper},
		{got.SE, want.SE},
		{got.P, want.P},
		{fit.Coefficients[0], math.Log(5.0 / 40)},
		{fit.Covariance[0][0], 1.0/5 + 1.0/40},
		{fit.LogLik, 10*math.Log(1.0/3) + 20*math.Log(2.0/3) + 5*math.Log(1.0/9) + 40*math.Log(8.0/9)},
		{fit.NullLogLik, 15*math.Log(0.2) + 60*math.Log(0.8)},
		{fit.Deviance, -2 * fit.LogLik},
		{fit.Tests[1].Statistic, math.Pow(math.Log(4)/want.SE, 2)},
	} {
		if !near(pair[0], pair[1], 1e-12) {
			t.Errorf("got %v, want %v", pair[0], pair[1])
		}
	}
	if fit.N != 75 || fit.Events != 15 || fit.DF != 73 || fit.Terms[0] != Intercept {
		t.Errorf("got %+v", fit)
	}
	// The robust variance by single rows: that of each group's log odds is
	// Σ(y−p)²/(n p q)² = 1/(n p q), Woolf's.
	rows := make([]int, len(y))
	for i := range rows {
		rows[i] = i
	}
	robust, err := FitLogistic(x, []string{"exposed"}, y, GLMOptions{Cluster: rows, Uncorrected: true})
	must(t, err)
	if !near(robust.SE[1], want.SE, 1e-12) || robust.ModelSE[1] != fit.SE[1] || robust.Clusters != 75 {
		t.Errorf("robust error %v, want %v", robust.SE[1], want.SE)
	}
}

func TestLogisticSeparation(t *testing.T) {
	x, y := fourCells(0, 8, 5, 40)
	_, err := FitLogistic(x, []string{"arch=pronated"}, y, GLMOptions{})
	if !errors.Is(err, ErrSeparation) || !strings.Contains(err.Error(), `"arch=pronated"`) || !strings.Contains(err.Error(), "5 events in 53 rows") {
		t.Errorf("a level without events: error %v", err)
	}
	// The level stays named beside a covariate that has an estimate.
	r := rand.New(rand.NewPCG(17, 1))
	for i := range x {
		x[i] = append(x[i], 10+2*r.NormFloat64())
	}
	_, err = FitLogistic(x, []string{"arch=pronated", "age"}, y, GLMOptions{})
	if !errors.Is(err, ErrSeparation) || strings.Contains(err.Error(), "age\"") || !strings.Contains(err.Error(), `"arch=pronated"`) {
		t.Errorf("a level without events beside age: error %v", err)
	}
	// Complete separation by a continuous covariate.
	var far [][]float64
	var side []bool
	for i := range 30 {
		far = append(far, []float64{float64(i)})
		side = append(side, i > 14)
	}
	if _, err = FitLogistic(far, []string{"age"}, side, GLMOptions{}); !errors.Is(err, ErrSeparation) {
		t.Errorf("complete separation: error %v", err)
	}
	// One row on the wrong side, and there is an estimate.
	side[2] = true
	if _, err = FitLogistic(far, []string{"age"}, side, GLMOptions{}); err != nil {
		t.Errorf("overlap: error %v", err)
	}
}

// A rare outcome and an outlying covariate look like separation for a while.
func TestLogisticNotSeparated(t *testing.T) {
	x, y := fourCells(1, 99999, 3, 999)
	fit, err := FitLogistic(x, []string{"exposed"}, y, GLMOptions{})
	must(t, err)
	if want := math.Log(1.0 / 99999 / (3.0 / 999)); !near(fit.Coefficients[1], want, 1e-9) {
		t.Errorf("coefficient %v, want %v", fit.Coefficients[1], want)
	}
	x, y = fourCells(10, 20, 5, 40)
	for i := range x {
		x[i][0] += 0.01 * float64(i%7)
	}
	x = append(x, []float64{1e5})
	y = append(y, true)
	if _, err := FitLogistic(x, []string{"exposed"}, y, GLMOptions{}); err != nil {
		t.Errorf("an outlier on the right side: error %v", err)
	}
}

func TestLogisticRefuses(t *testing.T) {
	x, y := fourCells(10, 20, 5, 40)
	add := func(f func(i int, v float64) float64) [][]float64 {
		out := make([][]float64, len(x))
		for i, row := range x {
			out[i] = []float64{row[0], float64(i % 5), f(i, row[0])}
		}
		return out
	}
	all, none := make([]bool, len(y)), make([]bool, len(y))
	for i := range all {
		all[i] = true
	}
	terms := []string{"sex", "age", "offset"}
	for _, c := range []struct {
		name  string
		x     [][]float64
		terms []string
		y     []bool
		opts  GLMOptions
		want  error
		words string
	}{
		{"nothing", nil, terms, nil, GLMOptions{}, ErrNoData, ""},
		{"two rows", add(func(int, float64) float64 { return 1 })[:2], terms, y[:2], GLMOptions{}, ErrTooFewRows, "found 2"},
		{"constant", add(func(int, float64) float64 { return 2024 }), terms, y, GLMOptions{}, ErrCollinear, `"offset" has one value`},
		{"combination", add(func(i int, v float64) float64 { return 3 - 2*v }), terms, y, GLMOptions{}, ErrCollinear, `"offset" is a combination of "sex" and a constant`},
		{"not a number", add(func(i int, v float64) float64 { return math.NaN() }), terms, y, GLMOptions{}, ErrNotFinite, `"offset"`},
		{"no events", x, terms[:1], none, GLMOptions{}, ErrNoEvents, "75 rows"},
		{"all events", x, terms[:1], all, GLMOptions{}, ErrNoVariance, "all 75 rows"},
		{"one cluster", x, terms[:1], y, GLMOptions{Cluster: make([]int, 75)}, ErrTooFewClusters, "found 1"},
	} {
		_, err := FitLogistic(c.x, c.terms, c.y, c.opts)
		if !errors.Is(err, c.want) || !strings.Contains(err.Error(), c.words) {
			t.Errorf("%s: error %v, want %v with %q", c.name, err, c.want, c.words)
		}
	}
	panics(t, "row 1 has 1 covariates, expected 2", func() { _, _ = FitLogistic(x, terms[:2], y, GLMOptions{}) })
	panics(t, "75 rows of covariates", func() { _, _ = FitLogistic(x, terms[:1], y[:9], GLMOptions{}) })
	panics(t, "3 cluster numbers", func() { _, _ = FitLogistic(x, terms[:1], y, GLMOptions{Cluster: []int{1, 2, 3}}) })
}

func TestLogisticWarnings(t *testing.T) {
	x, y := fourCells(3, 20, 5, 40)
	cluster := make([]int, len(y))
	for i := range cluster {
		cluster[i] = i % 9
	}
	fit, err := FitLogistic(x, []string{"exposed"}, y, GLMOptions{Cluster: cluster})
	must(t, err)
	if !warned(fit.Warnings, "few-events") || !warned(fit.Warnings, "few-clusters") {
		t.Errorf("warnings %v", fit.Warnings)
	}
	if fit.Robust != "cluster-robust, G/(G-1) correction" || fit.Estimates[0].Method != "Wald limits, cluster-robust, G/(G-1) correction" {
		t.Errorf("robust errors are described as %q, limits as %q", fit.Robust, fit.Estimates[0].Method)
	}
	if len(fit.Tests) != 1 || fit.Tests[0].Name != "Wald test" {
		t.Errorf("tests %v, want Wald's alone", fit.Tests)
	}
}

// The order of rows and columns and a change of units do not matter.
func TestLogisticProperties(t *testing.T) {
	r := rand.New(rand.NewPCG(18, 1))
	for range 20 {
		c := randomGLM(r, 80)
		fit, err := FitLogistic(c.X, c.terms(), c.Yes, GLMOptions{Cluster: c.Cluster})
		must(t, err)
		p := len(c.X[0])
		var x [][]float64
		var y []bool
		var cluster []int
		for _, i := range r.Perm(len(c.X)) {
			row := make([]float64, p)
			for j, v := range c.X[i] {
				row[p-1-j] = 1000 - 365.25*v
			}
			x = append(x, row)
			y = append(y, c.Yes[i])
			cluster = append(cluster, 17*c.Cluster[i]-3)
		}
		other, err := FitLogistic(x, c.terms(), y, GLMOptions{Cluster: cluster})
		must(t, err)
		for j := range p {
			a, b := fit.Coefficients[1+j], -365.25*other.Coefficients[p-j]
			s, u := fit.SE[1+j], 365.25*other.SE[p-j]
			if !near(a, b, 1e-8) || !near(s, u, 1e-8) {
				t.Errorf("coefficient %v (%v), rearranged %v (%v)", a, s, b, u)
			}
		}
		if !near(fit.LogLik, other.LogLik, 1e-10) {
			t.Errorf("log likelihood %v, rearranged %v", fit.LogLik, other.LogLik)
		}
	}
}

func BenchmarkFitLogistic(b *testing.B) {
	r := rand.New(rand.NewPCG(19, 1))
	c := randomGLM(r, 5000)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := FitLogistic(c.X, c.terms(), c.Yes, GLMOptions{Cluster: c.Cluster}); err != nil {
			b.Fatal(err)
		}
	}
}
