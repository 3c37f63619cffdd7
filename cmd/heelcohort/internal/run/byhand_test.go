package run

import (
	"math"
	"strings"
	"testing"

	"heelcohort/stats"
)

const smallBook = `
name: small
resources:
  - name: children
    path: data/children.csv
    schema:
      primaryKey: id
      missingValues:
        - ""
        - {value: NM, label: not measured}
        - {value: RF, label: refused}
      fields:
        - {name: id, type: string}
        - {name: arch, type: string, title: Arch, categories: [supinated, normal, pronated]}
        - {name: pain, type: boolean, title: Pain, trueValues: ["yes"], falseValues: ["no"]}
        - {name: age, type: number, title: Age}
        - {name: code, type: integer, title: Code, categories: [1000000, 2000000]}
        - {name: club, type: string, title: Club}
`

func smallStudy(analysis, rows string) folder {
	return folder{
		"study.yaml":        "title: Small\ncodebook: codebook.yaml\nanalyses:\n  - " + analysis + "\n",
		"codebook.yaml":     smallBook,
		"data/children.csv": "id,arch,pain,age,code,club\n" + strings.TrimLeft(rows, "\n"),
	}
}

// TestDescribe is worked by hand. Ages of normal arches: 8, 10, 11, 15; mean
// 11, sum of squares 9+1+0+16 = 26, SD sqrt(26/3); quartiles of type 7 at
// 1+3/4, 1+3/2 and 1+9/4: 9.5, 10.5, 12.
func TestDescribe(t *testing.T) {
	res := smallStudy("{id: one, kind: describe, by: arch, variables: [age, pain, code]}", `
a,normal,yes,8,1000000,K
b,normal,no,10,2000000,K
c,normal,no,11,2000000,K
d,normal,RF,15,NM,K
e,normal,yes,NM,2000000,K
f,pronated,yes,12,1000000,L
g,,no,20,,L
`).compute(t)
	for id, want := range map[string]float64{
		"one/size/count":                                  7,
		"one/size/arch=normal/count":                      5,
		"one/size/arch=supinated/count":                   0,
		"one/values/arch=normal/age/mean":                 11,
		"one/values/arch=normal/age/standard deviation":   math.Sqrt(26.0 / 3),
		"one/values/arch=normal/age/minimum":              8,
		"one/values/arch=normal/age/lower quartile":       9.5,
		"one/values/arch=normal/age/median":               10.5,
		"one/values/arch=normal/age/upper quartile":       12,
		"one/values/arch=normal/age/maximum":              15,
		"one/values/age/mean":                             76.0 / 6,
		"one/values/arch=normal/pain:true/count":          2,
		"one/values/arch=normal/pain:true/percent":        50,
		"one/values/arch=normal/code:1000000/count":       1,
		"one/values/arch=normal/code:2000000/count":       3,
		"one/values/arch=normal/code:2000000/percent":     75,
		"one/values/pain:true/percent":                    50,
		"one/missing/arch=normal/age:NM/count":            1,
		"one/missing/arch=pronated/age:NM/count":          0,
		"one/missing/pain:RF/count":                       1,
		"one/missing/code/count":                          1,
		"one/missing/code:NM/count":                       1,
		"one/values/arch=pronated/age/mean":               12,
		"one/values/arch=pronated/age/standard deviation": math.NaN(),
		"one/values/arch=supinated/age/mean":              math.NaN(),
		"one/values/arch=supinated/pain:true/percent":     math.NaN(),
	} {
		r := row(t, res, id)
		near(t, id, r.Estimate, want)
		if math.IsNaN(want) == (r.Reason == "") {
			t.Errorf("%s has the reason %q", id, r.Reason)
		}
	}
	if n := row(t, res, "one/values/arch=normal/age/mean").N; n != 4 {
		t.Errorf("n is %v, want 4", n)
	}
	if got := removedUnder(res, "rows", ""); got != 1 {
		t.Errorf("%v rows accounted for, want the 1 without arch", got)
	}
}

