package run

import (
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"heelcohort/stats"
)

// TestSeasonOfDays compares a season of study days with a fit of rows made here
// by plain arithmetic: each child's hours and events by the day of a cycle of
// 100 days, cut into pieces of 10 and placed by the child's age times 10. The
// rows along the season and along age are the rates that fit predicts.
func TestSeasonOfDays(t *testing.T) {
	r := rand.New(rand.NewPCG(61, 6))
	w := cohortWalk{byAge: true}
	season := stats.Harmonics{Period: 100, Pairs: 1}
	type cell struct{ child, slot int }
	hours, events := map[cell]float64{}, map[cell]float64{}
	var order []cell
	for i := range 60 {
		age := 8 + float64(r.IntN(250))/100 // day 80 to 105 of the cycle on study day 0
		from, days := r.IntN(50), 100+r.IntN(300)
		k := kid{age: age, spells: []spell{{walkSports[i%2], from, from + days, float64(days) / 2}}}
		slotOf := func(day float64) int { return int(math.Mod(day+10*age, 100) / 10) }
		onsets := map[int]bool{}
		for range r.IntN(5) {
			onsets[from+1+r.IntN(days-1)] = true
		}
		// Tenths of a day: the ages' hundredths make bounds of pieces at them.
		for tenth := 10 * from; tenth < 10*(from+days); tenth++ {
			at := cell{i, slotOf(float64(tenth)/10 + 0.05)}
			if _, seen := hours[at]; !seen {
				order = append(order, at)
			}
			hours[at] += 0.05
		}
		for day := range from + days {
			if onsets[day] {
				k.onsets = append(k.onsets, onset{walkSports[i%2], float64(day)})
				events[cell{i, slotOf(float64(day) + 1e-9)}]++
			}
		}
		w.kids = append(w.kids, k)
	}
	var x [][]float64
	var y, time []float64
	var child []int
	for _, at := range order {
		x = append(x, append([]float64{float64(at.child % 2)}, season.At(float64(10*at.slot)+5)...))
		y, time, child = append(y, events[at]), append(time, hours[at]), append(child, at.child)
	}
	opts := stats.GLMOptions{Cluster: child}
	f, err := stats.FitPoisson(x, []string{"swimming", "sin", "cos"}, y, time, opts)
	if err != nil {
		t.Fatal(err)
	}
	study := w.folder()
	study["study.yaml"] += "    model: {terms: [sport, month], season: {month: {at_zero: 10 * age, period: 100, cut: 10, label: Month}}, cluster: id}\n"
	res := study.compute(t)
	near(t, "sine", row(t, res, "rates/model/month:sin 1/coefficient").Estimate, f.Coefficients[2])
	near(t, "SE of the cosine", row(t, res, "rates/model/month:cos 1/coefficient").SE, f.SE[3])
	for _, day := range []float64{0, 26, 50, 100} {
		all := make([][]float64, len(x))
		for i := range all {
			all[i] = append([]float64{x[i][0]}, season.At(day)...)
		}
		want, err := stats.MarginalRate(f, all, time, stats.MarginalOptions{Per: 100})
		if err != nil {
			t.Fatal(err)
		}
		got := row(t, res, "rates/smooth/month/marginal rate@"+strconv.Itoa(int(day)))
		near(t, "rate", got.Estimate, want.Value)
		near(t, "upper limit", got.Upper, want.Upper)
	}
	if got, want := res.Analyses[0].Setting("pieces of the season in the model"), "10 days, each with the day of its middle"; got != want {
		t.Errorf("pieces %q, want %q", got, want)
	}
}

func TestGrid(t *testing.T) {
	h := shape{least: 6.125, most: 18.875}
	points := h.grid()
	if points[0] != 6.125 || points[1] != 6.25 || points[2] != 6.5 || points[len(points)-1] != 18.875 || len(points) != 53 {
		t.Errorf("from 6.125 to 18.875: %v", points)
	}
	h = shape{season: &stats.Harmonics{Period: 364, Pairs: 1}}
	if points = h.grid(); points[0] != 0 || points[1] != 10 || points[len(points)-1] != 364 || len(points) != 38 {
		t.Errorf("a cycle of 364: %v", points)
	}
}

// TestSeasonWithoutTime: one child is at risk on days 0 to 21 of a cycle of 28
// cut every 7, with 1, 3 and 1 events. A pair of sine and cosine fits three
// pieces exactly: in the middle of the second the rate is that of 3 events in
// 70 hours. On days 21 to 28 nobody is at risk, and there is no rate.
func TestSeasonWithoutTime(t *testing.T) {
	w := cohortWalk{kids: []kid{{age: 0, spells: []spell{{"football", 0, 21, 210}}, onsets: []onset{
		{"football", 2}, {"football", 9}, {"football", 10}, {"football", 12}, {"football", 15},
	}}}}
	study := w.folder()
	study["study.yaml"] += "    model: {terms: [day], season: {day: {at_zero: age, period: 28}}}\n"
	res := study.compute(t)
	middle := row(t, res, "rates/smooth/day/marginal rate@10.5")
	near(t, "rate", middle.Estimate, 100*3.0/70)
	near(t, "lower limit", middle.Lower, 100*3.0/70*math.Exp(-1.959963984540054/math.Sqrt(3)))
	for _, r := range res.Rows {
		if r.Part == "smooth" && (r.Reason != "") != (r.At > 21) {
			t.Errorf("at %v: rate %v, reason %q", r.At, r.Estimate, r.Reason)
		}
	}
}

// TestSeasonOfAbsurdDays: an interval of millions of seasons is not cut, and a
// day 0 that cannot be one is taken for unknown; neither takes for ever.
func TestSeasonOfAbsurdDays(t *testing.T) {
	w := cohortWalk{kids: []kid{
		{age: 0, spells: []spell{{"football", 0, 900000000, 210}}, onsets: []onset{{"football", 2}}},
		{age: 1e18, spells: []spell{{"football", 0, 90, 210}}, onsets: []onset{{"football", 2}}},
	}}
	study := w.folder()
	study["study.yaml"] += "    model: {terms: [day], season: {day: {at_zero: age, period: 28}}}\n"
	if r := row(t, study.compute(t), "rates/model/log likelihood"); !strings.Contains(r.Reason, "more than 1000 cycles") {
		t.Errorf("reason %q", r.Reason)
	}
	w.kids[0].spells[0].to = 28
	study["data/exposures.csv"] = w.folder()["data/exposures.csv"]
	res := study.compute(t)
	if got := removedUnder(res, "rows", "incomplete: not in the model"); got != 1 {
		t.Errorf("%v rows are not in the model, want 1", got)
	}
}
