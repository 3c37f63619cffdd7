package run

import (
	"slices"
	"strings"
	"testing"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/stats"
)

// TestIncidenceByHand: A is 10.0 on day 0 and in football from day 0 to 100
// with 50 hours; its first event is on day 40, after 20 hours, in football; the
// second counts only where all do. B becomes 9.5 at 0.5 × 365.25 = 182.625
// days: of 400 hours from day 100 to 300, 165.25 are before and 234.75 from
// that day on. C was ill before it began.
func TestIncidenceByHand(t *testing.T) {
	w := cohortWalk{first: true, byAge: true, kids: []kid{
		{age: 10, spells: []spell{{"football", 0, 100, 50}}, onsets: []onset{{"football", 70}, {"football", 40}}},
		{age: 9, spells: []spell{{"swimming", 100, 300, 400}}},
		{age: 10, spells: []spell{{"judo", 0, 10, 10}, {"football", 20, 30, 7}}, onsets: []onset{{"judo", -1}}},
		{age: 8, spells: []spell{{"judo", -10, 10, 20}}, onsets: []onset{{"judo", 0}}},
	}}
	res := w.folder().compute(t)
	for _, c := range []struct {
		id           string
		time, events float64
	}{
		{"rates/rates/age_now=9.5 to <12,sport=football/incidence rate", 20, 1},
		{"rates/rates/age_now=8 to <9.5,sport=swimming/incidence rate", 165.25, 0},
		{"rates/rates/age_now=9.5 to <12,sport=swimming/incidence rate", 234.75, 0},
		{"rates/rates/age_now=8 to <9.5,sport=judo/incidence rate", 0, 1}, // on its birthday: from then on
		{"rates/rates/incidence rate", 420, 2},
	} {
		r := row(t, res, c.id)
		near(t, c.id+" person-time", r.PersonTime, c.time)
		near(t, c.id+" events", r.Events, c.events)
	}
	for reason, want := range map[string]float64{
		"after the first event":                               30 + 10,
		"at ages outside the bands":                           10,
		"of children with an event before the first interval": 17,
		"of children whose age on day 0 is missing":           0,
		"of intervals with a grouping variable missing":       0,
	} {
		if got := removedUnder(res, "hours", reason); !closeTo(got, want) {
			t.Errorf("%v hours %s, want %v", got, reason, want)
		}
	}
	if got := removedUnder(res, "events", "after the child's first"); got != 1 {
		t.Errorf("%v events after the first, want 1", got)
	}
	w.first = false
	near(t, "all events", row(t, w.folder().compute(t), "rates/rates/incidence rate").Events, 4-1)
}

// TestNoRatios wants no figure of ratios where the plan asks for none.
func TestNoRatios(t *testing.T) {
	w := cohortWalk{kids: []kid{{age: 10, spells: []spell{{"football", 0, 10, 20}}, onsets: []onset{{"football", 5}}}}}
	if figures := w.folder().compute(t).Analyses[0].Figures; !slices.Equal(figures, []string{"rates"}) {
		t.Errorf("figures %q", figures)
	}
}

// TestSharedFirstDay wants the event that can be counted taken of several on
// one day, whatever the order of the rows.
func TestSharedFirstDay(t *testing.T) {
	onsets := []onset{{"", 5}, {"swimming", 5}, {"football", 5}}
	for range 3 {
		onsets = append(onsets[1:], onsets[0])
		w := cohortWalk{first: true, kids: []kid{{age: 10, spells: []spell{{"football", 0, 10, 20}}, onsets: onsets}}}
		res := w.folder().compute(t)
		r := row(t, res, "rates/rates/sport=football/incidence rate")
		near(t, "events", r.Events, 1)
		near(t, "hours", r.PersonTime, 10)
		near(t, "events counted once", result.Number(removedUnder(res, "events", "on the day of the child's first: counted once")), 2)
	}
}

// overlapping are children who are in two sports at once, in days.
func overlapping() cohortWalk {
	return cohortWalk{calendar: true, byAge: true, kids: []kid{
		{age: 9, spells: []spell{{"football", 0, 100, 0}, {"swimming", 50, 150, 0}}, onsets: []onset{{"football", 10}, {"swimming", 60}}},
		{age: 9.25, spells: []spell{{"football", 0, 300, 0}, {"football", 100, 400, 0}}, onsets: []onset{{"football", 350}}},
		{age: 11, spells: []spell{{"judo", 0, 300, 0}, {"judo", 0, 300, 0}}, onsets: []onset{{"judo", 1}, {"judo", 2}, {"judo", 2}}},
	}}
}