// association is 4x10 children: 10 of each arch, of whom 2, 3 and 7 have pain.
func associationRows(counts map[string][2]int) string {
	var b strings.Builder
	n := 0
	for _, arch := range []string{"supinated", "normal", "pronated", ""} {
		for i, had := range []string{"yes", "no"} {
			for range counts[arch][i] {
				n++
				b.WriteString(strings.Join([]string{"c" + digits(float64(n)), arch, had, digits(8 + float64(n*7%5)), "", "K" + digits(float64(n%4))}, ",") + "\n")
			}
		}
	}
	return b.String()
}

// TestAssociation compares the rows with direct calls on the same counts.
func TestAssociation(t *testing.T) {
	counts := map[string][2]int{"supinated": {2, 8}, "normal": {3, 9}, "pronated": {7, 0}, "": {1, 2}}
	rows := associationRows(counts) + "x1,normal,NM,9,,K\nx2,normal,,9,,K\n"
	res := smallStudy("{id: one, kind: association, outcome: pain, exposure: arch, reference: normal}", rows).compute(t)
	limits := stats.LimitOptions{Level: 0.95}
	for _, c := range []struct {
		id   string
		want func() (stats.Estimate, error)
	}{
		{"one/crude/arch:supinated/odds ratio", func() (stats.Estimate, error) { return stats.OddsRatio(2, 8, 3, 9, limits) }},
		{"one/crude/arch:pronated/odds ratio", func() (stats.Estimate, error) { return stats.OddsRatioExact(7, 0, 3, 9, limits) }},
		{"one/crude/arch:supinated/risk ratio", func() (stats.Estimate, error) { return stats.RiskRatio(2, 8, 3, 9, limits) }},
		{"one/crude/arch:pronated/risk difference", func() (stats.Estimate, error) { return stats.RiskDifference(7, 0, 3, 9, limits) }},
		{"one/counts/arch:pronated/risk", func() (stats.Estimate, error) { return stats.Proportion(7, 7, stats.ProportionOptions{}) }},
	} {
		want, err := c.want()
		if err != nil {
			t.Fatal(err)
		}
		r := row(t, res, c.id)
		near(t, c.id, r.Estimate, want.Value)
		near(t, c.id+" lower", r.Lower, want.Lower)
		near(t, c.id+" upper", r.Upper, want.Upper)
		near(t, c.id+" P", r.P, want.P)
	}
	// By hand: OR 2*9/(8*3) = 3/4; RR (2/10)/(3/12) = 4/5; RD 1 − 1/4.
	near(t, "odds ratio", row(t, res, "one/crude/arch:supinated/odds ratio").Estimate, 0.75)
	near(t, "risk ratio", row(t, res, "one/crude/arch:supinated/risk ratio").Estimate, 0.8)
	near(t, "risk difference", row(t, res, "one/crude/arch:pronated/risk difference").Estimate, 0.75)
	near(t, "rows", row(t, res, "one/crude/arch:supinated/odds ratio").N, 22)
	chi, err := stats.ChiSquare([][]int{{2, 8}, {3, 9}, {7, 0}})
	if err != nil {
		t.Fatal(err)
	}
	r := row(t, res, "one/tests/chi-square")
	near(t, "chi-square", r.Statistic, chi.Statistic)
	near(t, "n", r.N, 29)
	if got := removedUnder(res, "rows", ""); got != 5 {
		t.Errorf("%v rows accounted for, want 5 without outcome or exposure", got)
	}
}

