package run

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/stats"
)

// modelAnalysis is spellAnalysis with a model of sex.
func modelAnalysis(model string) string {
	return fmt.Sprintf(spellAnalysis, ", model: {terms: [sex]"+model+"}")
}

// TestRecurrenceModelByHand: of the children of TestRecurrenceByHand those free of
// symptoms are, on day 0, A, B, D and E, of whom D falls ill; on day 10 A, B and E,
// of whom A does; on day 40 B, C (since day 24), D (since day 19) and E, of whom C;
// on day 50 A (since day 44), B, D and E, of whom E; on day 60 A and D, of whom A;
// on day 195 D alone. A and B are girls. With w the hazard ratio of boys the partial
// likelihood is
//
//	w/(2+2w) · 1/(2+w) · w/(1+3w) · w/(2+2w) · 1/(1+w)
//
// whose logarithm is highest where 3 = w [3/(1+w) + 1/(2+w) + 3/(1+3w)].
func TestRecurrenceModelByHand(t *testing.T) {
	res := recurrenceStudy(modelAnalysis(""), spellChildren, spellHeels).compute(t)
	slope := func(w float64) float64 { return 3 - w*(3/(1+w)+1/(2+w)+3/(1+3*w)) }
	low, high := 0.01, 100.0
	for range 200 {
		if w := math.Sqrt(low * high); slope(w) > 0 {
			low = w
		} else {
			high = w
		}
	}
	near(t, "ratio", row(t, res, "r/model/sex:male/hazard ratio").Estimate, low)
	near(t, "log likelihood", row(t, res, "r/model/log likelihood").Estimate,
		3*math.Log(low)-3*math.Log(1+low)-2*math.Log(2)-math.Log(2+low)-math.Log(1+3*low))
	near(t, "children", row(t, res, "r/model/children").Estimate, 5)
	near(t, "spells", row(t, res, "r/model/children").Events, 6)

	// By the number of the spell: of the first D, A and E, at risk on day 0 A, B, D
	// and E, on day 10 A, B and E, on day 50 B and E. Of the second on day 40 C and D,
	// both boys, on day 60 A and D, on day 195 D alone:
	//
	//	w/(2+2w) · 1/(2+w) · w/(1+w) · 1/2 · 1/(1+w)
	//
	// since C had its first before observation.
	res = recurrenceStudy(modelAnalysis(", layout: total-time"), spellChildren, spellHeels).compute(t)
	slope = func(w float64) float64 { return 2 - w*(3/(1+w)+1/(2+w)) }
	low, high = 0.01, 100
	for range 200 {
		if w := math.Sqrt(low * high); slope(w) > 0 {
			low = w
		} else {
			high = w
		}
	}
	near(t, "ratio by number", row(t, res, "r/model/sex:male/hazard ratio").Estimate, low)

	// By the days since the spell before: the second spells are A's, free since day
	// 30, after 30 days; C's, since day 10, after 30; D's, since day 5, after 190.
	// At risk after 30 days are A, C and D, of whom A and C fall ill at once; by
	// Breslow's ties w/(1+2w)², and D is alone on day 190.
	res = recurrenceStudy(modelAnalysis(", layout: gap-time, ties: breslow"), spellChildren, spellHeels).compute(t)
	slope = func(w float64) float64 { return 3 - w*(2/(1+w)+1/(2+w)+4/(1+2*w)) }
	low, high = 0.01, 100
	for range 200 {
		if w := math.Sqrt(low * high); slope(w) > 0 {
			low = w
		} else {
			high = w
		}
	}
	near(t, "ratio by days since", row(t, res, "r/model/sex:male/hazard ratio").Estimate, low)

	// What the data do not bear is a row with a reason.
	for _, model := range []string{"", ", layout: marginal, largest: 2", ", frailty: true"} {
		f := recurrenceStudy(modelAnalysis(model), "A,female,100,no\nB,female,50,yes\n", spellHeels[:strings.Index(spellHeels, "C,")])
		f["data/hours.csv"] = "child,from_day,to_day,hours\n"
		res := f.compute(t)
		if r := row(t, res, "r/model/log likelihood"); r.Estimate.Present() || r.Reason == "" {
			t.Errorf("model%s of girls alone: %+v", model, r)
		}
	}
}

