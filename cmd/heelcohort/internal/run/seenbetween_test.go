package run

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"heelcohort/stats"
)

// visitStudy holds heels whose return is seen between two visits.
func visitStudy(analyses string) (folder, stats.Intervals, []int, []int) {
	var data strings.Builder
	data.WriteString("id,child,group,onset,without,with,last,back,age,gone\n")
	var v stats.Intervals
	var child, group []int
	for i := range 60 {
		onset := i % 5
		left := 14 * (i * 7 % 9)
		right := left + 14*(1+i%2)
		seen := i%6 != 0
		with, last, back := fmt.Sprint(onset+right), onset+right, "yes"
		r := float64(right)
		if !seen {
			with, last, back, r = "", onset+left+1, "no", math.Inf(1)
		}
		without := fmt.Sprint(onset + left)
		if left == 0 {
			without = ""
		}
		fmt.Fprintf(&data, "%d,%d,%s,%d,%s,%s,%d,%s,%d,%s\n", i+1, i/2, []string{"a", "b"}[i%3%2], onset, without, with, last, back, 8+i%7, []string{"yes", "no"}[i%4/2])
		v.Left, v.Right = append(v.Left, float64(left)), append(v.Right, r)
		child, group = append(child, i/2), append(group, i%3%2)
	}
	return folder{
		"codebook.yaml": `name: visits
resources:
  - name: heels
    path: heels.csv
    schema:
      primaryKey: id
      fields:
        - {name: id, type: integer}
        - {name: child, type: integer}
        - {name: group, type: string, categories: [a, b]}
        - {name: onset, type: integer}
        - {name: without, type: integer, missingValues: [""]}
        - {name: with, type: integer, missingValues: [""]}
        - {name: last, type: integer}
        - {name: back, type: boolean, trueValues: ["yes"], falseValues: ["no"]}
        - {name: age, type: number}
        - {name: gone, type: boolean, trueValues: ["yes"], falseValues: ["no"]}
`,
		"study.yaml": "title: Visits\ncodebook: codebook.yaml\nanalyses:\n" + analyses,
		"heels.csv":  data.String(),
	}, v, child, group
}

const visitPlan = "{id: v, kind: time-to-event, start: onset, event: {day: last, when: back}, at: [40, 80], "

// TestSeenBetween compares the three readings with package stats.
func TestSeenBetween(t *testing.T) {
	study, v, child, _ := visitStudy("  - " + visitPlan + "cluster: child, interval: {without: without, with: with, replicates: 200, seed: 3}}\n")
	res := study.compute(t)
	survival, quantiles, err := stats.IntervalLimits(v, child, []float64{40, 80}, []float64{0.5}, stats.BootstrapOptions{Replicates: 200, Seed: 3})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "median", row(t, res, "v/interval quantile/:interval-censored/median time").Estimate, quantiles[0].Value)
	r := row(t, res, "v/interval at/:interval-censored/survival@80")
	near(t, "at 80", r.Estimate, survival[1].Value)
	near(t, "its limit", r.Upper, survival[1].Upper)
	c, err := stats.IntervalCensored(v)
	if err != nil {
		t.Fatal(err)
	}
	for i := range c.Left {
		if c.Left[i] == c.Right[i] || math.IsInf(c.Right[i], 1) {
			continue
		}
		r := row(t, res, "v/interval/:interval-censored/survival@"+digits(c.Left[i]))
		near(t, "lower bound", r.Lower, c.Survival[i])
		near(t, "upper bound", r.Upper, c.Survival[i]+c.Mass[i])
	}
	visit, midway := stats.Times{}, stats.Times{}
	for i := range v.Left {
		seen, mid, had := v.Right[i], (v.Left[i]+v.Right[i])/2, true
		if math.IsInf(seen, 1) {
			seen, mid, had = v.Left[i], v.Left[i], false
		}
		visit.Exit, visit.Status = append(visit.Exit, seen), append(visit.Status, had)
		midway.Exit, midway.Status = append(midway.Exit, mid), append(midway.Status, had)
	}
	for term, times := range map[string]stats.Times{visitTerm: visit, midwayTerm: midway} {
		c, err := stats.KaplanMeier(times, stats.CurveOptions{Cluster: child})
		if err != nil {
			t.Fatal(err)
		}
		r := row(t, res, "v/interval at/:"+term+"/survival@40")
		near(t, term, r.Estimate, c.At(40).Survival)
		near(t, term, r.Lower, c.At(40).Lower)
	}
	if ids := res.Analyses[0].Figures; len(ids) != 2 || ids[1] != "v-interval" {
		t.Errorf("figures %q", ids)
	}
}

