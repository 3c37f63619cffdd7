package run

import (
	"math"
	"strings"
	"testing"

	"heelcohort/stats"
)

const competingRows = `
a,normal,0,0,10,yes,9
a,normal,5,0,25,yes,10
b,normal,-30,0,10,no,11
b,pronated,0,3,12,yes,12
c,pronated,10,10,40,yes,8
d,pronated,-8,0,22,no,13
e,pronated,-20,4,20,no,9
f,normal,0,0,7,no,
g,normal,0,0,8,no,15
`

// TestCompetingEnds compares cumulative incidences with direct calls on times by
// hand: a row that did not return gave up where the child is over 10, and where
// the age is missing it does not enter.
func TestCompetingEnds(t *testing.T) {
	const plan = "{id: f, kind: time-to-event, start: onset, entry: seen, event: {day: left, when: back}, " +
		"competing: [{when: age > 10, label: gave up}], at: [15], "
	times := stats.CompetingTimes{
		Entry: []float64{0, 0, 30, 3, 0, 8, 24, 0},
		Exit:  []float64{10, 20, 40, 12, 30, 30, 40, 8},
		Cause: []int{1, 1, 2, 1, 1, 2, 0, 2},
	}
	child := []int{0, 0, 1, 1, 2, 3, 4, 6}
	res := heelStudy(plan+"cluster: child}", competingRows).compute(t)
	c, err := stats.CumulativeIncidence(times, 2, stats.IncidenceOptions{Cluster: child})
	if err != nil {
		t.Fatal(err)
	}
	for i, at := range c.Time {
		r := row(t, res, "f/incidence/:event/cumulative incidence@"+digits(at))
		near(t, r.ID, r.Estimate, c.Incidence[0][i])
		near(t, r.ID, r.SE, c.SE[0][i])
		r = row(t, res, "f/incidence/:gave up/cumulative incidence@"+digits(at))
		near(t, r.ID, r.Estimate, c.Incidence[1][i])
	}
	near(t, "at 15", row(t, res, "f/incidence at/:gave up/cumulative incidence@15").Estimate, c.At(2, 15).Incidence)
	if ids := res.Analyses[0].Figures; len(ids) != 2 || ids[1] != "f-incidence" {
		t.Errorf("figures %q", ids)
	}
	grouped := heelStudy(strings.Replace(plan, "entry: seen, ", "", 1)+"by: arch}", strings.ReplaceAll(competingRows, "-30,0,10", "0,0,10")).compute(t)
	g := row(t, grouped, "f/tests/:event/Gray's test")
	if !g.P.Present() || g.DF != 1 {
		t.Errorf("Gray's test %+v", g)
	}
	late := row(t, heelStudy(plan+"by: arch}", competingRows).compute(t), "f/tests/:event/Gray's test")
	if !strings.Contains(late.Reason, "enter late") {
		t.Errorf("with late entry: %+v", late)
	}
	for text, want := range map[string]string{
		"competing: [{when: aeg > 10, label: x}]":                            `did you mean "age"?`,
		"competing: [{when: age > 10, label: event}]":                        "is the event's own",
		"competing: [{when: age > 10, label: x}, {when: age > 9, label: x}]": "stands twice",
		"competing: [{when: age > 10}]":                                      "label",
	} {
		_, err := Read(heelStudy("{id: f, kind: time-to-event, event: {day: left, when: back}, "+text+"}", competingRows).write(t))
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", text, err, want)
		}
	}
}

// TestCompetingModels compares the models of each end with package stats.
func TestCompetingModels(t *testing.T) {
	study, v, child, _ := visitStudy("  - {id: v, kind: time-to-event, start: onset, event: {day: last, when: back}, competing: [{when: gone, label: gave up}], " +
		"cluster: child, model: {terms: [age], ends: true, incidence: true}}\n")
	res := study.compute(t)
	times := stats.CompetingTimes{}
	other := stats.Times{}
	var x [][]float64
	for i := range v.Left {
		exit, cause := v.Right[i], 1
		if math.IsInf(exit, 1) {
			exit, cause = v.Left[i]+1, 0
			if i%4/2 == 0 {
				cause = 2
			}
		}
		times.Exit, times.Cause = append(times.Exit, exit), append(times.Cause, cause)
		other.Exit, other.Status = append(other.Exit, exit), append(other.Status, cause == 2)
		x = append(x, []float64{float64(8 + i%7)})
	}
	for cause, part := range map[int]string{1: "incidence model", 2: "incidence model of gave up"} {
		f, err := stats.FitFineGray(times, cause, x, []string{"age"}, stats.FineGrayOptions{Cluster: child})
		if err != nil {
			t.Fatal(err)
		}
		near(t, part, row(t, res, "v/"+part+"/age/subdistribution hazard ratio").Upper, f.Estimates[0].Upper)
	}
	f, err := stats.FitCox(other, x, []string{"age"}, stats.CoxOptions{Cluster: child})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "of the other end", row(t, res, "v/model of gave up/age/hazard ratio").Upper, f.Estimates[0].Upper)
	for plan, want := range map[string]string{
		"model: {terms: [age], ends: true}": "expected competing beside it",
		"competing: [{when: age > 10, label: x}], model: {terms: [age], incidence: true, ties: exact}": "has neither",
	} {
		study, _, _, _ := visitStudy("  - " + visitPlan + plan + "}\n")
		if _, err := Read(study.write(t)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", plan, err, want)
		}
	}
}