// plainRows are rows at risk by a second way: half a day before the first day
// each, events and observation being on whole days.
func plainRows(all []patient, gap float64, counted bool) (t stats.Times, child, number []int, since []float64, x [][]float64) {
	for who, p := range all {
		rows := slices.Clone(p.rows)
		slices.SortStableFunc(rows, func(a, b ill) int { return int(a.from - b.from) })
		var spells []ill
		for _, r := range rows {
			if n := len(spells) - 1; n >= 0 && (r.from <= spells[n].to || r.from < spells[n].to+gap) {
				spells[n].to = math.Max(spells[n].to, r.to)
				spells[n].over = spells[n].over && r.over
			} else if n < 0 || spells[n].over {
				spells = append(spells, r)
			}
		}
		end := float64(p.left)
		if n := len(spells) - 1; n >= 0 && !spells[n].over && !p.stopped {
			end = math.Min(end, spells[n].to)
		}
		if end <= 0 {
			continue
		}
		from, last := -0.5, 0.0
		for k := 0; ; k++ {
			to, event := end, false
			if k < len(spells) {
				to, event = math.Min(end, spells[k].from), spells[k].from <= end
			}
			if to > from && !(k < len(spells) && spells[k].from < 0) {
				t.Entry, t.Exit, t.Status = append(t.Entry, from), append(t.Exit, to), append(t.Status, event)
				child, number, since = append(child, who), append(number, k+1), append(since, last)
				x = append(x, []float64{float64(who % 2), float64(p.left)})
			}
			if k == len(spells) || !spells[k].over && !counted {
				break
			}
			last = spells[k].to
			free := spells[k].to + gap
			if counted {
				free = spells[k].from
			}
			from = math.Max(from, free)
			if !counted {
				from = math.Max(-0.5, free-0.5)
				if spells[k].from == spells[k].to && gap == 0 {
					from = math.Max(-0.5, free)
				}
			}
		}
	}
	return t, child, number, since, x
}

