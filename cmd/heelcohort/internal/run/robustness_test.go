package run

import (
	"math"
	"strings"
	"testing"
)

// robustStudy is 400 children: of the pronated 60 of 150 have pain, of the
// others 50 of 250; bruises are as frequent in both.
func robustStudy(analyses string) folder {
	var data strings.Builder
	data.WriteString("id,arch,pain,bruise,side\n")
	id := 0
	for _, k := range []struct {
		n    int
		cell string
	}{{60, "pronated,yes"}, {90, "pronated,no"}, {50, "normal,yes"}, {200, "normal,no"}} {
		for i := range k.n {
			id++
			bruise, side := "no", "a"
			if i%5 == 0 {
				bruise = "yes"
			}
			if i%2 == 0 {
				side = "b"
			}
			data.WriteString(shortNumber(float64(id)) + "," + k.cell + "," + bruise + "," + side + "\n")
		}
	}
	return folder{
		"codebook.yaml": `name: robust
resources:
  - name: children
    path: data/children.csv
    schema:
      primaryKey: id
      fields:
        - {name: id, type: integer}
        - {name: arch, type: string, categories: [normal, pronated]}
        - {name: pain, type: boolean, trueValues: ["yes"], falseValues: ["no"]}
        - {name: bruise, type: boolean, trueValues: ["yes"], falseValues: ["no"]}
        - {name: side, type: string, categories: [a, b]}
`,
		"study.yaml":        "title: Robust\ncodebook: codebook.yaml\nanalyses:\n" + analyses,
		"data/children.csv": data.String(),
	}
}

// By hand: the odds ratio is 60·200/(90·50) = 8/3, its root 1.633; with known
// sensitivity 0.8 and specificity 0.9 the corrected table is (60 − 0.1·110)/0.7
// = 70 of 110 with pain and (90 − 0.1·290)/0.7 = 87.14 of 290 without.
func TestRobustness(t *testing.T) {
	res := robustStudy(`  - id: a
    kind: association
    outcome: pain
    exposure: arch
    adjust: side
    unmeasured: common
    negative_control: bruise
    misclassification: {sensitivity: 0.8, specificity: 0.9, draws: 2000}
  - {id: family, kind: multiplicity, rows: ["a/tests/*", "a/adjusted/arch:*/odds ratio"], method: bonferroni}
`).compute(t)
	root := math.Sqrt(float64(row(t, res, "a/adjusted/arch:pronated/odds ratio").Estimate))
	near(t, "E-value", row(t, res, "a/confounding/arch:pronated/E-value").Estimate, root+math.Sqrt(root*(root-1)))
	corrected := (70.0 / 40) / ((90 - 29) / 0.7 / (290 - (90-29)/0.7))
	r := row(t, res, "a/misclassification/arch:pronated/odds ratio, systematic error")
	near(t, "corrected", r.Estimate, corrected)
	near(t, "no spread of what is known", r.Lower, corrected)
	total := row(t, res, "a/misclassification/arch:pronated/odds ratio, systematic and random error")
	if !(total.Lower < r.Estimate && r.Estimate < total.Upper) {
		t.Errorf("total error %v to %v around %v", total.Lower, total.Upper, r.Estimate)
	}
	near(t, "negative control", row(t, res, "a/control/arch:pronated/odds ratio").Estimate, 1)
	chi := row(t, res, "a/tests/chi-square")
	f := row(t, res, "family/family/:a%2Ftests%2Fchi-square/P value")
	near(t, "as it was", f.Estimate, float64(chi.P))
	near(t, "adjusted", f.P, 3*float64(chi.P))
	near(t, "family", f.N, 3)
}

// withPairs adds a variable that names pairs of rows.
func withPairs(study folder, pair []int) {
	lines := strings.Split(strings.TrimSpace(study["data/children.csv"]), "\n")
	lines[0] += ",pair"
	for i, p := range pair {
		lines[i+1] += "," + shortNumber(float64(p))
	}
	study["data/children.csv"] = strings.Join(lines, "\n") + "\n"
	study["codebook.yaml"] += "        - {name: pair, type: integer}\n"
}
