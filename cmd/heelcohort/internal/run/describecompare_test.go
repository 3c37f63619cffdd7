package run

import (
	"strings"
	"testing"

	"heelcohort/stats"
)

// TestDescribeCompares compares the tests and differences of a description with
// those of the same values made here.
func TestDescribeCompares(t *testing.T) {
	study := robustStudy("  - {id: d, kind: describe, by: arch, variables: [id, pain], tests: true, differences: true}\n" +
		"  - {id: r, kind: describe, by: arch, variables: [id, pain], tests: {numbers: rank-sum, categories: fisher}}\n" +
		"  - {id: none, kind: describe, by: arch, variables: [id], tests: {numbers: none}}\n")
	study["codebook.yaml"] = strings.Replace(study["codebook.yaml"], "      primaryKey: id\n", "", 1)
	res := study.compute(t)
	var pronated, normal []float64
	for i := range 400 {
		if i < 150 {
			pronated = append(pronated, float64(i+1))
		} else {
			normal = append(normal, float64(i+1))
		}
	}
	w, err := stats.WelchTest(normal, pronated, 0)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "Welch's t", row(t, res, "d/tests/id/test of no difference").Statistic, w.Test.Statistic)
	chi, err := stats.ChiSquare([][]int{{60, 90}, {50, 200}})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "chi-square", row(t, res, "d/tests/pain/test of no difference").P, chi.P)
	d, err := stats.StandardisedMeanDifference(normal, pronated)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "difference", row(t, res, "d/differences/id/standardised difference").Estimate, d)
	s, err := stats.StandardisedShares([]int{200, 50}, []int{90, 60})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "difference of shares", row(t, res, "d/differences/pain/standardised difference").Estimate, s)
	ranks, err := stats.RankSum(normal, pronated)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "rank-sum", row(t, res, "r/tests/id/test of no difference").P, ranks.Test.P)
	fisher, err := stats.Fisher([][]int{{60, 90}, {50, 200}})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "Fisher", row(t, res, "r/tests/pain/test of no difference").P, fisher.P)
	for _, r := range res.Rows {
		if r.Analysis == "none" && r.Part == "tests" {
			t.Errorf("a test that is not asked for: %s", r.ID)
		}
	}
	for plan, want := range map[string]string{
		"tests: true":                       "expected a grouping variable",
		"differences: true":                 "expected a grouping variable",
		"by: arch, tests: {a: b}":           `unknown key "a"`,
		"by: arch, tests: {numbers: welsh}": `did you mean "welch"?`,
	} {
		_, err := Read(robustStudy("  - {id: d, kind: describe, variables: [id], " + plan + "}\n").write(t))
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", plan, err, want)
		}
	}
}
