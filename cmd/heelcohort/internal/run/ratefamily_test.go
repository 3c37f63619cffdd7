package run

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/stats"
)

// weekBook is countBook with a number of each row.
var weekBook = strings.Replace(countBook, "        - {name: hours", "        - {name: week, type: number}\n        - {name: hours", 1)

// A weeks is a table of counts, as the program and as package stats read it.
type weeks struct {
	text         string
	x            [][]float64 // football, week
	events, time []float64
	school       []int
}

func randomWeeks() weeks {
	r := rand.New(rand.NewPCG(91, 4))
	w := weeks{text: "sport,school,events,week,hours\n"}
	for i := range 60 {
		football, week, events, hours := i%2, float64(r.IntN(52)), r.IntN(4), float64(20+r.IntN(50))
		if i%10 == 0 {
			events += 6
		}
		sport := []string{"swimming", "football"}[football]
		events += football
		w.text += fmt.Sprintf("%s,S%d,%d,%v,%v\n", sport, i%6, events, week, hours)
		w.x = append(w.x, []float64{float64(football), week})
		w.events, w.time, w.school = append(w.events, float64(events)), append(w.time, hours), append(w.school, i%6)
	}
	return w
}

func (w weeks) compute(t *testing.T, model string) *result.Results {
	t.Helper()
	f := countStudy(", per: 100, model: {terms: [sport, week], "+model+"}", "")
	f["codebook.yaml"], f["data/seasons.csv"] = weekBook, w.text
	return f.compute(t)
}

func (w weeks) columns(at func(week float64) []float64) [][]float64 {
	var x [][]float64
	for _, row := range w.x {
		x = append(x, append([]float64{row[0]}, at(row[1])...))
	}
	return x
}

func set(x [][]float64, to float64) [][]float64 {
	out := make([][]float64, len(x))
	for i, row := range x {
		out[i] = slices.Clone(row)
		out[i][0] = to
	}
	return out
}

// TestFamilies compares each family, form of errors and distribution of limits
// with a direct fit, and the marginal rates with direct ones.
func TestFamilies(t *testing.T) {
	w := randomWeeks()
	terms := []string{"football", "week"}
	for _, c := range []struct {
		model string
		opts  stats.GLMOptions
	}{
		{"family: poisson", stats.GLMOptions{}},
		{"family: quasi-poisson", stats.GLMOptions{Dispersion: true}},
		{"dispersion: pearson", stats.GLMOptions{Dispersion: true}},
		{"cluster: school, errors: CR0", stats.GLMOptions{Cluster: w.school, Robust: stats.CR0}},
		{"cluster: school", stats.GLMOptions{Cluster: w.school}},
		{"cluster: school, errors: CR1S, limits: clusters", stats.GLMOptions{Cluster: w.school, Robust: stats.CR1S, Reference: stats.ReferenceClusters}},
		{"cluster: school, errors: CR2, limits: satterthwaite", stats.GLMOptions{Cluster: w.school, Robust: stats.CR2, Reference: stats.ReferenceSatterthwaite}},
		{"cluster: school, errors: CR3, limits: normal", stats.GLMOptions{Cluster: w.school, Robust: stats.CR3}},
		{"family: negative-binomial", stats.GLMOptions{}},
		{"family: negative-binomial, cluster: school, errors: CR2", stats.GLMOptions{Cluster: w.school, Robust: stats.CR2}},
	} {
		t.Run(c.model, func(t *testing.T) {
			res := w.compute(t, c.model+", marginal: sport, overdispersion_test: true")
			fitted := stats.FitPoisson
			if strings.Contains(c.model, "negative") {
				fitted = stats.FitNegativeBinomial
			}
			f, err := fitted(w.x, terms, w.events, w.time, c.opts)
			if err != nil {
				t.Fatal(err)
			}
			r := row(t, res, "c/model/sport:football/rate ratio")
			near(t, "rate ratio", r.Estimate, f.Estimates[0].Value)
			near(t, "lower limit", r.Lower, f.Estimates[0].Lower)
			near(t, "upper limit", r.Upper, f.Estimates[0].Upper)
			near(t, "P", r.P, f.Estimates[0].P)
			if f.Overdispersion > 0 {
				near(t, "overdispersion", row(t, res, "c/model/overdispersion").Estimate, f.Overdispersion)
			}
			opts := stats.MarginalOptions{Per: 100}
			one, zero := set(w.x, 1), set(w.x, 0)
			for id, e := range map[string]func() (stats.Estimate, error){
				"football/marginal rate": func() (stats.Estimate, error) { return stats.MarginalRate(f, one, w.time, opts) },
				"swimming/marginal rate": func() (stats.Estimate, error) { return stats.MarginalRate(f, zero, w.time, opts) },
				"football vs swimming/marginal rate ratio": func() (stats.Estimate, error) {
					return stats.MarginalRatio(f, one, zero, w.time, opts)
				},
				"football vs swimming/marginal rate difference": func() (stats.Estimate, error) {
					return stats.MarginalDifference(f, one, zero, w.time, opts)
				},
			} {
				want, err := e()
				if err != nil {
					t.Fatal(err)
				}
				got := row(t, res, "c/marginal/sport:"+id)
				near(t, id, got.Estimate, want.Value)
				near(t, id+" lower", got.Lower, want.Lower)
				near(t, id+" upper", got.Upper, want.Upper)
			}
			tests, err := stats.OverdispersionTests(w.x, terms, w.events, w.time)
			if err != nil {
				t.Fatal(err)
			}
			near(t, "score", row(t, res, "c/model/score test of overdispersion").Statistic, tests[0].Statistic)
		})
	}
}

