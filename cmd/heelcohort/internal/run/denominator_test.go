package run

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"

	"heelcohort/dataset"
)

// TestDenominatorFindings plants what cannot be in a study that is right
// otherwise: each is a warning in its own cell, once, though two analyses see
// it, and no other is.
func TestDenominatorFindings(t *testing.T) {
	w := cohortWalk{kids: []kid{
		{age: 9, spells: []spell{{"football", 0, 100, 50}}, onsets: []onset{{"football", 20}}},
		{age: 10, spells: []spell{{"swimming", 0, 300, 30}}, onsets: []onset{{"swimming", 5}}},
		{age: 11, spells: []spell{{"football", 0, 300, 90}}, onsets: []onset{{"football", 7}}},
	}}
	study := w.folder()
	if got := timeFindings(t, study); got != nil {
		t.Fatalf("a right study has %q", got)
	}
	study["data/exposures.csv"] += "C01,football,50,40,2\n" + // line 5: ends before it begins
		"C01,football,400,401,25\n" + // 25 hours in a day
		"C01,swimming,290,310,8\n" + // overlaps line 3
		"C02,football,500,510,-1\n"
	study["data/episodes.csv"] += "C02,swimming,40\n" + // line 5: no swimming
		"C02,football,900\n" + // after all intervals
		"C02,football,-30\n" // before all of them: history
	plan := study["study.yaml"]
	at := strings.Index(plan, "  - ")
	study["study.yaml"] += strings.Replace(plan[at:], "id: rates", "id: again", 1)
	want := []string{
		"data/exposures.csv, line 5, column 4: to_day 40, expected a day not before the interval begins",
		"data/exposures.csv, line 6, column 5: hours 25, expected at most 24 hours a day",
		"data/exposures.csv, line 7, column 3: from_day 290, expected no day twice in one group",
		"data/exposures.csv, line 8, column 5: hours -1, expected 0 or more",
		"data/episodes.csv, line 5, column 3: day 40, expected a day within an interval at risk of the child, in the group of the event",
		"data/episodes.csv, line 6, column 3: day 900, expected a day within an interval at risk of the child, in the group of the event",
	}
	got := timeFindings(t, study)
	slices.Sort(got)
	slices.Sort(want)
	if !slices.Equal(got, want) {
		t.Errorf("findings\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

// TestSportsShareDays: intervals of two sports overlap rightly where by has no
// variable of their table; where the codebook has a rule on overlaps, it decides.
func TestSportsShareDays(t *testing.T) {
	w := cohortWalk{byAge: true, kids: []kid{
		{age: 9, spells: []spell{{"football", 0, 100, 50}, {"swimming", 50, 150, 50}}, onsets: []onset{{"football", 20}}},
	}}
	study := w.folder()
	study["study.yaml"] = strings.Replace(study["study.yaml"], "by: [age_now, sport]", "by: [age_now]", 1)
	if got := timeFindings(t, study); got != nil {
		t.Errorf("two sports at once: %q", got)
	}
	w.kids[0].spells[1].sport = "football"
	study = w.folder()
	if got := timeFindings(t, study); len(got) != 1 {
		t.Errorf("one sport twice: %q, want a finding", got)
	}
	study["codebook.yaml"] = strings.Replace(study["codebook.yaml"], "path: data/exposures.csv\n",
		"path: data/exposures.csv\n    heelcohort: {rules: [{name: overlap, no_overlap: {from: from_day, to: to_day, within: [child, sport, hours, from_day]}}]}\n", 1)
	if got := timeFindings(t, study); got != nil {
		t.Errorf("the codebook allows them: %q", got)
	}
}

// timeFindings lists the findings on the time at risk.
func timeFindings(t *testing.T, study folder) (list []string) {
	t.Helper()
	s, err := Read(study.write(t))
	if err != nil {
		t.Fatal(err)
	}
	o, err := s.Compute(context.Background(), "heelcohort test", Watch{})
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range o.Findings {
		if f.Severity != dataset.Warning || f.Rule != dataset.RuleTimeAtRisk {
			t.Errorf("%v %s: %s", f.Severity, f.Rule, f.Message)
		}
		list = append(list, fmt.Sprintf("%s: %s %s, expected %s", f.Where, f.Variable, f.Found, f.Expected))
	}
	return list
}