// TestCalendarModel wants a model of days to count a day of a child once, as
// the rates do.
func TestCalendarModel(t *testing.T) {
	for cluster, text := range map[bool]string{false: "", true: ", cluster: id"} {
		f := overlapping().folder()
		f["study.yaml"] = strings.Replace(f["study.yaml"], "by: [age_now, sport]", "by: age_now\n    reference: {age_now: 8 to <9.5}\n    model: {terms: [age_now]"+text+"}", 1)
		// Without sport an event needs an interval of any sport.
		res := f.compute(t)
		young, old := row(t, res, "rates/rates/age_now=8 to <9.5/incidence rate"), row(t, res, "rates/rates/age_now=9.5 to <12/incidence rate")
		near(t, "days", row(t, res, "rates/rates/incidence rate").PersonTime, 150+400+300)
		want := float64(old.Events) / float64(old.PersonTime) / (float64(young.Events) / float64(young.PersonTime))
		// A model of two cells is saturated: its ratio is the crude one.
		r := row(t, res, "rates/model/age_now:9.5 to <12/rate ratio")
		if got := float64(r.Estimate); got < want*(1-1e-6) || got > want*(1+1e-6) {
			t.Errorf("cluster %v: rate ratio %v, want the crude %v; %s", cluster, got, want, r.Reason)
		}
		ratio, err := stats.RateRatio(int(old.Events), float64(old.PersonTime), int(young.Events), float64(young.PersonTime), stats.RateRatioOptions{})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "upper limit", row(t, res, "rates/ratios/age_now:9.5 to <12 vs 8 to <9.5/rate ratio").Upper, ratio.Upper)
	}
	f := overlapping().folder()
	f["study.yaml"] += "    model: {terms: [sport]}\n"
	if r := row(t, f.compute(t), "rates/model/log likelihood"); r.Estimate.Present() || !strings.Contains(r.Reason, "overlapping") {
		t.Errorf("a model of shared days is %v, reason %q", r.Estimate, r.Reason)
	}
}

const countBook = `
name: ships
resources:
  - name: seasons
    path: data/seasons.csv
    schema:
      fields:
        - {name: sport, type: string, categories: [football, swimming]}
        - {name: school, type: string}
        - {name: events, type: number}
        - {name: hours, type: number}
`

func countStudy(model, rows string) folder {
	return folder{
		"study.yaml": "title: Counts\ncodebook: codebook.yaml\nanalyses:\n  - {id: c, kind: incidence, events: {table: seasons, count: events}, " +
			"at_risk: {table: seasons, amount: hours}, by: sport, reference: {sport: swimming}" + model + "}\n",
		"codebook.yaml":    countBook,
		"data/seasons.csv": "sport,school,events,hours\n" + rows,
	}
}

// TestCounts compares the model of a table of counts with a direct fit; rows
// without a school belong to no cluster and stay out of the model.
func TestCounts(t *testing.T) {
	res := countStudy(", model: {terms: [sport], cluster: school}", `football,A,4,100
swimming,A,1,120
football,B,6,90
swimming,B,2,150
football,C,3,110
swimming,C,0,80
swimming,,9,100
football,A,,50
football,A,1.5,50
football,A,2,0
,A,2,10
`).compute(t)
	near(t, "events", row(t, res, "c/rates/sport=swimming/incidence rate").Events, 12)
	if figures := res.Analyses[0].Figures; !slices.Equal(figures, []string{"c", "c-ratios"}) {
		t.Errorf("figures %q", figures)
	}
	near(t, "person-time", row(t, res, "c/rates/sport=football/incidence rate").PersonTime, 300)
	x := [][]float64{{1}, {0}, {1}, {0}, {1}, {0}}
	fit, err := stats.FitPoisson(x, []string{"football"}, []float64{4, 1, 6, 2, 3, 0}, []float64{100, 120, 90, 150, 110, 80},
		stats.GLMOptions{Cluster: []int{0, 0, 1, 1, 2, 2}})
	if err != nil {
		t.Fatal(err)
	}
	r := row(t, res, "c/model/sport:football/rate ratio")
	near(t, "rate ratio", r.Estimate, fit.Estimates[0].Value)
	near(t, "SE", r.SE, fit.SE[1])
	near(t, "rows", row(t, res, "c/model/log likelihood").N, 6)
	for reason, want := range map[string]float64{
		"events or person-time missing": 1, "a grouping variable missing": 1, "events or person-time impossible": 1,
		"no person-time": 1, "incomplete: not in the model": 1,
	} {
		if got := removedUnder(res, "rows", reason); got != want {
			t.Errorf("%v rows removed for %q, want %v", got, reason, want)
		}
	}
	if got := removedUnder(res, "events", "in rows without person-time"); got != 2 {
		t.Errorf("%v events without person-time, want 2", got)
	}
	if events, time := removedUnder(res, "events", "in rows with a grouping variable missing"), removedUnder(res, "person-time", ""); events != 2 || time != 10 {
		t.Errorf("%v events and %v of person-time without a group, want 2 and 10", events, time)
	}
	separated := countStudy(", model: {terms: [sport]}", "football,A,4,100\nswimming,A,0,100\n").compute(t)
	if r := row(t, separated, "c/model/log likelihood"); r.Estimate.Present() || !strings.Contains(r.Reason, "separation") {
		t.Errorf("separation gives %v, reason %q", r.Estimate, r.Reason)
	}
	if r := row(t, separated, "c/ratios/sport:football vs swimming/rate ratio"); r.Estimate.Present() && float64(r.Estimate) < 1e300 {
		t.Errorf("a ratio to no event is %v", r.Estimate)
	}
}