// TestAssociationModel compares the adjusted rows with a direct fit.
func TestAssociationModel(t *testing.T) {
	counts := map[string][2]int{"normal": {6, 9}, "pronated": {9, 7}, "": {1, 1}}
	text := associationRows(counts) + "x1,normal,NM,9,,K\nx2,normal,yes,NM,,K\nx3,pronated,no,9,,\n"
	res := smallStudy("{id: one, kind: association, outcome: pain, exposure: arch, reference: pronated, adjust: age, cluster: club}", text).compute(t)
	var x [][]float64
	var y []bool
	var ids []int
	clubs := map[string]int{}
	for line := range strings.Lines(text) {
		f := strings.Split(strings.TrimSpace(line), ",")
		if f[1] == "" || f[2] == "NM" || f[3] == "NM" || f[5] == "" {
			continue
		}
		normal := 0.0
		if f[1] == "normal" {
			normal = 1
		}
		age := parsed(t, f[3])
		if _, ok := clubs[f[5]]; !ok {
			clubs[f[5]] = len(clubs)
		}
		x, y, ids = append(x, []float64{normal, age}), append(y, f[2] == "yes"), append(ids, clubs[f[5]])
	}
	want, err := stats.FitLogistic(x, []string{"normal", "age"}, y, stats.GLMOptions{Cluster: ids})
	if err != nil {
		t.Fatal(err)
	}
	for i, id := range []string{"one/adjusted/arch:normal/odds ratio", "one/adjusted/age/odds ratio"} {
		r := row(t, res, id)
		near(t, id, r.Estimate, want.Estimates[i].Value)
		near(t, id+" lower", r.Lower, want.Estimates[i].Lower)
		near(t, id+" upper", r.Upper, want.Estimates[i].Upper)
		near(t, id+" SE", r.SE, want.SE[i+1])
	}
	r := row(t, res, "one/adjusted/log likelihood")
	near(t, "log likelihood", r.Estimate, want.LogLik)
	near(t, "complete rows", r.N, 31)
	if got := removedUnder(res, "rows", "incomplete: not in the adjusted model"); got != 5 {
		t.Errorf("%v incomplete rows, want 5", got)
	}
	if !strings.Contains(strings.Join(res.Analyses[0].Warnings, " "), "arch=supinated") {
		t.Errorf("no warning of the level without rows: %q", res.Analyses[0].Warnings)
	}
}

// TestAssociationRefusals wants a reason and never a number where the data bear
// none.
func TestAssociationRefusals(t *testing.T) {
	const analysis = "{id: one, kind: association, outcome: pain, exposure: arch, reference: normal, adjust: age}"
	for _, c := range []struct {
		name   string
		counts map[string][2]int
		id     string
		want   string
	}{
		{"all missing", map[string][2]int{"": {3, 3}}, "one/tests/chi-square", "no observations"},
		{"all missing, model", map[string][2]int{"": {3, 3}}, "one/adjusted/log likelihood", "no observations"},
		{"one group", map[string][2]int{"normal": {3, 3}}, "one/crude/arch:pronated/odds ratio", "no observations"},
		{"one group, test", map[string][2]int{"normal": {3, 3}}, "one/tests/chi-square", "no variation"},
		{"no reference", map[string][2]int{"pronated": {3, 3}, "supinated": {3, 4}}, "one/crude/arch:pronated/risk ratio", "no observations"},
		{"no reference, model", map[string][2]int{"pronated": {3, 3}, "supinated": {3, 4}}, "one/adjusted/log likelihood", "reference level"},
		{"zero events", map[string][2]int{"normal": {0, 5}, "pronated": {0, 6}}, "one/crude/arch:pronated/odds ratio", "no variation"},
		{"zero events, ratio", map[string][2]int{"normal": {0, 5}, "pronated": {0, 6}}, "one/crude/arch:pronated/risk ratio", "zero"},
		{"zero events, model", map[string][2]int{"normal": {0, 5}, "pronated": {0, 6}}, "one/adjusted/log likelihood", ""},
		{"separation", map[string][2]int{"normal": {4, 5}, "pronated": {6, 0}}, "one/adjusted/log likelihood", "separation"},
	} {
		res := smallStudy(analysis, associationRows(c.counts)).compute(t)
		r := row(t, res, c.id)
		if r.Estimate.Present() || r.P.Present() || r.Reason == "" || !strings.Contains(r.Reason, c.want) {
			t.Errorf("%s: %s is %v, P %v, reason %q; want none and %q", c.name, c.id, r.Estimate, r.P, r.Reason, c.want)
		}
	}
}
