package run

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"heelcohort/cmd/heelcohort/internal/result"
)

const strataBook = `
name: strata
resources:
  - name: seasons
    path: data/seasons.csv
    schema:
      fields:
        - {name: age, type: string, title: Age, categories: [young, middle, old], categoriesOrdered: true}
        - {name: sport, type: string, title: Sport, categories: [swimming, football, judo]}
        - {name: events, type: number}
        - {name: hours, type: number}
`

func strataStudy(keys, rows string) folder {
	return folder{
		"study.yaml": "title: Strata\ncodebook: codebook.yaml\nanalyses:\n  - {id: s, kind: incidence, events: {table: seasons, count: events}, " +
			"at_risk: {table: seasons, amount: hours}" + keys + "}\n",
		"codebook.yaml":    strataBook,
		"data/seasons.csv": "age,sport,events,hours\n" + rows,
	}
}

const strataRows = `young,swimming,2,100
young,football,9,150
old,swimming,4,50
old,football,7,50
`

// TestStandardisedByHand: hours of swimming 100 young and 50 old. Football's
// rates 9/150 and 7/50 give (100·0.06 + 50·0.14)/150; swimming's own is 6/150.
// Expected of football by swimming's 2/100 and 4/50: 150·0.02 + 50·0.08 = 7.
// Mantel-Haenszel: (9·100/250 + 7·50/100)/(2·150/250 + 4·50/100) = 7.1/3.2, and
// the difference ((9·100 − 2·150)/250 + (7·50 − 4·50)/100)/(60 + 25) = 3.9/85.
// Of all, 11/250 and 11/100.
func TestStandardisedByHand(t *testing.T) {
	res := strataStudy(", by: [age, sport], reference: {sport: swimming}, per: 10, differences: true, stratify: age, "+
		"standardise: {over: age, to: {group: swimming}, indirect: true}", strataRows).compute(t)
	for id, want := range map[string]float64{
		"s/standard/age=young/weight":                                            100.0 / 150,
		"s/standard/age=middle/weight":                                           0,
		"s/standardised/standardised rate":                                       10 * (100*11.0/250 + 50*11.0/100) / 150,
		"s/standardised/sport=football/standardised rate":                        10 * 13.0 / 150,
		"s/standardised/sport=swimming/standardised rate":                        10 * 6.0 / 150,
		"s/standardised/sport:football vs swimming/standardised rate ratio":      13.0 / 6,
		"s/standardised/sport:football vs swimming/expected events":              7,
		"s/standardised/sport:football vs swimming/standardised incidence ratio": 16.0 / 7,
		"s/pooled/sport:football vs swimming/pooled rate ratio":                  7.1 / 3.2,
		"s/pooled/sport:football vs swimming/pooled rate difference":             10 * 3.9 / 85,
		"s/differences/sport:football vs swimming/rate difference":               10 * (16.0/200 - 6.0/150),
		"s/differences/age=old/sport:football vs swimming/rate difference":       10 * (7.0/50 - 4.0/50),
		"s/differences/age=middle/sport:football vs swimming/rate difference":    math.NaN(),
		"s/standardised/sport=judo/standardised rate":                            math.NaN(),
		"s/standardised/sport:judo vs swimming/standardised rate ratio":          math.NaN(),
		"s/standardised/sport:judo vs swimming/standardised incidence ratio":     math.NaN(),
		"s/pooled/sport:judo vs swimming/pooled rate ratio":                      math.NaN(),
		"s/differences/age=young/sport:judo vs swimming/rate difference":         math.NaN(),
	} {
		r := row(t, res, id)
		near(t, id, r.Estimate, want)
		if math.IsNaN(want) == (r.Reason == "") {
			t.Errorf("%s has the reason %q", id, r.Reason)
		}
	}
	r := row(t, res, "s/standardised/sport:judo vs swimming/standardised rate ratio")
	if want := "judo has no person-time in Age young, old, which has weight in the standard"; r.Reason != want {
		t.Errorf("reason %q, want %q", r.Reason, want)
	}
	near(t, "observed", row(t, res, "s/standardised/sport:football vs swimming/standardised incidence ratio").Events, 16)
}

