package run

import (
	"math"
	"strings"
	"testing"

	"heelcohort/stats"
)

const heelBook = `
name: heels
resources:
  - name: heels
    path: data/heels.csv
    schema:
      fields:
        - {name: child, type: string}
        - {name: arch, type: string, title: Arch, categories: [normal, pronated, supinated]}
        - {name: onset, type: integer}
        - {name: seen, type: integer}
        - {name: left, type: integer}
        - {name: back, type: boolean, trueValues: ["yes"], falseValues: ["no"]}
        - {name: age, type: number}
`

func heelStudy(analysis, rows string) folder {
	return folder{
		"study.yaml":     "title: Heels\ncodebook: codebook.yaml\nanalyses:\n  - " + analysis + "\n",
		"codebook.yaml":  heelBook,
		"data/heels.csv": "child,arch,onset,seen,left,back,age\n" + strings.TrimLeft(rows, "\n"),
	}
}

// The rows of heels: day of onset, first seen, end. The times since onset are
// listed by hand below; e was seen late, f ended before it was seen, g before
// it began.
const heelRows = `
a,normal,0,0,10,yes,9
a,normal,5,0,25,yes,10
b,normal,-30,0,10,no,11
b,pronated,0,3,12,yes,12
c,pronated,10,10,40,yes,8
d,pronated,-8,0,22,yes,13
e,pronated,-20,4,20,no,9
f,pronated,-40,0,-10,yes,9
g,normal,30,30,20,yes,9
h,normal,,0,20,yes,9
i,pronated,0,0,,no,9
j,pronated,0,0,9,,9
k,,0,0,15,yes,9
l,normal,2,2,30,yes,
`

var (
	heelTimes = stats.Times{
		Entry:  []float64{0, 0, 30, 3, 0, 8, 24, 0},
		Exit:   []float64{10, 20, 40, 12, 30, 30, 40, 28},
		Status: []bool{true, true, false, true, true, true, false, true},
	}
	heelArch = []int{0, 0, 0, 1, 1, 1, 1, 0} // normal, pronated
	heelAge  = []float64{9, 10, 11, 12, 8, 13, 9, math.NaN()}
	heelIDs  = []int{0, 0, 1, 1, 2, 3, 4, 5}
)

// some picks rows.
func some(t stats.Times, keep func(i int) bool) stats.Times {
	var out stats.Times
	for i := range t.Exit {
		if keep(i) {
			out.Entry, out.Exit, out.Status = append(out.Entry, t.Entry[i]), append(out.Exit, t.Exit[i]), append(out.Status, t.Status[i])
		}
	}
	return out
}

// TestTimeToEvent compares the rows with direct calls on the times by hand.
func TestTimeToEvent(t *testing.T) {
	res := heelStudy("{id: f, kind: time-to-event, start: onset, entry: seen, event: {day: left, when: back}, by: arch, "+
		"reference: pronated, at: [5, 25, 99], ticks: [0, 10, 30], cluster: child, model: {terms: [arch, age], ties: breslow}}", heelRows).compute(t)
	for g, level := range []string{"normal", "pronated"} {
		var own []int
		for i, id := range heelIDs {
			if heelArch[i] == g {
				own = append(own, id)
			}
		}
		c, err := stats.KaplanMeier(some(heelTimes, func(i int) bool { return heelArch[i] == g }), stats.CurveOptions{Cluster: own})
		if err != nil {
			t.Fatal(err)
		}
		at := "f/curve/arch=" + level + "/survival@"
		for i, time := range c.Time {
			r := row(t, res, at+digits(time))
			near(t, r.ID, r.Estimate, c.Survival[i])
			near(t, r.ID+" lower", r.Lower, c.Lower[i])
			near(t, r.ID+" at risk", r.N, float64(c.AtRisk[i]))
			if math.IsNaN(c.Lower[i]) == (r.Reason == "") {
				t.Errorf("%s has limits %v to %v and the reason %q", r.ID, r.Lower, r.Upper, r.Reason)
			}
		}
		median := c.Quantile(0.5)
		near(t, "median", row(t, res, "f/quantile/arch="+level+"/median time").Estimate, median.Value)
		for _, time := range []float64{5, 25, 99} {
			r := row(t, res, "f/at/arch="+level+"/survival@"+digits(time))
			near(t, r.ID, r.Estimate, c.At(time).Survival)
		}
		atRisk, had, _ := c.RiskTable([]float64{0, 10, 30})
		for i, time := range []float64{0, 10, 30} {
			r := row(t, res, "f/risk-table/arch="+level+"/at risk@"+digits(time))
			near(t, r.ID, r.Estimate, float64(atRisk[i]))
			near(t, r.ID+" events", r.Events, float64(had[i]))
		}
	}
	// The last of the pronated is censored at 40; after 28, when the only normal
	// one at risk had its event, the curve stays at 0.
	if r := row(t, res, "f/at/arch=pronated/survival@99"); r.Estimate.Present() || !strings.Contains(r.Reason, "under observation") {
		t.Errorf("%s is %v after the end of observation, reason %q", r.ID, r.Estimate, r.Reason)
	}
	if w := strings.Join(res.Analyses[0].Warnings, " "); !strings.Contains(w, "Arch normal: The curve fell to 0 at 28") {
		t.Errorf("no warning of a curve that fell to 0 while others are at risk later: %s", w)
	}
	// By hand: at 10 the 3 normal heels seen from the first day are at risk.
	near(t, "survival of normal arches at 10", row(t, res, "f/curve/arch=normal/survival@10").Estimate, 2.0/3)
	test, err := stats.LogRank(heelTimes, heelArch, 3, stats.LogRankOptions{Cluster: heelIDs})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "log-rank", row(t, res, "f/tests/log-rank").Statistic, test.Test.Statistic)
	near(t, "expected", row(t, res, "f/expected/arch=pronated/expected events").Estimate, test.Expected[1])
	near(t, "no rows", row(t, res, "f/size/arch=supinated/rows").Estimate, 0)
	if r := row(t, res, "f/quantile/arch=supinated/median time"); r.Reason == "" {
		t.Error("a level without rows has no reason")
	}
	complete := func(i int) bool { return !math.IsNaN(heelAge[i]) }
	var x [][]float64
	var ids []int
	for i, arch := range heelArch {
		if complete(i) {
			x, ids = append(x, []float64{float64(1 - arch), heelAge[i]}), append(ids, heelIDs[i])
		}
	}
	fit, err := stats.FitCox(some(heelTimes, complete), x, []string{"normal", "age"}, stats.CoxOptions{Ties: stats.TiesBreslow, Cluster: ids})
	if err != nil {
		t.Fatal(err)
	}
	for i, id := range []string{"f/model/arch:normal/hazard ratio", "f/model/age/hazard ratio"} {
		r := row(t, res, id)
		near(t, id, r.Estimate, fit.Estimates[i].Value)
		near(t, id+" SE", r.SE, fit.SE[i])
		near(t, id+" upper", r.Upper, fit.Estimates[i].Upper)
	}
	near(t, "rows of the model", row(t, res, "f/model/log likelihood").N, 7)
	for reason, want := range map[string]float64{
		"the start missing": 1, "the day of the end missing": 1, "the event missing": 1, "the end is before the start": 1,
		"ended no later than observation began": 1, "Arch missing": 1, "incomplete: not in the model": 1,
	} {
		if got := removedUnder(res, "rows", reason); got != want {
			t.Errorf("%v rows removed for %q, want %v", got, reason, want)
		}
	}
	if got := removedUnder(res, "rows", ""); got != 14-8+1 {
		t.Errorf("%v rows accounted for, want 6 before the curves and 1 before the model", got)
	}
}

