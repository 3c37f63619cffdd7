package run

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"testing"

	"heelcohort/cmd/heelcohort/internal/result"
)

// An edge is a study of heels at which some method must say why it has no
// answer: a line for each heel is child, arch, pain, age, site and grade.
type edge struct {
	name  string
	heels func() []string
	// says is a word of the reason that the model's or the table's rows must
	// give, "" where there is an answer.
	says string
}

// heel writes a line of an edge.
func heel(child int, arch, pain string, age float64, site, grade string) string {
	return fmt.Sprintf("%d,%s,%s,%v,%s,%s", child, arch, pain, age, site, grade)
}

// sixtyHeels are heels of thirty children, without an edge, that a test bends.
func sixtyHeels(bend func(i int, fields []string)) func() []string {
	return func() (list []string) {
		for i := range 60 {
			fields := []string{fmt.Sprint(i / 2), []string{"normal", "flat"}[i*5%7%2], []string{"no", "yes"}[i*3%5%2], fmt.Sprint(8 + i*7%9), []string{"a", "b"}[i%4/2], []string{"mild", "moderate", "severe"}[i*3%7%3]}
			if bend != nil {
				bend(i, fields)
			}
			list = append(list, strings.Join(fields, ","))
		}
		return list
	}
}

var edges = []edge{
	{"no edge", sixtyHeels(nil), ""},
	{"empty cell", sixtyHeels(func(_ int, f []string) {
		if f[1] == "flat" {
			f[2] = "no"
		}
	}), "without bound"},
	{"empty stratum", sixtyHeels(func(_ int, f []string) {
		if f[4] == "b" {
			f[1] = "normal"
		}
	}), ""},
	{"one group", sixtyHeels(func(_ int, f []string) { f[1] = "normal" }), "no row"},
	{"perfect separation", sixtyHeels(func(_ int, f []string) {
		f[2] = map[string]string{"flat": "yes", "normal": "no"}[f[1]]
	}), "without bound"},
	{"rank-deficient", sixtyHeels(func(_ int, f []string) {
		f[3] = map[string]string{"a": "8", "b": "12"}[f[4]]
	}), "collinear"},
	{"constant outcome", sixtyHeels(func(_ int, f []string) { f[2], f[5] = "no", "mild" }), "no events"},
	{"all missing", sixtyHeels(func(_ int, f []string) { f[2], f[5] = "", "" }), "no observations"},
	{"single cluster", sixtyHeels(func(_ int, f []string) { f[0] = "1" }), "cluster"},
	{"two clusters", sixtyHeels(func(i int, f []string) { f[0] = fmt.Sprint(i % 2) }), ""},
	{"one heel", func() []string { return []string{heel(1, "flat", "yes", 9, "a", "mild")} }, "no"},
	{"no heel", func() []string { return nil }, "no"},
}

// edgePlans are analyses that must answer or refuse at every edge.
var edgePlans = []string{
	"outcome: pain, exposure: arch, tests: [chi-square, likelihood-ratio, fisher, trend], stratify: site, exact: true, unmeasured: rare",
	"outcome: pain, exposure: arch, limits: {odds: score, ratio: score, difference: score}, adjust: [age, site], model: {marginal: true}",
	"outcome: pain, exposure: arch, adjust: [age, site], model: {limits: profile}",
	"outcome: pain, exposure: arch, adjust: [age, site], model: {limits: score, spline: {age: {knots: 3}}}",
	"outcome: pain, exposure: arch, adjust: [age, site], model: {family: firth, interact: site}",
	"outcome: pain, exposure: arch, adjust: [age, site], model: {family: modified-poisson}",
	"outcome: pain, exposure: arch, adjust: [age, site], model: {family: log-binomial, marginal: true}",
	"outcome: pain, exposure: arch, adjust: [age], model: {family: conditional, sets: child}",
	"outcome: pain, exposure: arch, adjust: [age, site], cluster: child",
	"outcome: pain, exposure: arch, adjust: [age, site], cluster: child, model: {errors: CR2, limits: satterthwaite}",
	"outcome: pain, exposure: arch, adjust: [age, site], cluster: child, model: {errors: CR3, limits: clusters, family: modified-poisson}",
	"outcome: pain, exposure: arch, adjust: [age, site], cluster: child, model: {family: marginal, marginal: true}",
	"outcome: pain, exposure: arch, adjust: [age, site], cluster: child, model: {family: marginal, errors: bias-reduced, working: independence}",
	"outcome: pain, exposure: arch, adjust: [age, site], impute: {imputations: 2, cycles: 2}",
	"outcome: pain, exposure: arch, adjust: [age, site], cluster: child, model: {family: modified-poisson}, impute: {with: grade, imputations: 2, cycles: 2}",
	"outcome: grade, exposure: arch, adjust: age, model: {family: proportional-odds}, impute: {imputations: 2, cycles: 2}",
	"outcome: grade, exposure: arch, tests: [chi-square, fisher, trend]",
	"outcome: grade, exposure: arch, stratify: site, tests: trend",
	"outcome: grade, exposure: arch, adjust: [age, site], cluster: child, model: {family: proportional-odds}",
	"outcome: age, exposure: arch, adjust: site, model: {family: linear}",
	"outcome: pain, exposure: arch, misclassification: {sensitivity: 0.9, specificity: 0.9}",
}

