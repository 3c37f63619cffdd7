package run

import (
	"strings"
	"testing"
)

// TestAssociationPlanRefusals wants every fault refused before data are read, at the
// place that ¦ marks.
func TestAssociationPlanRefusals(t *testing.T) {
	const a = "id: a, kind: association, outcome: pain, exposure: arch, "
	for _, c := range []struct{ plan, want string }{
		{a + "tests: [fisher, ¦fisher]", "stands twice among the tests"},
		{a + "tests: [fishr]", `did you mean "fisher"?`},
		{"¦" + a + "tests: trend", "has none in the codebook, expected scores"},
		{a + "tests: trend, scores: {¦normal: 1}", `no score for level "pronated"`},
		{a + "scores: {¦normal: 1}", "expected trend among tests"},
		{a + "stratify: ¦pain", "is in the table already"},
		{a + "stratify: ¦sidee", `did you mean "side"?`},
		{"¦" + a + "exact: true", "expected variables of strata"},
		{"¦" + a + "tests: chi-square, seed: 3", "expected fisher among tests"},
		{a + "negative_control: ¦side", "expected a boolean"},
		{a + "negative_control: ¦pain", "is the outcome itself"},
		{a + "misclassification: {sensitivity: ¦1.2, specificity: 1}", "from 0 to 1"},
		{a + "misclassification: {sensitivity: ¦{uniform: [0.9]}, specificity: 1}", "expected 2"},
		{a + "misclassification: {sensitivity: ¦{uniform: [0.9, 0.8]}, specificity: 1}", "expected ascending"},
		{a + "misclassification: {sensitivity: ¦{uniform: [0.9, 1], beta: [2, 3]}, specificity: 1}", "2 shapes"},
		{a + "misclassification: ¦{sensitivity: 0.9, specificity: 1, correlation: 0.5}", "expected beliefs for those without"},
		{a + "model: ¦{family: marginal}", "expected the variable of the clusters"},
		{a + "cluster: side, model: ¦{family: firth}", "its penalty has none"},
		{a + "model: ¦{family: conditional}", "expected both or neither"},
		{a + "model: ¦{family: conditional, sets: side, marginal: true}", "has no estimate in it"},
		{a + "model: {family: conditional, sets: ¦sied}", `did you mean "side"?`},
		{a + "model: ¦{working: independence}", "working goes with family marginal"},
		{a + "cluster: side, model: {limits: ¦score}", "without cluster"},
		{a + "model: {errors: ¦CR2}", "errors CR2 without cluster"},
		{a + "cluster: side, model: {family: marginal, errors: ¦CR2}", "expected CR0 or bias-reduced"},
		{a + "cluster: side, model: {errors: ¦bias-reduced}", "expected CR0 to CR3"},
		{a + "cluster: side, model: {limits: ¦profile}", "without cluster"},
		{a + "model: {limits: ¦clusters}", "without cluster"},
		{a + "cluster: side, model: {family: marginal, limits: ¦satterthwaite}", "expected normal or clusters"},
		{a + "adjust: side, model: {spline: {¦side: {knots: 3}}}", "which has levels"},
		{a + "adjust: side, model: {interact: ¦sied}", `did you mean "side"?`},
		{a + "adjust: side, model: {interact: [side, ¦side]}", "stands twice"},
		{"id: m, kind: multiplicity, rows: ¦x", "expected the id of a row"},
		{"id: m, kind: multiplicity, rows: ¦a/tests/*", "expected one that stands above"},
		{"id: p, kind: paired, first: pain, second: ¦pain", "is the first of the pair too"},
		{"id: p, kind: paired, first: ¦side, second: pain", "expected a boolean"},
	} {
		study := robustStudy("  - {" + strings.ReplaceAll(c.plan, "¦", "") + "}\n")
		_, err := Read(study.write(t))
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", c.plan, err, c.want)
			continue
		}
		if at := strings.Index(c.plan, "¦"); at > 0 {
			column := len("  - {") + at + 1
			if !strings.Contains(err.Error(), "study.yaml:4:"+shortNumber(float64(column))+":") {
				t.Errorf("%s: %v, want column %d", c.plan, err, column)
			}
		}
	}
}