// TestCurveChoices compares restricted means, bands, strata and exact ties with
// package stats.
func TestCurveChoices(t *testing.T) {
	study, v, child, group := visitStudy("  - " + visitPlan + "by: group, horizon: 60, bands: equal-precision, limits: arcsine, model: {terms: [age], strata: group, ties: exact}}\n" +
		"  - {id: c, kind: time-to-event, start: onset, event: {day: last, when: back}, by: group, horizon: 60, cluster: child}\n")
	res := study.compute(t)
	var times [2]stats.Times
	var of [2][]int
	var all stats.Times
	var x [][]float64
	for i := range v.Left {
		exit, had := v.Right[i], true
		if math.IsInf(exit, 1) {
			exit, had = v.Left[i]+1, false
		}
		g := group[i]
		times[g].Exit, times[g].Status = append(times[g].Exit, exit), append(times[g].Status, had)
		of[g] = append(of[g], child[i])
		all.Exit, all.Status, x = append(all.Exit, exit), append(all.Status, had), append(x, []float64{float64(8 + i%7)})
	}
	c, err := stats.KaplanMeier(times[1], stats.CurveOptions{Limits: stats.LimitsArcsine})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "restricted mean", row(t, res, "v/restricted/group=b/restricted mean time@60").Upper, c.RestrictedMean(60).Upper)
	band, err := c.Band(stats.BandOptions{Kind: stats.EqualPrecision})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "band", row(t, res, "v/band/group=b/survival@"+digits(band.Time[1])).Lower, band.Lower[1])
	near(t, "arcsine limits", row(t, res, "v/at/group=b/survival@40").Lower, c.At(40).Lower)
	f, err := stats.FitCox(all, x, []string{"age"}, stats.CoxOptions{Ties: stats.TiesExact, Strata: group})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "exact in strata", row(t, res, "v/model/age/hazard ratio").Upper, f.Estimates[0].Upper)
	for id, opts := range map[string]stats.RestrictedMeanOptions{"v": {}, "c": {OneCluster: of[1], ZeroCluster: of[0]}} {
		d, err := stats.RestrictedMeanDifference(times[1], times[0], 60, opts)
		if err != nil {
			t.Fatal(err)
		}
		r := row(t, res, id+"/restricted/group:b vs a/restricted mean difference@60")
		near(t, id+" difference", r.Estimate, d.Value)
		near(t, id+" its error", r.SE, d.SE)
	}
}

// TestCurveChoicesRefused wants what does not go together refused.
func TestCurveChoicesRefused(t *testing.T) {
	for plan, want := range map[string]string{
		"cluster: child, bands: hall-wellner":                    "no form for dependent rows",
		"cluster: child, model: {terms: [age], ties: exact}":     "no robust errors",
		"model: {terms: [age, group], strata: group}":            "is the variable of the strata",
		"entry: onset, interval: {without: without, with: with}": "expected one of them",
		"interval: {without: without, with: wth}":                `did you mean "with"?`,
		"horizon: 0": "above 0",
		"limits: arcsine, competing: [{when: age > 10, label: gave up}]": "expected log-log, log or plain",
	} {
		study, _, _, _ := visitStudy("  - " + visitPlan + plan + "}\n")
		if _, err := Read(study.write(t)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", plan, err, want)
		}
	}
}
