package run

import (
	"math"
	"strings"
	"testing"

	"heelcohort/stats"
)

const proportionRows = `
a,normal,yes,8,1000000,K
b,normal,no,10,2000000,K
c,normal,no,11,2000000,K
d,normal,RF,15,NM,K
e,pronated,yes,NM,2000000,K
f,pronated,yes,12,1000000,L
g,,no,20,,L
h,pronated,no,9,,L
i,pronated,,9,,L
`

// TestProportion is worked by hand: pain is known of 3 normal (1 yes), 3
// pronated (2 yes) and 1 without arch.
func TestProportion(t *testing.T) {
	res := smallStudy(`{id: p, kind: proportion, conditions: [pain, {name: older, label: Over ten, when: "age > 10"}], by: [arch], reference: {arch: normal}, unit: heels}`, proportionRows).compute(t)
	for id, want := range map[string][3]float64{ // estimate, n, events
		"p/proportions/pain/proportion":                              {3.0 / 7, 7, 3},
		"p/proportions/arch=normal/pain/proportion":                  {1.0 / 3, 3, 1},
		"p/proportions/arch=pronated/pain/proportion":                {2.0 / 3, 3, 2},
		"p/proportions/arch=supinated/pain/proportion":               {math.NaN(), 0, 0},
		"p/proportions/older/proportion":                             {4.0 / 8, 8, 4},
		"p/proportions/arch=pronated/older/proportion":               {1.0 / 3, 3, 1},
		"p/comparisons/arch=pronated/pain:vs normal/risk difference": {1.0 / 3, 6, 3},
		"p/comparisons/arch=pronated/pain:vs normal/risk ratio":      {2, 6, 3},
		"p/comparisons/arch=supinated/pain:vs normal/risk ratio":     {math.NaN(), 3, 1},
	} {
		r := row(t, res, id)
		near(t, id, r.Estimate, want[0])
		near(t, id+" n", r.N, want[1])
		near(t, id+" events", r.Events, want[2])
		if math.IsNaN(want[0]) == (r.Reason == "") {
			t.Errorf("%s has the reason %q", id, r.Reason)
		}
	}
	for id, want := range map[string]float64{
		"p/missing/pain:RF/count":               1,
		"p/missing/pain/count":                  1, // the empty cell
		"p/missing/arch=normal/pain:RF/count":   1,
		"p/missing/arch=pronated/pain:RF/count": 0,
		"p/missing/older:NM/count":              1,
	} {
		near(t, id, row(t, res, id).Estimate, want)
	}
	a := res.Analyses[0]
	if a.Unit != "heels" || !strings.Contains(a.Methods, "shares of the heels for which the condition is known, with Wilson's limits") {
		t.Errorf("unit %q, methods %q", a.Unit, a.Methods)
	}
	if got := removedUnder(res, "rows", "Arch missing: not in its groups"); got != 1 {
		t.Errorf("%v rows without arch, want 1", got)
	}
	if v, ok := a.Variable("older"); !ok || v.Label != "Over ten" {
		t.Errorf("variables %+v", a.Variables)
	}
}

// TestProportionLimits wants the words of the plan to be the methods of stats.
func TestProportionLimits(t *testing.T) {
	for word, method := range map[string]stats.ProportionMethod{
		"wilson": stats.Wilson, "exact": stats.ClopperPearson, "mid-p": stats.ProportionMidP, "agresti-coull": stats.AgrestiCoull, "jeffreys": stats.Jeffreys,
	} {
		want, err := stats.Proportion(3, 7, stats.ProportionOptions{Method: method})
		if err != nil {
			t.Fatal(err)
		}
		res := smallStudy("{id: p, kind: proportion, conditions: pain, limits: {proportion: "+word+"}}", proportionRows).compute(t)
		r := row(t, res, "p/proportions/pain/proportion")
		near(t, word+", lower", r.Lower, want.Lower)
		near(t, word+", upper", r.Upper, want.Upper)
		res = smallStudy("{id: a, kind: association, outcome: pain, exposure: arch, reference: normal, limits: {proportion: "+word+", difference: score, ratio: score}}", proportionRows).compute(t)
		if want, err = stats.Proportion(2, 3, stats.ProportionOptions{Method: method}); err != nil {
			t.Fatal(err)
		}
		near(t, word+", of an exposure", row(t, res, "a/counts/arch:pronated/risk").Upper, want.Upper)
		for measure, compute := range map[string]twoRisks{"risk difference": stats.RiskDifferenceScore, "risk ratio": stats.RiskRatioScore} {
			if want, err = compute(2, 1, 1, 2, stats.LimitOptions{}); err != nil {
				t.Fatal(err)
			}
			near(t, measure, row(t, res, "a/crude/arch:pronated/"+measure).Upper, want.Upper)
		}
	}
}

// TestProportionAmong counts heels of children, with a warning as those of one
// child are not independent; a row whose condition of being counted is unknown
// is accounted for.
func TestProportionAmong(t *testing.T) {
	f := folder{
		"study.yaml": `title: T
codebook: codebook.yaml
analyses:
  - {id: all, kind: proportion, table: spells, conditions: [{name: long, when: "stop - start > 20"}], unit: spells}
  - {id: some, kind: proportion, table: spells, among: "start >= 10", conditions: [{name: long, when: "stop - start > 20"}]}
  - {id: children, kind: proportion, conditions: heel, by: sex, reference: {sex: male}, limits: {ratio: score, difference: score}}
`,
		"codebook.yaml":     cohortBook,
		"data/children.csv": "id,sex,exit,onset,heel\nA,female,30,10,yes\nB,male,50,20,no\nC,male,20,5,\n",
		"data/spells.csv":   "child,start,stop\nA,0,20\nA,10,40\nB,10,20\nC,,20\n",
	}
	res := f.compute(t)
	near(t, "all", row(t, res, "all/proportions/long/proportion").Estimate, 1.0/3)
	near(t, "missing", row(t, res, "all/missing/long/count").Estimate, 1)
	r := row(t, res, "some/proportions/long/proportion")
	near(t, "some", r.Estimate, 0.5)
	near(t, "some, n", r.N, 2)
	for i, want := range []bool{true, false, false} {
		if got := strings.Contains(strings.Join(res.Analyses[i].Warnings, " "), "Several spells are of one child"); got != want {
			t.Errorf("analysis %d: warnings %q", i, res.Analyses[i].Warnings)
		}
	}
	removed := map[string]float64{}
	for _, a := range res.Analyses[1].Accounting {
		removed[a.Reason] = float64(a.N)
	}
	if removed["not among those counted"] != 1 || removed["not decided whether among those counted"] != 1 {
		t.Errorf("accounting %v", removed)
	}
	// 1 of 1 against 0 of 1: no ratio but an unbounded one, by score limits.
	r = row(t, res, "children/comparisons/sex=female/heel:vs male/risk ratio")
	if !math.IsInf(float64(r.Estimate), 1) || !r.Lower.Present() || r.Reason != "" {
		t.Errorf("ratio %v from %v, reason %q", r.Estimate, r.Lower, r.Reason)
	}
}
