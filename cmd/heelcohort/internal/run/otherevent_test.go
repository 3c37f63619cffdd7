package run

import (
	"context"
	"strings"
	"testing"

	"heelcohort/dataset"
	"heelcohort/stats"
)

// TestOtherEvent compares what is given by another definition of the event with
// the analysis of that definition.
func TestOtherEvent(t *testing.T) {
	const rest = "at: [40], cluster: child, by: group, model: {terms: [group, age]}}\n"
	study, _, _, _ := visitStudy("  - {id: v, kind: time-to-event, start: onset, event: {day: last, when: back}, otherwise: [{label: early, day: without, when: gone}], " + rest +
		"  - {id: w, kind: time-to-event, start: onset, event: {day: without, when: gone}, " + rest)
	res := study.compute(t)
	compared := 0
	for _, r := range res.Rows {
		if r.Analysis != "v" || !strings.HasSuffix(r.Part, " by early") {
			continue
		}
		compared++
		id := strings.Replace(strings.Replace(r.ID, "v/", "w/", 1), " by early/", "/", 1)
		want := row(t, res, id)
		near(t, r.ID, r.Estimate, float64(want.Estimate))
		near(t, r.ID+" upper", r.Upper, float64(want.Upper))
		near(t, r.ID+" P", r.P, float64(want.P))
	}
	if compared < 12 {
		t.Errorf("%d rows compared", compared)
	}
	if removedUnder(res, "rows", "by early: the day of the end missing") == 0 {
		t.Error("rows without a day by the other definition are not accounted for")
	}
	refused(t, heelBook, "id: f, kind: time-to-event, event: {day: left, when: back}, otherwise: [{label: a, day: left, when: back}, {label: ¦a, day: left, when: back}]", "stands twice")
	refused(t, heelBook, "id: f, kind: time-to-event, event: {day: left, when: back}, otherwise: [{label: a, day: ¦lft, when: back}]", `did you mean "left"?`)
}

// TestDayOrder wants days that contradict each other found in their cells.
func TestDayOrder(t *testing.T) {
	s, err := Read(heelStudy("{id: f, kind: time-to-event, start: onset, event: {day: left, when: back}}", heelRows).write(t))
	if err != nil {
		t.Fatal(err)
	}
	o, err := s.Compute(context.Background(), "heelcohort test", Watch{})
	if err != nil {
		t.Fatal(err)
	}
	var found []dataset.Finding
	for _, f := range o.Findings {
		if f.Rule == dataset.RuleDayOrder {
			found = append(found, f)
		}
	}
	// Of the rows only g ends before it begins.
	if len(found) != 1 || found[0].Variable != "left" || found[0].Found != "20" || found[0].Where.String() != "data/heels.csv, line 10, column 5" {
		t.Errorf("findings %v", found)
	}
	if _, err := stats.KaplanMeier(stats.Times{Exit: []float64{-10}, Status: []bool{true}}, stats.CurveOptions{}); err == nil {
		t.Error("package stats takes a time below 0")
	}
}
