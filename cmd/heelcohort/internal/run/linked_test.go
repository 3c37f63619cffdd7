package run

import (
	"strings"
	"testing"
)

const cohortBook = `
name: cohort
resources:
  - name: children
    path: data/children.csv
    schema:
      primaryKey: id
      fields:
        - {name: id, type: string}
        - {name: sex, type: string, categories: [female, male]}
        - {name: exit, type: integer}
        - {name: onset, type: integer}
        - {name: heel, type: boolean, trueValues: ["yes"], falseValues: ["no"]}
  - name: spells
    path: data/spells.csv
    schema:
      foreignKeys: [{fields: child, reference: {resource: children, fields: id}}]
      fields:
        - {name: child, type: string}
        - {name: start, type: integer}
        - {name: stop, type: integer}
`

// TestLinkedGrouping groups the person-time of one table by a variable of the
// children, and takes events from the children themselves: A has 30 days and
// its event on day 10 of a heel; B 50 and an event of another sort; C 20, and
// whether its event was one is not known; D's spell is nobody's.
func TestLinkedGrouping(t *testing.T) {
	f := folder{
		"study.yaml": `title: T
codebook: codebook.yaml
level: 0.9
analyses:
  - id: linked
    kind: incidence
    events: {table: children, day: onset, when: heel}
    at_risk: {table: spells, from: start, to: stop}
    by: sex
    reference: {sex: male}
    model: {terms: [sex]}
  - id: alone
    kind: incidence
    events: {table: children, day: onset, when: heel}
    at_risk: {table: children, from: 0, to: exit}
    episodes: all
    by: sex
  - {id: risk, kind: association, outcome: heel, exposure: sex, cluster: id}
  - {id: time, kind: time-to-event, event: {day: exit, when: heel}, by: sex, at: [20], model: {terms: [sex]}}
`,
		"codebook.yaml":     cohortBook,
		"data/children.csv": "id,sex,exit,onset,heel\nA,female,30,10,yes\nB,male,50,20,no\nC,male,20,5,\nE,male,40,30,yes\nF,female,35,,no\n",
		"data/spells.csv":   "child,start,stop\nA,0,20\nA,10,30\nB,0,50\nC,0,20\nE,0,40\nF,0,35\n,0,7\n",
	}
	res := f.compute(t)
	for id, want := range map[string][2]float64{ // person-time, events
		"linked/rates/incidence rate":            {10 + 50 + 20 + 30 + 35, 2},
		"linked/rates/sex=female/incidence rate": {45, 1},
		"linked/rates/sex=male/incidence rate":   {100, 1},
		"alone/rates/sex=female/incidence rate":  {65, 1},
		"alone/rates/sex=male/incidence rate":    {110, 1},
	} {
		r := row(t, res, id)
		near(t, id+" person-time", r.PersonTime, want[0])
		near(t, id+" events", r.Events, want[1])
	}
	near(t, "rate ratio", row(t, res, "linked/ratios/sex:female vs male/rate ratio").Estimate, 100.0/45)
	near(t, "modelled rate ratio", row(t, res, "linked/model/sex:female/rate ratio").Estimate, 100.0/45)
	for reason, want := range map[string]float64{"of intervals without a row of children": 7, "after the first event": 20 + 10} {
		if got := removedUnder(res, "days", reason); got != want {
			t.Errorf("%v days %s, want %v", got, reason, want)
		}
	}
	if got := removedUnder(res, "events", "not decided whether one"); got != 1 {
		t.Errorf("%v undecided events, want 1", got)
	}
	if w := strings.Join(res.Analyses[0].Warnings, " "); !strings.Contains(w, "1 events could not be placed") {
		t.Errorf("warnings %s", w)
	}
	// The plan's level holds wherever there are limits.
	levels := map[string]int{}
	for _, r := range res.Rows {
		if r.Level.Present() {
			levels[r.Analysis]++
			near(t, r.ID+" level", r.Level, 0.9)
		}
	}
	if len(levels) != 4 {
		t.Errorf("rows with limits: %v", levels)
	}
}
