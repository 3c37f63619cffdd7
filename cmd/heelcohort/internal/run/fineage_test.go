package run

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"heelcohort/stats"
)

// TestSplineOfCurrentAge compares the spline of current age with a fit of rows
// made here by plain arithmetic: each child's hours within each piece of age,
// and its events by the piece of the day, with clusters and without.
func TestSplineOfCurrentAge(t *testing.T) {
	r := rand.New(rand.NewPCG(61, 4))
	w := cohortWalk{byAge: true}
	s, err := stats.NewNaturalSpline([]float64{8, 9, 10, 12})
	if err != nil {
		t.Fatal(err)
	}
	var x [][]float64
	var events, hours []float64
	var child []int
	for i := range 40 {
		age, from, days := 8+3*r.Float64(), r.IntN(200), 100+r.IntN(300)
		age = math.Round(1000*age) / 1000
		sport := i % 2
		k := kid{age: age, spells: []spell{{walkSports[sport], from, from + days, float64(days) / 2}}}
		var days0 []float64
		for range r.IntN(4) {
			days0 = append(days0, float64(from+1+r.IntN(days-1)))
		}
		for slot := range 8 { // of half a year from 8 to 12
			low := math.Max(float64(from), (8+float64(slot)/2-age)*365.25)
			high := math.Min(float64(from+days), (8.5+float64(slot)/2-age)*365.25)
			if high <= low {
				continue
			}
			n := 0.0
			for _, d := range days0 {
				if low <= d && d < high {
					n++
					k.onsets = append(k.onsets, onset{walkSports[sport], d})
				}
			}
			x = append(x, append([]float64{float64(sport)}, s.At(8.25+float64(slot)/2)...))
			events, hours, child = append(events, n), append(hours, (high-low)/2), append(child, i)
		}
		w.kids = append(w.kids, k)
	}
	for _, c := range []struct {
		more string
		opts stats.GLMOptions
	}{{"", stats.GLMOptions{}}, {", cluster: id, errors: CR2", stats.GLMOptions{Cluster: child, Robust: stats.CR2}}} {
		f, err := stats.FitPoisson(x, []string{"swimming", "a", "b", "c"}, events, hours, c.opts)
		if err != nil {
			t.Fatal(err)
		}
		study := w.folder()
		study["study.yaml"] += "    model: {terms: [sport, age_now], cut_age: 0.5, spline: {age_now: {at: [8, 9, 10, 12]}}" + c.more + "}\n"
		res := study.compute(t)
		ratio := row(t, res, "rates/model/sport:swimming/rate ratio")
		near(t, "rate ratio", ratio.Estimate, f.Estimates[0].Value)
		near(t, "SE", ratio.SE, f.SE[1])
		near(t, "curve", row(t, res, "rates/model/age_now:curve 2/coefficient").Estimate, f.Coefficients[4])
		total := 0.0
		for _, n := range events {
			total += n
		}
		near(t, "events", row(t, res, "rates/model/log likelihood").Events, total)
		if got := res.Analyses[0].Setting("pieces of age in the model"); !strings.HasPrefix(got, "0.5 years") {
			t.Errorf("pieces of age %q", got)
		}
	}
}

// TestEventAtTheEndOfAPieceOfAge: B is 9 on day 0 and 9.5 on day 182.625. Its
// time and its event end there, where the next piece begins: the event belongs
// to the piece before.
func TestEventAtTheEndOfAPieceOfAge(t *testing.T) {
	w := cohortWalk{byAge: true, kids: []kid{
		{age: 9, spells: []spell{{"football", 0, 100, 50}}, onsets: []onset{{"football", 100}}},
		{age: 10, spells: []spell{{"swimming", 0, 300, 30}}, onsets: []onset{{"swimming", 5}, {"swimming", 250}}},
		{age: 11, spells: []spell{{"football", 0, 300, 90}}, onsets: []onset{{"football", 7}}},
	}}
	study := w.folder()
	for _, name := range []string{"data/exposures.csv", "data/episodes.csv"} {
		study[name] = strings.ReplaceAll(study[name], "C00,football,0,100,", "C00,football,0,182.625,")
		study[name] = strings.ReplaceAll(study[name], "C00,football,100", "C00,football,182.625")
	}
	study["study.yaml"] = strings.Replace(study["study.yaml"], "bands: [8, 9.5, 12]", "bands: [8, 12]", 1) +
		"    model: {terms: [sport, age_now], cut_age: 0.5, cluster: id, errors: CR0, spline: {age_now: {at: [8, 10, 12]}}}\n"
	res := study.compute(t)
	r := row(t, res, "rates/model/log likelihood")
	if r.Reason != "" {
		t.Error(r.Reason)
	}
	near(t, "events", r.Events, 4)
}
