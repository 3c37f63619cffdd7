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

func ExampleFitPoisson() {
	// Episodes in hours of sport: football against swimming.
	x := [][]float64{{1}, {0}}
	fit, err := FitPoisson(x, []string{"sport=football"}, []float64{36, 12}, []float64{9000, 9000}, GLMOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	e := fit.Estimates[0]
	fmt.Printf("%s of %s: %.2f (%.2f to %.2f)\n", e.Measure, e.Term, e.Value, e.Lower, e.Upper)
	// Output: rate ratio of sport=football: 3.00 (1.56 to 5.77)
}

// indicators are the columns of a variable's values but for the reference, the
// first one met.
func indicators(values []string) (columns [][]float64, names []string) {
	place := map[string]int{values[0]: -1}
	for _, v := range values {
		if _, ok := place[v]; !ok {
			place[v] = len(names)
			names = append(names, v)
		}
	}
	columns = newMatrix(len(values), len(names))
	for i, v := range values {
		if at := place[v]; at >= 0 {
			columns[i][at] = 1
		}
	}
	return columns, names
}

func TestPoissonDollHill(t *testing.T) {
	want := published.Load(t, "doll-hill-1966")
	x, terms := indicators(want.Text("age"))
	for i, smoker := range want.Floats("smoker") {
		x[i] = append(x[i], smoker)
	}
	terms = append(terms, "smoker")
	deaths, years := want.Floats("deaths"), want.Floats("years")
	fit, err := FitPoisson(x, terms, deaths, years, GLMOptions{})
	must(t, err)
	want.Check("smoking", fit.Coefficients[5])
	want.Check("se", fit.SE[5])
	want.Check("rate_ratio", fit.Estimates[4].Value)
	want.Check("deviance", fit.Deviance)
	want.Check("df", float64(fit.DF))
	want.Check("intercept", fit.Coefficients[0])
	spread, err := FitPoisson(x, terms, deaths, years, GLMOptions{Dispersion: true})
	must(t, err)
	want.Check("pearson", spread.Dispersion*float64(spread.DF))
}

func TestPoissonMcCullaghNelder(t *testing.T) {
	want := published.Load(t, "mccullagh-nelder-1989")
	var x [][]float64
	var events, service []float64
	kind, kinds := indicators(want.Text("type"))
	built, years := indicators(want.Text("year"))
	terms := append(append(kinds, years...), "operated 75")
	for i, months := range want.Floats("service") {
		if months == 0 {
			continue
		}
		row := append(append([]float64{}, kind[i]...), built[i]...)
		operated := 0.0
		if want.Text("period")[i] == "75" {
			operated = 1
		}
		x = append(x, append(row, operated))
		events = append(events, want.Floats("incidents")[i])
		service = append(service, months)
	}
	fit, err := FitPoisson(x, terms, events, service, GLMOptions{Dispersion: true})
	must(t, err)
	for j, name := range []string{"intercept", "type_b", "type_c", "type_d", "type_e", "built_65", "built_70", "built_75", "operated_75"} {
		want.Check(name, fit.Coefficients[j])
	}
	want.Check("type_b_se", fit.SE[1])
	want.Check("type_c_se", fit.SE[2])
	want.Check("built_65_se", fit.SE[5])
	want.Check("deviance", fit.Deviance)
	want.Check("df", float64(fit.DF))
	want.Check("dispersion", fit.Dispersion)
	plain, err := FitPoisson(x, terms, events, service, GLMOptions{})
	must(t, err)
	if !warned(plain.Warnings, "overdispersed") || warned(fit.Warnings, "overdispersed") {
		t.Errorf("warnings %v, with the dispersion %v", plain.Warnings, fit.Warnings)
	}
}

// By hand: 36 events in 8 against 12 in 4 have the log ratio log 1.5 with
// variance 1/36 + 1/12, whether in two rows or in many.
func TestPoissonByHand(t *testing.T) {
	two, err := FitPoisson([][]float64{{1}, {0}}, []string{"exposed"}, []float64{36, 12}, []float64{8, 4}, GLMOptions{})
	must(t, err)
	many, err := FitPoisson([][]float64{{1}, {0}, {1}, {0}, {1}}, []string{"exposed"},
		[]float64{30, 0, 6, 12, 0}, []float64{1, 3, 6, 1, 1}, GLMOptions{})
	must(t, err)
	for _, fit := range []Fit{two, many} {
		if !near(fit.Coefficients[1], math.Log(1.5), 1e-13) || !near(fit.Coefficients[0], math.Log(3), 1e-13) ||
			!near(fit.SE[1], 1.0/3, 1e-13) || fit.Events != 48 {
			t.Errorf("got %+v", fit)
		}
	}
	if !near(two.Deviance, 0, 1e-12) || two.DF != 0 {
		t.Errorf("the saturated model has deviance %v on %d", two.Deviance, two.DF)
	}
	// Log likelihood: Σ y log μ − μ − log y!.
	log := func(n float64) float64 { x, _ := math.Lgamma(n + 1); return x }
	if want := 36*math.Log(36) - 36 - log(36) + 12*math.Log(12) - 12 - log(12); !near(two.LogLik, want, 1e-12) {
		t.Errorf("log likelihood %v, want %v", two.LogLik, want)
	}
	if want := 36*math.Log(32) - 32 - log(36) + 12*math.Log(16) - 16 - log(12); !near(two.NullLogLik, want, 1e-12) {
		t.Errorf("null log likelihood %v, want %v", two.NullLogLik, want)
	}
	if _, err := FitPoisson([][]float64{{1}, {0}}, []string{"exposed"}, []float64{36, 12}, nil, GLMOptions{Dispersion: true}); !errors.Is(err, ErrTooFewRows) {
		t.Errorf("dispersion without degrees of freedom: error %v, want %v", err, ErrTooFewRows)
	}
	// Without covariates it is the crude rate.
	crude, err := FitPoisson([][]float64{{}, {}}, nil, []float64{36, 12}, []float64{8, 4}, GLMOptions{})
	must(t, err)
	if !near(crude.Coefficients[0], math.Log(4), 1e-14) || !near(crude.SE[0], 1/math.Sqrt(48), 1e-14) || len(crude.Estimates) != 0 {
		t.Errorf("crude rate: %+v", crude)
	}
}

// With one row a person and each its own cluster, the ratio is the risk ratio
// with Katz's limits (Zou 2004): the robust variance of a group's log risk is
// Σ(y−p)²/(np)² = (1−p)/(np).
func TestPoissonRiskRatio(t *testing.T) {
	x, y := fourCells(10, 30, 5, 35)
	events, rows := make([]float64, len(y)), make([]int, len(y))
	for i, yes := range y {
		rows[i] = i
		if yes {
			events[i] = 1
		}
	}
	fit, err := FitPoisson(x, []string{"exposed"}, events, nil, GLMOptions{Cluster: rows, Uncorrected: true})
	must(t, err)
	want, err := RiskRatio(10, 30, 5, 35, LimitOptions{})
	must(t, err)
	got := fit.Estimates[0]
	if !near(got.Value, want.Value, 1e-12) || !near(got.Lower, want.Lower, 1e-12) || !near(got.Upper, want.Upper, 1e-12) {
		t.Errorf("got %+v, want %+v", got, want)
	}
}

// Splitting a row's person-time, with its events in either part, changes
// neither coefficients nor errors, model-based or robust.
func TestPoissonSplitting(t *testing.T) {
	r := rand.New(rand.NewPCG(20, 1))
	for range 20 {
		c := randomGLM(r, 60)
		whole, err := FitPoisson(c.X, c.terms(), c.Events, c.Time, GLMOptions{Cluster: c.Cluster})
		must(t, err)
		var x [][]float64
		var events, time []float64
		var cluster []int
		for i, y := range c.Events {
			share := r.Float64()
			first := float64(r.IntN(int(y) + 1))
			x = append(x, c.X[i], c.X[i])
			events = append(events, first, y-first)
			time = append(time, share*c.Time[i], c.Time[i]-share*c.Time[i])
			cluster = append(cluster, c.Cluster[i], c.Cluster[i])
		}
		split, err := FitPoisson(x, c.terms(), events, time, GLMOptions{Cluster: cluster})
		must(t, err)
		for j := range whole.Coefficients {
			if !near(whole.Coefficients[j], split.Coefficients[j], 1e-8) || !near(whole.SE[j], split.SE[j], 1e-8) || !near(whole.ModelSE[j], split.ModelSE[j], 1e-8) {
				t.Errorf("%s: %v (%v, %v), split %v (%v, %v)", whole.Terms[j], whole.Coefficients[j], whole.SE[j], whole.ModelSE[j],
					split.Coefficients[j], split.SE[j], split.ModelSE[j])
			}
		}
	}
}

func TestPoissonRefuses(t *testing.T) {
	x := [][]float64{{1, 0}, {1, 0}, {0, 1}, {0, 0}, {0, 1}, {0, 0}}
	terms := []string{"sport=gymnastics", "sport=netball"}
	y := []float64{0, 0, 4, 6, 1, 2}
	time := []float64{5, 4, 3, 7, 8, 2}
	_, err := FitPoisson(x, terms, y, time, GLMOptions{})
	if !errors.Is(err, ErrSeparation) || !strings.Contains(err.Error(), `coefficient of "sport=gymnastics" grows`) {
		t.Errorf("a level without events: error %v", err)
	}
	// When the reference has none, every level's coefficient runs off.
	_, err = FitPoisson(x, terms, []float64{2, 1, 4, 0, 1, 0}, time, GLMOptions{})
	if !errors.Is(err, ErrSeparation) || !strings.Contains(err.Error(), `"sport=gymnastics" and "sport=netball"`) {
		t.Errorf("a reference without events: error %v", err)
	}
	for _, c := range []struct {
		name    string
		y, time []float64
		want    error
		words   string
	}{
		{"no events", make([]float64, 6), time, ErrNoEvents, "6 rows"},
		{"no time", y, []float64{5, 4, 0, 7, 8, 2}, ErrNoPersonTime, "row 3"},
		{"endless time", y, []float64{5, 4, 1, 7, 8, math.Inf(1)}, ErrNoPersonTime, "row 6"},
		{"negative", []float64{1, 2, -3, 1, 1, 1}, time, ErrNegative, "row 3"},
		{"not a number", []float64{1, math.NaN(), 3, 1, 1, 1}, time, ErrNotFinite, "row 2"},
	} {
		if _, err := FitPoisson(x, terms, c.y, c.time, GLMOptions{}); !errors.Is(err, c.want) || !strings.Contains(err.Error(), c.words) {
			t.Errorf("%s: error %v, want %v with %q", c.name, err, c.want, c.words)
		}
	}
	panics(t, "2 person-times for 6 counts", func() { _, _ = FitPoisson(x, terms, y, time[:2], GLMOptions{}) })
}

func BenchmarkFitPoisson(b *testing.B) {
	r := rand.New(rand.NewPCG(21, 1))
	c := randomGLM(r, 5000)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := FitPoisson(c.X, c.terms(), c.Events, c.Time, GLMOptions{Cluster: c.Cluster}); err != nil {
			b.Fatal(err)
		}
	}
}