// TestDefaults wants every choice listed whether the plan wrote it or not.
func TestDefaults(t *testing.T) {
	w := overlapping()
	w.byAge = false
	walk := w.folder()
	walk["study.yaml"] = `title: Defaults
codebook: codebook.yaml
analyses:
  - id: i
    kind: incidence
    events: {table: episodes, day: day}
    at_risk: {table: exposures, from: from_day, to: to_day}
    current_age: {at_zero: age, bands: [8, 9.5, 12]}
    by: current_age
    model: {terms: [current_age]}
`
	ages := "c1,normal,yes,9,,\nc2,pronated,no,9,,\nc3,pronated,yes,8,,\nc4,normal,no,8,,\n"
	for _, c := range []struct {
		study folder
		want  string
	}{
		{smallStudy("{id: d, kind: describe, variables: [age]}", ages), "quartiles"},
		{
			smallStudy("{id: a, kind: association, outcome: pain, exposure: arch, adjust: age}", ages),
			"reference.arch; limits of odds ratios; limits of risk ratios; limits of risk differences; chi-square correction; cluster",
		},
		{
			heelStudy("{id: t, kind: time-to-event, event: {day: left, when: back}, by: arch, model: {terms: [arch]}}", heelRows),
			"start; entry; limits of the curve; unit of time; ticks; reference.arch; ties; cluster",
		},
		{
			recurrenceStudy("{id: r, kind: recurrence, events: {table: heels, day: day}, gap: 7, exit: left}", spellChildren, spellHeels),
			"events; end of a spell; entry; start; exits for good; days of a spell and the gap after it in the count; person-time; per; " +
				"limits of the count; ticks; limits of rates; limits of the rate ratio",
		},
		{
			recurrenceStudy("{id: b, kind: burden, events: {table: heels, day: day, until: last}, at_risk: {table: hours, from: from_day, to: to_day}}", spellChildren, spellHeels),
			"events; finished; unfinished; person-time; per; limits of the burden; seed; replicates; limits of rates; severity",
		},
		{walk, "events; episodes; person-time; per; limits of rates; year; reference.current_age; dispersion"},
	} {
		res := c.study.compute(t)
		a := res.Analyses[0]
		for key := range strings.SplitSeq(c.want, "; ") {
			at := slices.IndexFunc(a.Settings, func(s result.Setting) bool { return s.Key == key })
			if at < 0 || a.Settings[at].Written || a.Settings[at].Value == "" {
				t.Errorf("%s: default %q is not listed as such among %v", a.Kind, key, a.Settings)
			}
		}
		seen := map[string]bool{}
		for _, s := range a.Settings {
			if seen[s.Key] {
				t.Errorf("%s lists %q twice", a.Kind, s.Key)
			}
			seen[s.Key] = true
		}
		for _, key := range []string{"level", "participants", "faults"} {
			at := slices.IndexFunc(res.Settings, func(s result.Setting) bool { return s.Key == key })
			if at < 0 || res.Settings[at].Written {
				t.Errorf("%s: the study's default %q is not listed as such", a.Kind, key)
			}
		}
	}
}

// A grouping's own label stands in place of the variable's.
func TestGroupingLabel(t *testing.T) {
	w := overlapping()
	w.byAge = false
	study := w.folder()
	study["study.yaml"] = `title: Labels
codebook: codebook.yaml
analyses:
  - id: i
    kind: incidence
    events: {table: episodes, day: day}
    at_risk: {table: exposures, from: from_day, to: to_day}
    current_age: {at_zero: age, bands: [8, 9.5, 12], label: Age}
    by: [{name: sport, label: Kind of sport}, {name: current_age, label: Age then}]
`
	got := map[string]string{}
	for _, v := range study.compute(t).Analyses[0].Variables {
		got[v.Name] = v.Label
	}
	if got["sport"] != "Kind of sport" || got["current_age"] != "Age then" {
		t.Errorf("labels %v", got)
	}
}
