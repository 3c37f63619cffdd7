package run

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"heelcohort/stats"
)

// gradedRow is a heel of the graded study.
type gradedRow struct {
	arch, grade, side int
	score             float64
	pair              int
}

var (
	gradedArches = []string{"normal", "flat", "very flat"}
	gradedGrades = []string{"mild", "moderate", "severe"}
)

// gradedHeels are 120 heels whose grade rises with the arch.
func gradedHeels() (list []gradedRow) {
	for i := range 120 {
		r := gradedRow{arch: i % 3, side: (i / 3) % 2, pair: i / 2}
		r.grade = min(2, (i*7%5+r.arch+r.side)/2)
		r.score = float64(i*13%11) + 2*float64(r.arch) - float64(r.side)
		list = append(list, r)
	}
	return list
}

// gradedStudy holds them, with one heel whose grade is missing.
func gradedStudy(analyses string) folder {
	var data strings.Builder
	data.WriteString("id,child,arch,grade,score,side\n")
	for i, r := range gradedHeels() {
		fmt.Fprintf(&data, "%d,%d,%s,%s,%v,%s\n", i+1, r.pair, gradedArches[r.arch], gradedGrades[r.grade], r.score, []string{"a", "b"}[r.side])
	}
	data.WriteString("999,999,flat,NM,3,a\n")
	return folder{
		"codebook.yaml": `name: graded
resources:
  - name: heels
    path: data/heels.csv
    schema:
      primaryKey: id
      fields:
        - {name: id, type: integer}
        - {name: child, type: integer}
        - {name: arch, type: string, categories: [normal, flat, very flat], categoriesOrdered: true}
        - {name: grade, type: string, categories: [mild, moderate, severe], categoriesOrdered: true, missingValues: ["NM"]}
        - {name: score, type: number}
        - {name: side, type: string, categories: [a, b]}
`,
		"study.yaml":     "title: Graded\ncodebook: codebook.yaml\nanalyses:\n" + analyses,
		"data/heels.csv": data.String(),
	}
}

// TestGradedTable compares the table and its tests with counts made here.
func TestGradedTable(t *testing.T) {
	whole := emptyTable(3, 3)
	strata := [][][]int{emptyTable(3, 3), emptyTable(3, 3)}
	for _, r := range gradedHeels() {
		whole[r.arch][r.grade]++
		strata[r.side][r.arch][r.grade]++
	}
	res := gradedStudy("  - {id: a, kind: association, outcome: grade, exposure: arch, tests: [chi-square, likelihood-ratio, fisher, trend]}\n").compute(t)
	near(t, "count", row(t, res, "a/table/arch=flat/grade:severe/count").Estimate, float64(whole[1][2]))
	near(t, "n", row(t, res, "a/table/arch=flat/grade:severe/count").N, 40)
	scores := []float64{1, 2, 3}
	trend, err := stats.LinearByLinear(whole, scores, scores)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "trend", row(t, res, "a/tests/linear-by-linear association").Statistic, trend.Statistic)
	fisher, err := stats.Fisher(whole)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "Fisher", row(t, res, "a/tests/Fisher exact test").P, fisher.P)

	res = gradedStudy("  - {id: a, kind: association, outcome: grade, exposure: arch, stratify: side, tests: trend}\n").compute(t)
	general, err := stats.GeneralCochranMantelHaenszel(strata)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "general", row(t, res, "a/tests/general association within strata").P, general.P)
	trend, err = stats.StratifiedLinearByLinear(strata, scores, scores)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "stratified trend", row(t, res, "a/tests/linear-by-linear association within strata").P, trend.P)
}

// TestGradedModels compares the models of the plan with fits made here.
func TestGradedModels(t *testing.T) {
	var x, alone [][]float64
	var grade, pair []int
	var score []float64
	for _, r := range gradedHeels() {
		row := []float64{0, 0, float64(r.side)}
		if r.arch > 0 {
			row[r.arch-1] = 1
		}
		x, alone = append(x, row), append(alone, slices.Clone(row[:2]))
		grade, pair, score = append(grade, r.grade), append(pair, r.pair), append(score, r.score)
	}
	terms := []string{"flat", "very flat", "side"}
	res := gradedStudy("  - {id: a, kind: association, outcome: grade, exposure: arch, adjust: side, model: {family: proportional-odds}}\n").compute(t)
	odds, err := stats.FitProportionalOdds(x, terms, grade, gradedGrades, stats.OrdinalOptions{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "adjusted", row(t, res, "a/adjusted/arch:very flat/odds ratio").Upper, odds.Estimates[1].Upper)
	near(t, "cut point", row(t, res, "a/adjusted/:up to moderate/coefficient").Estimate, odds.Coefficients[1])
	one, err := stats.FitProportionalOdds(alone, terms[:2], grade, gradedGrades, stats.OrdinalOptions{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "crude", row(t, res, "a/model/arch:very flat/odds ratio").Upper, one.Estimates[1].Upper)
	near(t, "n", row(t, res, "a/adjusted/log likelihood").N, 120)

	res = gradedStudy("  - {id: a, kind: association, outcome: grade, exposure: arch, adjust: side, cluster: child, model: {family: proportional-odds, interact: side}}\n").compute(t)
	for i := range x {
		x[i] = append(x[i], x[i][0]*x[i][2], x[i][1]*x[i][2])
	}
	crossed, err := stats.FitProportionalOdds(x, append(terms, "p", "q"), grade, gradedGrades, stats.OrdinalOptions{Cluster: pair})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "interaction", row(t, res, "a/adjusted/side/test of interaction").P, crossed.JointTest("", []int{5, 6}).P)

	for i := range x {
		x[i] = x[i][:3]
	}
	res = gradedStudy("  - {id: a, kind: association, outcome: score, exposure: arch, adjust: side, cluster: child, model: {family: linear, errors: CR2, limits: satterthwaite}}\n").compute(t)
	// The heel whose grade is missing has a score.
	x, score, pair = append(x, []float64{1, 0, 0}), append(score, 3), append(pair, 999)
	linear, err := stats.FitLinear(x, terms, score, stats.GLMOptions{Cluster: pair, Robust: stats.CR2, Reference: stats.ReferenceSatterthwaite})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "linear", row(t, res, "a/adjusted/arch:flat/coefficient").Lower, linear.Coefficient(1, 0.95).Lower)
}

