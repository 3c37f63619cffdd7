package run

import (
	"math"
	"math/rand/v2"
	"strconv"
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
