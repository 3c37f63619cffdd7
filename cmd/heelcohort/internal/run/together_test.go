package run

import (
	"testing"

	"heelcohort/stats"
)

// togetherRows are heels of children: a's heels both come back, b's second is
// lost before, c's first was over before it was seen, d has one heel, e's heels
// differ in age, of f the end of both falls on one day, once lost.
const togetherRows = `
a,normal,0,0,10,yes,9
a,normal,4,0,30,yes,9
b,normal,0,0,12,no,9
b,normal,2,0,20,yes,9
c,normal,-30,0,-5,yes,9
c,normal,-20,0,15,yes,9
d,pronated,5,0,25,yes,9
e,normal,0,0,11,yes,9
e,normal,0,0,13,yes,10
f,normal,0,0,18,yes,9
f,normal,3,0,18,no,9
`

// TestTogether compares with the units by hand. Once all heels are back: a at 30;
// b is lost at 12; c is seen from its day 30 on and back at 45; d at 20; f is lost
// at 18. With the first: a at 10; b is lost at 12, before the other heel; c was
// back before it was seen; d at 20; f lost at 18.
func TestTogether(t *testing.T) {
	const plan = "{id: f, kind: time-to-event, start: onset, entry: seen, event: {day: left, when: back}, by: arch, model: {terms: [age]}, at: [11, 19, 40], "
	for _, c := range []struct {
		event  string
		normal stats.Times
	}{
		{"last", stats.Times{Entry: []float64{0, 0, 30, 0}, Exit: []float64{30, 12, 45, 18}, Status: []bool{true, false, true, false}}},
		{"first", stats.Times{Entry: []float64{0, 0, 0}, Exit: []float64{10, 12, 18}, Status: []bool{true, false, false}}},
	} {
		study := heelStudy(plan+"together: {by: child, event: "+c.event+"}}", togetherRows)
		res := study.compute(t)
		curve, err := stats.KaplanMeier(c.normal, stats.CurveOptions{})
		if err != nil {
			t.Fatal(err)
		}
		near(t, c.event+" rows", row(t, res, "f/size/arch=normal/rows").Estimate, float64(len(c.normal.Exit)))
		for _, at := range []float64{11, 19, 40} {
			near(t, c.event, row(t, res, "f/at/arch=normal/survival@"+digits(at)).Estimate, curve.At(at).Survival)
			near(t, c.event+" at risk", row(t, res, "f/at/arch=normal/survival@"+digits(at)).N, float64(curve.At(at).AtRisk))
		}
		near(t, "d", row(t, res, "f/quantile/arch=pronated/median time").Estimate, 20)
		if got := removedUnder(res, "rows", "of units whose rows differ in a variable of the analysis"); got != 2 {
			t.Errorf("%s: %v rows of e left out, want 2", c.event, got)
		}
		if got := removedUnder(res, "units", ""); got != float64(4-len(c.normal.Exit)) {
			t.Errorf("%s: %v units ended before they were seen", c.event, got)
		}
	}
	refused(t, heelBook, "id: f, kind: time-to-event, event: {day: left, when: back}, together: {by: [child, ¦child], event: last}", "stands twice")
	refused(t, heelBook, "id: f, kind: time-to-event, event: {day: left, when: back}, weights: age, together: ¦{by: child, event: last}", "weights beside together")
}