// TestTimeToEventWithoutEntry wants ends on the day of the start to count.
func TestTimeToEventWithoutEntry(t *testing.T) {
	res := heelStudy("{id: f, kind: time-to-event, start: onset, event: {day: left, when: back}}", `
a,normal,5,0,5,yes,9
b,normal,0,0,4,yes,9
c,normal,0,0,4,no,9
`).compute(t)
	near(t, "survival at 0", row(t, res, "f/curve/survival@0").Estimate, 2.0/3)
	near(t, "survival at 4", row(t, res, "f/curve/survival@4").Estimate, 1.0/3)
}

// TestCurveLimits wants a warning of absent limits only where they are absent.
func TestCurveLimits(t *testing.T) {
	rows := "a,normal,0,0,4,no,9\nb,normal,0,0,9,yes,9\nc,normal,0,0,9,no,9\n"
	for limits, absent := range map[string]bool{"plain": false, "log": false, "log-log": true} {
		res := heelStudy("{id: f, kind: time-to-event, limits: "+limits+", event: {day: left, when: back}}", rows).compute(t)
		r := row(t, res, "f/curve/survival@4")
		if r.Lower.Present() == absent || (len(r.Warnings) > 0) != absent {
			t.Errorf("%s: limits %v to %v where the curve is 1, warnings %q", limits, r.Lower, r.Upper, r.Warnings)
		}
	}
}

// TestTimeToEventRefusals wants a reason and never a number where the data bear
// none.
func TestTimeToEventRefusals(t *testing.T) {
	const analysis = "{id: f, kind: time-to-event, event: {day: left, when: back}, by: arch, model: {terms: [arch]}}"
	for _, c := range []struct{ name, rows, id, want string }{
		{"no rows", "a,normal,0,0,,no,9\n", "f/tests/log-rank", "no observations"},
		{"no rows, model", "a,normal,0,0,,no,9\n", "f/model/log likelihood", "no observations"},
		{"one group", "a,normal,0,0,4,yes,9\nb,normal,0,0,5,no,9\n", "f/tests/log-rank", "rows in 1 of 3 groups"},
		{"no events", "a,normal,0,0,4,no,9\nb,pronated,0,0,5,no,9\n", "f/tests/log-rank", "no events"},
		{"no events, model", "a,normal,0,0,4,no,9\nb,pronated,0,0,5,no,9\n", "f/model/log likelihood", "no events"},
		{"no events, median", "a,normal,0,0,4,no,9\nb,pronated,0,0,5,no,9\n", "f/quantile/arch=normal/median time", "Not reached"},
		{"no reference", "a,supinated,0,0,4,yes,9\nb,pronated,0,0,5,yes,9\n", "f/model/log likelihood", "reference level"},
		{"separation", "a,normal,0,0,4,no,9\nb,normal,0,0,9,no,9\nc,pronated,0,0,5,yes,9\nd,pronated,0,0,6,yes,9\n", "f/model/log likelihood", "separation"},
	} {
		r := row(t, heelStudy(analysis, c.rows).compute(t), c.id)
		if r.Estimate.Present() || r.P.Present() || !strings.Contains(r.Reason, c.want) {
			t.Errorf("%s: %s is %v, P %v, reason %q; want none and %q", c.name, c.id, r.Estimate, r.P, r.Reason, c.want)
		}
	}
}