// TestGradedRefusals wants keys that need yes or no refused.
func TestGradedRefusals(t *testing.T) {
	for _, c := range []struct{ plan, want string }{
		{"outcome: score, exposure: arch", "expected a boolean, a variable with categories, or a number for family linear"},
		{"outcome: side, exposure: arch, model: {family: proportional-odds}", "whose categories have an order"},
		{"outcome: grade, exposure: arch, model: {family: linear}", "expected a number for family linear"},
		{"outcome: grade, exposure: arch, model: {family: logistic}", "expected a boolean, or family proportional-odds"},
		{"outcome: grade, exposure: arch, adjust: side", "expected a boolean, or family proportional-odds"},
		{"outcome: grade, exposure: arch, unmeasured: rare", "unmeasured goes with an outcome that is yes or no"},
		{"outcome: score, exposure: arch, tests: chi-square, model: {family: linear}", "tests goes with an outcome that is yes or no"},
		{"outcome: side, exposure: arch, tests: trend", "trend needs an order of both variables"},
		{"outcome: grade, exposure: arch, model: {family: proportional-odds, marginal: true}", "whose outcome is not yes or no"},
		{"outcome: grade, exposure: arch, cluster: child, model: {family: proportional-odds, errors: CR2}", "expected CR0 or CR1"},
		{"outcome: grade, exposure: arch, cluster: child, model: {family: proportional-odds, limits: clusters}", "expected normal"},
		{"outcome: score, exposure: arch, adjust: child, model: {family: linear, spline: {child: {knots: 3}}}", "spline goes with the families of ratios"},
	} {
		study := gradedStudy("  - {id: a, kind: association, " + c.plan + "}\n")
		if _, err := Read(study.write(t)); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", c.plan, err, c.want)
		}
	}
}

// TestModelChecks compares what the report says of a model with package stats.
func TestModelChecks(t *testing.T) {
	var x [][]float64
	var y []bool
	for _, k := range []struct {
		n         int
		pron, out float64
	}{{60, 1, 1}, {90, 1, 0}, {50, 0, 1}, {200, 0, 0}} {
		for j := range k.n {
			x, y = append(x, []float64{k.pron, float64((j + 1) % 2)}), append(y, k.out == 1)
		}
	}
	terms := []string{"arch", "side"}
	res := robustStudy("  - {id: a, kind: association, outcome: pain, exposure: arch, adjust: side}\n").compute(t)
	inflation, err := stats.VarianceInflation(x, terms, [][]int{{0}, {1}})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "inflation", row(t, res, "a/checks/arch/variance inflation factor").Estimate, inflation[0].Factor)
	f, err := stats.FitLogistic(x, terms, y, stats.GLMOptions{})
	if err != nil {
		t.Fatal(err)
	}
	list, err := stats.LogisticInfluence(x, y, f, stats.InfluenceOptions{})
	if err != nil {
		t.Fatal(err)
	}
	largest := 0.0
	for _, one := range list {
		largest = max(largest, one.Change[1]/f.SE[1], -one.Change[1]/f.SE[1])
	}
	near(t, "influence", row(t, res, "a/checks/arch:pronated/largest change without one row").Estimate, largest)

	res = robustStudy("  - {id: a, kind: association, outcome: pain, exposure: arch, adjust: side, model: {limits: score}}\n").compute(t)
	score, err := stats.LogisticScore(x, terms, y, stats.GLMOptions{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "score limits", row(t, res, "a/adjusted/arch:pronated/odds ratio").Lower, score[0].Lower)
	res = robustStudy("  - {id: a, kind: association, outcome: pain, exposure: arch, adjust: side, model: {family: log-binomial, marginal: true}}\n").compute(t)
	risk, err := stats.FitLogBinomial(x, terms, y, stats.GLMOptions{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "log-binomial", row(t, res, "a/adjusted/arch:pronated/risk ratio").Upper, risk.Estimates[0].Upper)
	near(t, "marginal ratio", row(t, res, "a/marginal/arch:pronated vs normal/marginal risk ratio").Estimate, risk.Estimates[0].Value)
}
