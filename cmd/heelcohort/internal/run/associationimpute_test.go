package run

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"heelcohort/stats"
)

// gapStudy holds children whose arch or age is now and then missing.
func gapStudy(analysis string) (folder, []stats.ImputeColumn) {
	var data strings.Builder
	data.WriteString("id,arch,age,site,pain\n")
	c := []stats.ImputeColumn{{Name: "pain", Levels: 2}, {Name: "arch", Levels: 3}, {Name: "age"}, {Name: "site", Levels: 2}}
	arches := []string{"normal", "flat", "very flat"}
	for i := range 240 {
		arch, age, site := float64(i*7%3), float64(8+i*5%9), float64(i%2)
		pain := 0.0
		if (i*i+i/3)*37%10 < 3+int(arch) {
			pain = 1
		}
		seen := []string{arches[int(arch)], fmt.Sprint(age), "ab"[i%2 : i%2+1], []string{"no", "yes"}[int(pain)]}
		values := []float64{pain, arch, age, site}
		switch {
		case i%9 == 0:
			seen[0], values[1] = "NM", math.NaN()
		case i%11 == 0:
			seen[1], values[2] = "NM", math.NaN()
		case i%31 == 0:
			seen[3], values[0] = "NM", math.NaN()
		}
		for k := range c {
			c[k].Values = append(c[k].Values, values[k])
		}
		fmt.Fprintf(&data, "%d,%s\n", i+1, strings.Join(seen, ","))
	}
	return folder{
		"codebook.yaml": `name: gaps
resources:
  - name: children
    path: children.csv
    schema:
      primaryKey: id
      fields:
        - {name: id, type: integer}
        - {name: arch, type: string, categories: [normal, flat, very flat], missingValues: ["NM"]}
        - {name: age, type: number, missingValues: ["NM"]}
        - {name: site, type: string, categories: [a, b]}
        - {name: pain, type: boolean, trueValues: ["yes"], falseValues: ["no"], missingValues: ["NM"]}
`,
		"study.yaml":   "title: Gaps\ncodebook: codebook.yaml\nanalyses:\n" + analysis,
		"children.csv": data.String(),
	}, c
}

// TestImputedModel compares the pooled model with package stats on the same
// completed data sets.
func TestImputedModel(t *testing.T) {
	study, columns := gapStudy("  - {id: a, kind: association, outcome: pain, exposure: arch, adjust: age, impute: {with: site, imputations: 5, cycles: 3, seed: 9}}\n")
	res := study.compute(t)
	done, err := stats.Impute(columns, stats.ImputeOptions{Imputations: 5, Cycles: 3, Seed: 9})
	if err != nil {
		t.Fatal(err)
	}
	var b, v []float64
	n, completed := 0, 0
	for m, set := range done.Values {
		var x [][]float64
		var y []bool
		for i, pain := range columns[0].Values {
			if math.IsNaN(pain) {
				continue
			}
			flat, very := 0.0, 0.0
			switch set[1][i] {
			case 1:
				flat = 1
			case 2:
				very = 1
			}
			x, y = append(x, []float64{flat, very, set[2][i]}), append(y, pain == 1)
			if m == 0 && (math.IsNaN(columns[1].Values[i]) || math.IsNaN(columns[2].Values[i])) {
				completed++
			}
		}
		f, err := stats.FitLogistic(x, []string{"flat", "very", "age"}, y, stats.GLMOptions{})
		if err != nil {
			t.Fatal(err)
		}
		n = f.N
		b, v = append(b, f.Coefficients[2]), append(v, f.SE[2]*f.SE[2])
	}
	p, err := stats.PoolImputed(b, v, stats.PooledOptions{CompleteDF: float64(n - 4)})
	if err != nil {
		t.Fatal(err)
	}
	r := row(t, res, "a/imputed/arch:very flat/odds ratio")
	near(t, "odds ratio", r.Estimate, math.Exp(p.Value))
	near(t, "upper limit", r.Upper, math.Exp(p.Upper))
	near(t, "n", r.N, float64(n))
	near(t, "missing information", row(t, res, "a/imputed/arch:very flat/fraction of missing information").Estimate, p.Missing)
	near(t, "completed", row(t, res, "a/imputed/rows completed").Estimate, float64(completed))
	near(t, "complete cases", row(t, res, "a/adjusted/log likelihood").N, float64(n-completed))

	for _, family := range []string{"modified-poisson", "marginal", "log-binomial"} {
		cluster, working := "", ""
		if family == "marginal" {
			cluster, working = "cluster: id, ", ", working: independence"
		}
		study, _ := gapStudy("  - {id: a, kind: association, outcome: pain, exposure: arch, adjust: age, " + cluster + "model: {family: " + family + working + "}, impute: {imputations: 3, cycles: 2}}\n")
		res := study.compute(t)
		measure := "risk ratio"
		if family == "marginal" {
			measure = "odds ratio"
		}
		if r := row(t, res, "a/imputed/arch:flat/"+measure); !r.Estimate.Present() || !(r.Lower < r.Estimate && r.Estimate < r.Upper) {
			t.Errorf("%s: %+v", family, r)
		}
	}
}

func TestImputationRefused(t *testing.T) {
	for plan, want := range map[string]string{
		"impute: {seed: 2}": "expected adjust or model beside it",
		"adjust: age, model: {family: firth}, impute: {seed: 2}":             "whose estimates are not pooled",
		"adjust: age, model: {spline: {age: {knots: 3}}}, impute: {seed: 2}": "whose knots would move",
		"adjust: age, impute: {with: age}":                                   "is imputed from already",
		"adjust: age, impute: {with: sitee}":                                 `did you mean "site"?`,
		"adjust: age, impute: {imputations: 1}":                              "at least 2",
	} {
		study, _ := gapStudy("  - {id: a, kind: association, outcome: pain, exposure: arch, " + plan + "}\n")
		if _, err := Read(study.write(t)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", plan, err, want)
		}
	}
}