// TestAssociationEdges wants, at every edge and of every analysis, each row to
// hold a finite number or a reason, limits that hold the estimate, and the
// models to name what they refuse.
func TestAssociationEdges(t *testing.T) {
	for _, e := range edges {
		var analyses strings.Builder
		for i, p := range edgePlans {
			fmt.Fprintf(&analyses, "  - {id: p%d, kind: association, %s}\n", i, p)
		}
		analyses.WriteString("  - {id: d, kind: describe, by: arch, variables: [age, pain, grade], tests: true, differences: true, distributions: true}\n")
		analyses.WriteString("  - {id: r, kind: describe, by: arch, variables: [age, pain, grade], tests: {numbers: rank-sum, categories: fisher}}\n")
		study := folder{
			"codebook.yaml": `name: edges
resources:
  - name: heels
    path: heels.csv
    schema:
      primaryKey: id
      fields:
        - {name: id, type: integer}
        - {name: child, type: integer}
        - {name: arch, type: string, categories: [normal, flat], categoriesOrdered: true}
        - {name: pain, type: boolean, trueValues: ["yes"], falseValues: ["no"], missingValues: [""]}
        - {name: age, type: number}
        - {name: site, type: string, categories: [a, b]}
        - {name: grade, type: string, categories: [mild, moderate, severe], categoriesOrdered: true, missingValues: [""]}
`,
			"study.yaml": "title: Edges\ncodebook: codebook.yaml\nanalyses:\n" + analyses.String(),
		}
		csv := "id,child,arch,pain,age,site,grade\n"
		for i, line := range e.heels() {
			csv += fmt.Sprintf("%d,%s\n", i+1, line)
		}
		study["heels.csv"] = csv
		res := study.compute(t)
		said := false
		reasons := map[string]bool{}
		for _, r := range res.Rows {
			if r.Reason != "" {
				reasons[r.Reason] = true
			}
			said = said || strings.Contains(r.Reason, e.says)
			answered(t, e.name, r)
		}
		if !said {
			t.Errorf("%s: no row says %q among %v", e.name, e.says, slices.Sorted(maps.Keys(reasons)))
		}
	}
}

// answered wants a row to hold what it claims.
func answered(t *testing.T, edge string, r result.Row) {
	t.Helper()
	value := r.Estimate
	if !value.Present() {
		value = r.P
	}
	switch {
	case !value.Present() && !r.Statistic.Present() && r.Reason == "":
		t.Errorf("%s: %s has neither a number nor a reason", edge, r.ID)
	case math.IsInf(float64(r.Estimate), 1) && r.Lower > 0 && !math.IsInf(float64(r.Lower), 0) && math.IsInf(float64(r.Upper), 1):
		// An unbounded ratio with the limit that the data do set, which is shown
		// as such.
	case math.IsInf(float64(r.Estimate), 0) || math.IsInf(float64(r.P), 0) || math.IsInf(float64(r.Statistic), 0) || math.IsInf(float64(r.SE), 0):
		t.Errorf("%s: %s holds an infinity: %v", edge, r.ID, r)
	case r.P.Present() && (r.P < 0 || r.P > 1):
		t.Errorf("%s: %s has P %v", edge, r.ID, r.P)
	case r.Estimate.Present() && r.Lower.Present() && r.Upper.Present() && r.Part != "misclassification" && (r.Lower > r.Estimate+1e-9 || r.Upper < r.Estimate-1e-9):
		t.Errorf("%s: %s is %v outside of its limits %v to %v", edge, r.ID, r.Estimate, r.Lower, r.Upper)
	}
}