// TestStandards gives the same rate by weights and by the group that has them;
// to the study's own person-time the rate of all is the crude one.
func TestStandards(t *testing.T) {
	const id = "s/standardised/sport=football/standardised rate"
	by := ", by: [sport, age], standardise: {over: age, to: "
	group := row(t, strataStudy(by+"{group: swimming}}", strataRows).compute(t), id)
	weights := row(t, strataStudy(by+"{weights: {old: 5, young: 10, middle: 0}}}", strataRows).compute(t), id)
	near(t, "upper limit", weights.Upper, float64(group.Upper))
	study := strataStudy(by+"study}", strataRows).compute(t)
	near(t, "rate of all", row(t, study, "s/standardised/standardised rate").Estimate, 22.0/350)
	if strings.Contains(study.Analyses[0].Methods, "their ratios") {
		t.Errorf("ratios without a reference: %s", study.Analyses[0].Methods)
	}
	alone := strataStudy(", by: age, standardise: {over: age, to: {weights: {young: 1, middle: 0, old: 1}}, limits: modified-gamma}", strataRows).compute(t)
	r := row(t, alone, "s/standardised/standardised rate")
	near(t, "rate", r.Estimate, (11.0/250+11.0/100)/2)
	if !strings.Contains(r.Method, "modified gamma") {
		t.Errorf("limits by %s", r.Method)
	}
}

// TestStandardisedReasons wants a reason where a stratum lacks person-time or
// events, and a warning where events do not count.
func TestStandardisedReasons(t *testing.T) {
	for _, c := range []struct{ keys, rows, id, reason, warning string }{
		{ // a stratum with weight and without person-time
			", by: [age, sport], standardise: {over: age, to: {weights: {young: 1, middle: 1, old: 1}}}", strataRows,
			"s/standardised/sport=football/standardised rate", "no person-time in Age middle, which has weight in the standard", "",
		},
		{ // no events: a rate of 0 with an upper limit
			", by: [age, sport], standardise: {over: age, to: study}", "young,swimming,0,10\nold,swimming,0,20\nold,football,3,5\nyoung,football,1,8\n",
			"s/standardised/sport=swimming/standardised rate", "", "",
		},
		{ // nor a ratio to it
			", by: [age, sport], reference: {sport: swimming}, standardise: {over: age, to: study}", "young,swimming,0,10\nold,swimming,0,20\nold,football,3,5\nyoung,football,1,8\n",
			"s/standardised/sport:football vs swimming/standardised rate ratio", "a cell of the table is zero", "",
		},
		{
			", by: [age, sport], reference: {sport: swimming}, standardise: {over: age, indirect: true}", "young,swimming,0,10\nold,swimming,0,20\nold,football,3,5\nyoung,football,1,8\n",
			"s/standardised/sport:football vs swimming/standardised incidence ratio", "swimming has no events, so that nothing is expected", "",
		},
		{
			", by: [age, sport], reference: {sport: swimming}, standardise: {over: age, indirect: true}", "young,swimming,2,10\nold,football,3,5\n",
			"s/standardised/sport:football vs swimming/standardised incidence ratio", "swimming has no person-time in Age old, where football has: the rate there is not known", "",
		},
		{ // events where the standard has no weight
			", by: [age, sport], standardise: {over: age, to: {weights: {young: 1, middle: 0, old: 0}}}", strataRows,
			"s/standardised/sport=football/standardised rate", "", "Events in levels of Age without weight, which do not count: 7.",
		},
		{ // strata that compare nothing
			", by: [age, sport], reference: {sport: swimming}, stratify: age", "young,swimming,2,10\nold,football,3,5\n",
			"s/pooled/sport:football vs swimming/pooled rate ratio", "no stratum has person-time in both groups", "",
		},
		{
			", by: [age, sport], reference: {sport: swimming}, stratify: age", "young,swimming,2,10\nyoung,football,3,9\nold,football,3,5\n",
			"s/pooled/sport:football vs swimming/pooled rate ratio", "", "1 of 3 strata have person-time in one group alone",
		},
		{
			", by: [age, sport], reference: {sport: swimming}, stratify: age", "young,swimming,2,10\nyoung,football,3,9\nold,football,3,5\n",
			"s/pooled/sport:football vs swimming/homogeneity of rate ratios", "no variation, 1 stratum has events", "",
		},
		{", by: age, tests: homogeneity", "young,swimming,0,10\nold,football,0,5\n", "s/tests/age/homogeneity of rates", "no events in any group", ""},
		{", by: age, tests: trend", "young,swimming,1,10\n", "s/tests/age/trend of rates", "no variation", ""},
		{", by: age, tests: trend", strataRows, "s/tests/age/trend of rates", "", "Left out, being without person-time: middle."},
		{
			", by: [age, sport], reference: {sport: swimming}, limits: {ratio: log}", "young,swimming,0,10\nyoung,football,3,9\n",
			"s/ratios/sport:football vs swimming/rate ratio", "log limits: a cell of the table is zero", "",
		},
	} {
		r := row(t, strataStudy(c.keys, c.rows).compute(t), c.id)
		if r.Reason == "" && c.reason != "" || !strings.Contains(r.Reason, c.reason) || (c.reason != "") == (r.Estimate.Present() || r.Statistic.Present()) {
			t.Errorf("%s: estimate %v, reason %q, want %q", c.id, r.Estimate, r.Reason, c.reason)
		}
		if !strings.Contains(strings.Join(r.Warnings, " "), c.warning) {
			t.Errorf("%s: warnings %q, want %q", c.id, r.Warnings, c.warning)
		}
	}
}