// TestShapes compares a spline and a season with direct fits, and their ratios
// with those of fitted rates.
func TestShapes(t *testing.T) {
	w := randomWeeks()
	s, err := stats.NewNaturalSpline([]float64{0, 10, 30, 51})
	if err != nil {
		t.Fatal(err)
	}
	f, err := stats.FitPoisson(w.columns(s.At), []string{"a", "b", "c", "d"}, w.events, w.time, stats.GLMOptions{})
	if err != nil {
		t.Fatal(err)
	}
	res := w.compute(t, "spline: {week: {at: [0, 10, 30, 51], reference: 30}}")
	near(t, "curve 2", row(t, res, "c/model/week:curve 2/coefficient").Estimate, f.Coefficients[4])
	log := 0.0
	for j, v := range s.At(10) {
		log += (v - s.At(30)[j]) * f.Coefficients[2+j]
	}
	r := row(t, res, "c/shapes/week:10 vs 30/rate ratio")
	near(t, "10 against 30", r.Estimate, math.Exp(log))
	near(t, "curvature", row(t, res, "c/shapes/week/test of curvature").Statistic, f.JointTest("", []int{3, 4}).Statistic)
	for _, r := range res.Rows {
		if r.Part == "model" && r.Measure == "rate ratio" && r.Variable == "week" {
			t.Errorf("a ratio of one column of a spline: %s", r.ID)
		}
	}
	h := stats.Harmonics{Period: 52}
	if f, err = stats.FitPoisson(w.columns(h.At), []string{"a", "b", "c"}, w.events, w.time, stats.GLMOptions{}); err != nil {
		t.Fatal(err)
	}
	res = w.compute(t, "season: {week: {period: 52}}")
	peak, ratio := h.SeasonPeak(f.Coefficients[2], f.Coefficients[3])
	near(t, "peak", row(t, res, "c/shapes/week/time of the peak").Estimate, peak)
	near(t, "peak to trough", row(t, res, "c/shapes/week/peak to trough rate ratio").Estimate, ratio)
	// Knots that fall together are a reason, not a fit.
	same := w
	lines := strings.Split(strings.TrimSpace(w.text), "\n")
	for i := range lines[1:] {
		cells := strings.Split(lines[i+1], ",")
		cells[3] = fmt.Sprint(i / 50)
		lines[i+1] = strings.Join(cells, ",")
	}
	same.text = strings.Join(lines, "\n") + "\n"
	res = same.compute(t, "spline: {week: {knots: 4}}, marginal: sport")
	for _, id := range []string{"c/model/log likelihood", "c/shapes/week/test of the term", "c/marginal/sport:swimming/marginal rate"} {
		if r := row(t, res, id); r.Estimate.Present() || !strings.Contains(r.Reason, "fall together") {
			t.Errorf("%s: %v, reason %q", id, r.Estimate, r.Reason)
		}
	}
}

// TestFewClusters: with fewer clusters than coefficients the joint test has a
// reason and the results can be published.
func TestFewClusters(t *testing.T) {
	res := countStudy(", model: {terms: [sport, events], cluster: school}", `football,A,4,100
swimming,A,1,120
football,B,6,90
swimming,B,2,150
football,B,3,110
swimming,A,1,80
`).compute(t)
	if r := row(t, res, "c/model/Wald test"); r.Statistic.Present() || !strings.Contains(r.Reason, "singular") {
		t.Errorf("joint test of two clusters: %v, reason %q", r.Statistic, r.Reason)
	}
}

// TestNegativeBinomialOfChildren: where events have days, the rows are the
// cells of each child, whose counts vary between children.
func TestNegativeBinomialOfChildren(t *testing.T) {
	w := cohortWalk{}
	var x [][]float64
	var events, hours []float64
	for i, n := range []int{0, 6, 1, 0, 9, 2, 0, 3, 0, 1, 5, 0} {
		k := kid{age: 10, spells: []spell{{walkSports[i%2], 0, 100, float64(20 + i)}}}
		for range n {
			k.onsets = append(k.onsets, onset{walkSports[i%2], 50})
		}
		w.kids = append(w.kids, k)
		x, events, hours = append(x, []float64{float64(i % 2)}), append(events, float64(n)), append(hours, float64(20+i))
	}
	f, err := stats.FitNegativeBinomial(x, []string{"swimming"}, events, hours, stats.GLMOptions{})
	if err != nil {
		t.Fatal(err)
	}
	study := w.folder()
	study["study.yaml"] += "    model: {terms: [sport], reference: {sport: football}, family: negative-binomial, marginal: sport}\n"
	res := study.compute(t)
	r := row(t, res, "rates/model/sport:swimming/rate ratio")
	near(t, "rate ratio", r.Estimate, f.Estimates[0].Value)
	near(t, "SE", r.SE, f.SE[1])
	near(t, "rows", row(t, res, "rates/model/log likelihood").N, 12)
	near(t, "overdispersion", row(t, res, "rates/model/overdispersion").Estimate, f.Overdispersion)
	if got := res.Analyses[0].Setting("rows of the model"); got != "cells of each child" {
		t.Errorf("rows of the model %q", got)
	}
}