// TestRecurrenceModelAgainstFits compares the rows with fits of package stats to
// rows laid out in a second way, on random children.
func TestRecurrenceModelAgainstFits(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 26))
	compared := map[string]int{}
	for i := range 14 {
		all, children, heels := randomPatients(r, 40+r.IntN(30))
		gap := float64(i % 2 * 10)
		for _, layout := range []string{"andersen-gill", "total-time", "gap-time", "marginal", "frailty", "frailty-gap"} {
			model := map[string]string{
				"andersen-gill": "layout: andersen-gill, ties: breslow", "total-time": "layout: total-time, largest: 2", "gap-time": "layout: gap-time, largest: 3, cluster: left",
				"marginal": "layout: marginal, largest: 2", "frailty": "frailty: true", "frailty-gap": "frailty: true, layout: gap-time, largest: 2",
			}[layout]
			f := recurrenceStudy(fmt.Sprintf("{id: r, kind: recurrence, events: {table: heels, day: day, end: {day: last, when: back}}, gap: %v, exit: left, ends: {when: stopped}, model: {terms: [sex, left], %s}}", gap, model), children, heels)
			f["data/hours.csv"] = "child,from_day,to_day,hours\n"
			res := f.compute(t)
			times, child, number, since, x := plainRows(all, gap, layout == "marginal")
			terms := []string{"sex=male", "left"}
			opts := stats.RecurrentOptions{Number: number}
			var fit stats.Fit
			var shared stats.FrailtyFit
			var err error
			switch layout {
			case "andersen-gill":
				opts.Ties = stats.TiesBreslow
				fit, err = stats.FitRecurrent(times, child, x, terms, opts)
			case "total-time":
				opts.Layout, opts.LargestNumber = stats.PrenticeTotal, 2
				fit, err = stats.FitRecurrent(times, child, x, terms, opts)
			case "gap-time":
				opts.Layout, opts.LargestNumber, opts.Since = stats.PrenticeGap, 3, since
				for _, who := range child {
					opts.Cluster = append(opts.Cluster, all[who].left)
				}
				fit, err = stats.FitRecurrent(times, child, x, terms, opts)
			case "marginal":
				var long stats.Times
				var wide [][]float64
				var kind, cluster []int
				for i := range child {
					for k := number[i]; k <= 2; k++ {
						long.Entry, long.Exit, long.Status = append(long.Entry, times.Entry[i]), append(long.Exit, times.Exit[i]), append(long.Status, times.Status[i] && k == number[i])
						wide, kind, cluster = append(wide, x[i]), append(kind, k-1), append(cluster, child[i])
					}
				}
				fit, err = stats.FitMarginalCox(long, wide, terms, kind, []string{"1", "2"}, stats.CoxOptions{Cluster: cluster})
			default:
				var strata []int
				if layout == "frailty-gap" {
					for i := range child {
						times.Entry[i], times.Exit[i] = times.Entry[i]-since[i], times.Exit[i]-since[i]
						strata = append(strata, min(number[i], 2))
					}
				}
				shared, err = stats.FitCoxFrailty(times, child, x, terms, stats.FrailtyOptions{Strata: strata})
				fit = shared.Fit
			}
			if err != nil {
				if x := row(t, res, "r/model/log likelihood"); x.Estimate.Present() {
					t.Errorf("%s: log likelihood %v, want none: %v", layout, x.Estimate, err)
				}
				continue
			}
			compared[layout]++
			// Newton's method from other columns' scales: 1e-6.
			same := func(what string, got result.Number, want float64) {
				t.Helper()
				if math.IsNaN(want) != math.IsNaN(float64(got)) || math.Abs(float64(got)-want) > 1e-6*math.Max(1, math.Abs(want)) {
					t.Fatalf("%s, gap %v: %s is %v, want %v\n%s%s", layout, gap, what, got, want, children, heels)
				}
			}
			same("log likelihood", row(t, res, "r/model/log likelihood").Estimate, fit.LogLik)
			same("events", row(t, res, "r/model/log likelihood").Events, float64(fit.Events))
			if layout == "marginal" {
				for e := range 2 {
					part := fmt.Sprintf("r/model of spell %d/", e+1)
					same("ratio of sex", row(t, res, part+"sex:male/hazard ratio").Estimate, fit.Estimates[e].Value)
					same("upper limit of left", row(t, res, part+"left/hazard ratio").Upper, fit.Estimates[2+e].Upper)
				}
				average, _, err := fit.WeightedAverage("", []int{0, 1}, 0.95)
				if err != nil {
					t.Fatal(err)
				}
				same("average ratio", row(t, res, "r/model/sex:male/average hazard ratio").Estimate, math.Exp(average.Value))
				same("error of the average", row(t, res, "r/model/sex:male/average hazard ratio").SE, average.SE)
				equal := fit.WaldTest("", [][]float64{{0, 0, 1, -1}}, nil)
				same("equality", row(t, res, "r/model/left/test of equal ratios").P, equal.P)
				continue
			}
			for j, id := range []string{"r/model/sex:male/", "r/model/left/"} {
				x := row(t, res, id+"hazard ratio")
				same("ratio", x.Estimate, fit.Estimates[j].Value)
				same("lower limit", x.Lower, fit.Estimates[j].Lower)
				same("error", x.SE, fit.SE[j])
			}
			if strings.HasPrefix(layout, "frailty") {
				x := row(t, res, "r/model/frailty variance")
				same("variance", x.Estimate, shared.Variance.Value)
				same("its upper limit", x.Upper, shared.Variance.Upper)
				same("its test", row(t, res, "r/model/likelihood ratio test of no frailty").P, shared.Variance.P)
				same("tau", row(t, res, "r/model/Kendall's tau").Estimate, shared.Tau)
				continue
			}
			proportional, err := fit.ProportionalHazards(stats.ProportionalHazardsOptions{})
			if err != nil {
				t.Fatal(err)
			}
			same("proportionality", row(t, res, "r/proportionality/left/test of proportional hazards").P, proportional.Terms[1].P)
		}
	}
	for _, layout := range []string{"andersen-gill", "total-time", "gap-time", "marginal", "frailty", "frailty-gap"} {
		if compared[layout] < 7 {
			t.Errorf("%s: only %d fits compared", layout, compared[layout])
		}
	}
}