// TestTrendScores: with 2 groups the trend is the test of homogeneity, and any
// scores that keep apart two groups give the same.
func TestTrendScores(t *testing.T) {
	res := strataStudy(", by: [age, sport], tests: [homogeneity, trend], scores: {sport: {swimming: 0, football: 5, judo: 5}}", strataRows).compute(t)
	// Expected of 22 events in 350 hours: 150·22/350 in swimming.
	e := 150 * 22.0 / 350
	want := (6-e)*(6-e)/e + (16-(22-e))*(16-(22-e))/(22-e)
	for _, id := range []string{"s/tests/sport/homogeneity of rates", "s/tests/sport/trend of rates"} {
		r := row(t, res, id)
		near(t, id, r.Statistic, want)
		near(t, id+" events", r.Events, 22)
	}
	row(t, res, "s/tests/age/trend of rates") // by its order
	a := res.Analyses[0]
	for _, s := range []result.Setting{{Key: "trend scores.age", Value: "1, 2, 3"}, {Key: "trend scores.sport", Value: "0, 5, 5", Written: true}} {
		if !slices.Contains(a.Settings, s) {
			t.Errorf("no setting %v among %v", s, a.Settings)
		}
	}
}

// TestSharedDays wants no strata, standards and tests of levels that share days
// of one child; amounts and days that are not shared are compared.
func TestSharedDays(t *testing.T) {
	study := func(calendar bool) folder {
		w := overlapping()
		w.calendar = calendar
		f := w.folder()
		f["study.yaml"] = strings.Replace(f["study.yaml"], "by: [age_now, sport]", "by: [age_now, sport]\n    reference: {sport: swimming}\n    tests: homogeneity\n"+
			"    stratify: age_now\n    standardise: {over: age_now, to: study, indirect: true}", 1)
		return f
	}
	if !strings.Contains(study(true)["study.yaml"], "stratify") {
		t.Fatal("the plan was not changed")
	}
	res := study(true).compute(t)
	refused := 0
	for _, r := range res.Rows {
		if slices.Contains([]string{"tests", "pooled", "standardised"}, r.Part) && strings.Contains(r.Reason, "share person-time: give an amount of person-time") {
			refused++
		} else if slices.Contains([]string{"pooled", "standardised"}, r.Part) {
			t.Errorf("%s: %v, reason %q", r.ID, r.Estimate, r.Reason)
		}
	}
	if refused < 10 {
		t.Errorf("%d rows refused", refused)
	}
	// A day has one age: the levels of age share nothing.
	if r := row(t, res, "rates/tests/age_now/homogeneity of rates"); r.Reason != "" {
		t.Errorf("homogeneity by age: %s", r.Reason)
	}
	if r := row(t, res, "rates/tests/sport/homogeneity of rates"); !strings.Contains(r.Reason, "levels of Sport") && !strings.Contains(r.Reason, "level of") {
		t.Errorf("homogeneity by sport: %q", r.Reason)
	}
	for _, r := range study(false).compute(t).Rows {
		if strings.Contains(r.Reason, "share person-time") {
			t.Errorf("hours: %s is refused: %s", r.ID, r.Reason)
		}
	}
}

