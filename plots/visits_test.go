package plots

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/plot/vg"

	"heelcohort/stats"
)

// sampleVisits has three groups, one with a gap and one without limits, at
// visits that have room at the scale of their days.
func sampleVisits() Visits {
	return Visits{
		Title: "Pain in sport over visits", YLabel: "Mean pain in sport, mm (95% CI)", XLabel: "Visit",
		Visits: []string{"Week 0", "Week 12", "Week 26", "Week 52"}, Days: []float64{0, 84, 181.5, 364},
		Series: []VisitSeries{
			{"Normal", []stats.Estimate{est(52, 48, 56), est(31, 26, 36), est(12, 7, 17), est(2, -1, 5)}, []int{120, 101, 90, 61}},
			{"Pronated", []stats.Estimate{est(55, 47, 63), est(38, 30, 46), est(nan, nan, nan), est(6, 1, 11)}, []int{41, 30, -1, 18}},
			{"Supinated", []stats.Estimate{est(49, 40, 58), est(29, 18, 40), est(15, nan, nan), est(4, nan, nan)}, []int{12, 9, 1, 1}},
		},
	}
}

// crowdedVisits has visits too close for the scale of their days.
func crowdedVisits() Visits {
	v := sampleVisits()
	v.Visits, v.Days = []string{"Baseline", "Four weeks", "Eight weeks", "A year"}, []float64{0, 28, 56, 364}
	v.Size = Size{Width: SingleColumn}
	return v
}

// changeVisits falls below 0.
func changeVisits() Visits {
	return Visits{
		YLabel: "Mean change", Visits: []string{"w4", "w8"}, Days: []float64{28, 56},
		Series: []VisitSeries{{"", []stats.Estimate{est(-12, -16, -8), est(-30, -36, -24)}, nil}},
	}
}

// Markers stand at their days, groups side by side, and no line crosses a gap.
func TestVisitsStandWhereTheTicksSay(t *testing.T) {
	v := sampleVisits()
	c := draw(t, v).canvas
	zero, twenty := tickY(t, c, "0"), tickY(t, c, "20")
	first, last := one(t, c, "Week 0").at.X, one(t, c, "Week 52").at.X
	for j, s := range v.Series {
		for i, e := range s.Estimates {
			x := between(v.Days[i], 0, 364, first, last) + slotWidth*vg.Length(j-1)
			if p := (vg.Point{X: x, Y: between(e.Value, 0, 20, zero, twenty)}); e.Value == e.Value && !hasMarker(c, j, p) {
				t.Errorf("series %d has no marker at %v", j, p)
			}
		}
		bars := 0
		for _, e := range s.Estimates {
			if e.Lower == e.Lower {
				bars++
			}
		}
		got := 0
		for _, p := range strokes(c, colour(j), 0.8) { // markers have strokes too
			if b := bounds(p); same(b.Min.X, b.Max.X) {
				got++
			}
		}
		if got != bars {
			t.Errorf("series %d has %d bars, want %d", j, got, bars)
		}
	}
	if got := len(points(strokes(c, colour(1), lineWidth)[1])); got != 2 { // the first is of the legend
		t.Errorf("the line with a gap has %d points, want 2: the last stands alone", got)
	}
	if slices.ContainsFunc(strings.Split(draw(t, v).Text(), "."), func(s string) bool { return strings.Contains(s, "evenly") }) {
		t.Error("visits with room stand evenly")
	}
	one(t, draw(t, crowdedVisits()).canvas, evenNote)
	if text := draw(t, v).Text(); !strings.Contains(text, "Week 12: Normal 31 (26 to 36), n 101; Pronated 38 (30 to 46), n 30;") {
		t.Errorf("text %q", text)
	}
}

func TestVisitsRefused(t *testing.T) {
	for name, change := range map[string]func(v *Visits){
		"estimates and": func(v *Visits) { v.Series[0].Estimates = v.Series[0].Estimates[:2] },
		"no name":       func(v *Visits) { v.Series[0].Name = "" },
		"3 days":        func(v *Visits) { v.Days = v.Days[:3] },
		"outside":       func(v *Visits) { v.Series[0].Estimates[0].Lower = 60 },
		"number up to":  func(v *Visits) { v.Series[0].Estimates[0].Upper = inf },
	} {
		v := sampleVisits()
		change(&v)
		if _, err := v.Draw(); err == nil || !strings.Contains(err.Error(), name) {
			t.Errorf("%s: %v", name, err)
		}
	}
	for _, v := range []Visits{{}, {Visits: []string{"a"}, Series: []VisitSeries{{Estimates: []stats.Estimate{est(nan, nan, nan)}}}}} {
		if _, err := v.Draw(); !errors.Is(err, ErrNoData) {
			t.Errorf("nothing to draw: %v", err)
		}
	}
	many := sampleVisits()
	many.Series = slices.Repeat(many.Series, 9)
	if _, err := many.Draw(); !errors.Is(err, ErrNoRoom) {
		t.Errorf("27 series: %v", err)
	}
}
