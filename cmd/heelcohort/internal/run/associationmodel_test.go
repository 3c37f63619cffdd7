package run

import (
	"math"
	"testing"

	"heelcohort/stats"
)

// TestAssociationModels compares each family of the plan with a fit made here
// on the same rows.
func TestAssociationModels(t *testing.T) {
	study := func(model string) folder {
		return robustStudy("  - {id: a, kind: association, outcome: pain, exposure: arch, adjust: [side, bruise], " + model + "}\n")
	}
	var x, crossed [][]float64
	var y []bool
	var counts []float64
	var pair []int
	i := 0
	for _, k := range []struct {
		n         int
		pron, out float64
	}{{60, 1, 1}, {90, 1, 0}, {50, 0, 1}, {200, 0, 0}} {
		for j := range k.n {
			b, bruise := 0.0, 0.0
			if j%2 == 0 {
				b = 1
			}
			if j%5 == 0 {
				bruise = 1
			}
			x, crossed = append(x, []float64{k.pron, b, bruise}), append(crossed, []float64{k.pron, b, bruise, k.pron * b})
			y, counts, pair = append(y, k.out == 1), append(counts, k.out), append(pair, i%200)
			i++
		}
	}
	terms := []string{"arch", "side", "bruise"}
	id := "a/adjusted/arch:pronated/"

	res := study("model: {family: firth}").compute(t)
	firth, err := stats.FitFirth(x, terms, y, stats.FirthOptions{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "Firth", row(t, res, id+"odds ratio").Upper, firth.Estimates[0].Upper)

	res = study("model: {limits: profile}").compute(t)
	profile, err := stats.LogisticProfile(x, terms, y, stats.GLMOptions{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "profile", row(t, res, id+"odds ratio").Lower, profile[0].Lower)

	res = study("model: {family: modified-poisson}").compute(t)
	poisson, err := stats.FitModifiedPoisson(x, terms, y, stats.GLMOptions{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "modified Poisson", row(t, res, id+"risk ratio").Upper, poisson.Estimates[0].Upper)

	res = study("model: {interact: side, marginal: true}").compute(t)
	both, err := stats.FitLogistic(crossed, append(terms, "both"), y, stats.GLMOptions{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "interaction", row(t, res, "a/adjusted/arch × side:pronated × b/odds ratio").Estimate, both.Estimates[3].Value)
	near(t, "its test", row(t, res, "a/adjusted/side/test of interaction").P, both.Estimates[3].P)
	one, zero := make([][]float64, len(x)), make([][]float64, len(x))
	for i, r := range x {
		one[i], zero[i] = []float64{1, r[1], r[2], r[1]}, []float64{0, r[1], r[2], 0}
	}
	d, err := stats.MarginalRiskDifference(both, one, zero, stats.MarginalOptions{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "marginal risk difference", row(t, res, "a/marginal/arch:pronated vs normal/marginal risk difference").Upper, d.Upper)

	matched := study("model: {family: conditional, sets: pair}")
	sets := make([]int, len(y)) // of three, in which side differs
	for i := range sets {
		sets[i] = i % 133
	}
	withPairs(matched, sets)
	res = matched.compute(t)
	c, err := stats.FitConditionalLogistic(x, terms, y, sets, stats.ConditionalOptions{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "conditional", row(t, res, id+"odds ratio").Upper, c.Estimates[0].Upper)

	study2 := study("cluster: pair, model: {family: marginal, errors: bias-reduced, limits: clusters}")
	withPairs(study2, pair)
	res = study2.compute(t)
	g, err := stats.FitGEE(x, terms, counts, nil, stats.GEEOptions{Family: stats.GEEBinomial, Cluster: pair, BiasReduced: true, StudentT: true})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "marginal model", row(t, res, id+"odds ratio").Upper, g.Estimates[0].Upper)
	near(t, "correlation", row(t, res, "a/adjusted/working correlation").Estimate, g.Correlation)
	if r := row(t, res, "a/adjusted/log likelihood"); !math.IsNaN(float64(r.Estimate)) || r.Reason == "" {
		t.Errorf("a marginal model has the log likelihood %v (%q)", r.Estimate, r.Reason)
	}
}