// TestRateLimitWords wants each word of the plan to be the method that its row
// names.
func TestRateLimitWords(t *testing.T) {
	for keys, want := range map[string][2]string{
		"limits: {rate: mid-p}":                           {"s/rates/incidence rate", "mid-P Poisson limits"},
		"limits: {rate: byar}":                            {"s/rates/incidence rate", "Byar"},
		"limits: {rate: exact}":                           {"s/rates/incidence rate", "Garwood"},
		"limits: {ratio: exact}":                          {"s/ratios/sport:football vs swimming/rate ratio", "exact conditional"},
		"limits: {ratio: mid-p}":                          {"s/ratios/sport:football vs swimming/rate ratio", "mid-P conditional"},
		"limits: {ratio: score}":                          {"s/ratios/sport:football vs swimming/rate ratio", "score limits"},
		"limits: {ratio: log}":                            {"s/ratios/sport:football vs swimming/rate ratio", "log scale"},
		"limits: {difference: score}, differences: true":  {"s/differences/sport:football vs swimming/rate difference", "Miettinen-Nurminen"},
		"limits: {difference: normal}, differences: true": {"s/differences/sport:football vs swimming/rate difference", "normal approximation"},
	} {
		res := strataStudy(", by: sport, reference: {sport: swimming}, "+keys, strataRows).compute(t)
		if r := row(t, res, want[0]); !strings.Contains(r.Method, want[1]) {
			t.Errorf("%s: %s is made by %q", keys, want[0], r.Method)
		}
	}
}

// TestRandomStrata computes strata, standards and expected events a second
// time, plainly, from random tables of counts in random order.
func TestRandomStrata(t *testing.T) {
	r := rand.New(rand.NewPCG(19, 66))
	ages, sports := []string{"young", "middle", "old"}, []string{"swimming", "football", "judo"}
	for range 25 {
		var rows [][]string
		events, hours := [3][3]float64{}, [3][3]float64{}
		for range 40 {
			a, s := r.IntN(3), r.IntN(3)
			k, h := float64(r.IntN(6)), float64(1+r.IntN(90))
			events[a][s] += k
			hours[a][s] += h
			rows = append(rows, []string{ages[a], sports[s], digits(k), digits(h)})
		}
		full := true
		for a := range 3 {
			for s := range 3 {
				full = full && hours[a][s] > 0 && events[a][s] > 0
			}
		}
		if !full {
			continue
		}
		order := "[age, sport]"
		if r.IntN(2) == 0 {
			order = "[sport, age]"
		}
		_, text, _ := strings.Cut(lines("", rows), "\n")
		res := strataStudy(", by: "+order+", reference: {sport: football}, differences: true, stratify: age, standardise: {over: age, to: study, indirect: true}", text).compute(t)
		total, weights := 0.0, [3]float64{}
		for a := range 3 {
			for s := range 3 {
				weights[a] += hours[a][s]
				total += hours[a][s]
			}
		}
		standardised := func(s int) float64 {
			sum := 0.0
			for a := range 3 {
				sum += weights[a] / total * events[a][s] / hours[a][s]
			}
			return sum
		}
		for s, name := range sports {
			near(t, "standardised rate", row(t, res, "s/standardised/sport="+name+"/standardised rate").Estimate, standardised(s))
			if s == 1 {
				continue
			}
			of := name + " vs football/"
			near(t, "ratio", row(t, res, "s/standardised/sport:"+of+"standardised rate ratio").Estimate, standardised(s)/standardised(1))
			expected, observed, over, under, surplus, weight := 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
			for a := range 3 {
				x, y, one, zero := events[a][s], events[a][1], hours[a][s], hours[a][1]
				expected += one * y / zero
				observed += x
				over += x * zero / (one + zero)
				under += y * one / (one + zero)
				surplus += (x/one - y/zero) * one * zero / (one + zero)
				weight += one * zero / (one + zero)
			}
			near(t, "expected", row(t, res, "s/standardised/sport:"+of+"expected events").Estimate, expected)
			near(t, "observed over expected", row(t, res, "s/standardised/sport:"+of+"standardised incidence ratio").Estimate, observed/expected)
			near(t, "pooled ratio", row(t, res, "s/pooled/sport:"+of+"pooled rate ratio").Estimate, over/under)
			near(t, "pooled difference", row(t, res, "s/pooled/sport:"+of+"pooled rate difference").Estimate, surplus/weight)
		}
	}
}
