package stats

import (
	"fmt"
	"math"
	"testing"
)

// worked is the child of the worked example in atrisk.go.
func worked() Child {
	return Child{
		Observed: []Observed{{Interval{0, 100, 50}, 0}, {Interval{80, 120, 20}, 1}},
		Episodes: []Episode{{Onset: 30, End: 50}, {Onset: 60, End: 70, Heel: 1}},
	}
}

func ExampleAtRisk() {
	c := worked()
	c.Calendar = []float64{0, 90, math.Inf(1)} // seasons start on days 0 and 90
	t := AtRisk(c, RiskRules{Spells: true, Gap: 14})
	for _, p := range t.Pieces {
		fmt.Printf("sport %d, season %d: day %.0f to %.0f, %.1f hours\n", p.Group, p.Calendar, p.From, p.To, p.Amount)
	}
	for _, o := range t.Onsets {
		fmt.Println("onset:", o.Reason)
	}
	fmt.Printf("%.0f days = %.0f at risk + %.0f within episodes + %.0f within gaps\n", t.In.Of(true), t.AtRisk.Of(true),
		t.Removed[WithinEpisode].Of(true), t.Removed[WithinGap].Of(true))
	// Output:
	// sport 0, season 0: day 0 to 30, 15.0 hours
	// sport 0, season 0: day 84 to 90, 3.0 hours
	// sport 0, season 1: day 90 to 100, 5.0 hours
	// sport 1, season 0: day 84 to 90, 3.0 hours
	// sport 1, season 1: day 90 to 120, 15.0 hours
	// onset: counted
	// onset: within the symptom-free gap
	// 120 days = 66 at risk + 30 within episodes + 24 within gaps
}

// The worked example under every clock.
//
// First episodes: days 0–30 and 15 hours of football are at risk; 90 days and
// 35 + 20 hours come after. A gap of 10 days: the gaps are days 50–60 and 70–80,
// 10 hours of football, and the onset on day 60 begins a new spell. Each heel:
// of 120 days and 70 hours, the left heel loses days 30–50 and the gap to 64, 34
// days and 17 hours of football, the right heel days 60–70 and the gap to 84, 24
// days, 12 hours of football and 2 of swimming. The window from day 40 to 90
// leaves out 70 days: 40 and 10 days of football, 20 + 5 hours, and 30 days of
// swimming, 15 hours; in it 40–50 and 60–70 are within an episode, 50–60 and
// 70–84 within a gap, and 84–90 at risk, 3 hours in each sport.
func TestAtRiskByHand(t *testing.T) {
	for _, c := range []struct {
		name        string
		rules       RiskRules
		days, hours float64
		in, hoursIn float64
		events      int
		reasons     map[Reason][2]float64
	}{
		{"every onset", RiskRules{}, 120, 70, 120, 70, 2, nil},
		{"first", RiskRules{First: true}, 30, 15, 120, 70, 1, map[Reason][2]float64{AfterFirst: {90, 55}}},
		{"spells", RiskRules{Spells: true, Gap: 14}, 66, 41, 120, 70, 1, map[Reason][2]float64{WithinEpisode: {30, 15}, WithinGap: {24, 14}}},
		{"no gap", RiskRules{Spells: true}, 90, 55, 120, 70, 2, map[Reason][2]float64{WithinEpisode: {30, 15}}},
		{"a gap that just ends", RiskRules{Spells: true, Gap: 10}, 70, 45, 120, 70, 2, map[Reason][2]float64{WithinEpisode: {30, 15}, WithinGap: {20, 10}}},
		{"heels", RiskRules{Spells: true, Gap: 14, Heels: 2}, 86 + 96, 53 + 56, 240, 140, 2, map[Reason][2]float64{WithinEpisode: {30, 15}, WithinGap: {28, 16}}},
		{"window", RiskRules{Spells: true, Gap: 14, Window: Interval{From: 40, To: 90}}, 6, 6, 120, 70, 0, map[Reason][2]float64{
			OutsideWindow: {70, 20 + 5 + 15}, WithinEpisode: {20, 10}, WithinGap: {24, 14},
		}},
	} {
		got := AtRisk(worked(), c.rules)
		events := 0
		for _, o := range got.Onsets {
			if o.Reason == Counted {
				events++
			}
		}
		if got.AtRisk.Of(true) != c.days || !near(got.AtRisk.Of(false), c.hours, 1e-12) || events != c.events {
			t.Errorf("%s: %v days, %v hours, %d events; want %v, %v, %d", c.name, got.AtRisk.Of(true), got.AtRisk.Of(false), events, c.days, c.hours, c.events)
		}
		if got.In.Of(true) != c.in || got.In.Of(false) != c.hoursIn {
			t.Errorf("%s: %v days and %v hours in, want %v and %v", c.name, got.In.Of(true), got.In.Of(false), c.in, c.hoursIn)
		}
		for r, lost := range got.Removed {
			if want := c.reasons[Reason(r)]; lost.Of(true) != want[0] || !near(lost.Of(false), want[1], 1e-12) {
				t.Errorf("%s, %v: %v days and %v hours, want %v", c.name, Reason(r), lost.Of(true), lost.Of(false), want)
			}
		}
	}
}

// Who is prevalent at entry, and what then counts.
func TestAtRiskPrevalent(t *testing.T) {
	season := []Observed{{Interval{0, 100, math.NaN()}, 0}}
	none := math.NaN()
	for _, c := range []struct {
		name     string
		episodes []Episode
		rules    RiskRules
		days     float64
		reasons  []Reason
	}{
		{"open at entry, first", []Episode{{Onset: -10, End: 5}}, RiskRules{First: true, Spells: true}, 0, []Reason{PrevalentAtEntry}},
		{"ended by entry, first", []Episode{{Onset: -10, End: 0}}, RiskRules{First: true, Spells: true}, 0, []Reason{EarlierEpisode}},
		{"first without ends", []Episode{{Onset: -10, End: none}, {Onset: 5, End: none}}, RiskRules{First: true}, 0, []Reason{EarlierEpisode, EarlierEpisode}},
		{"open at entry, all", []Episode{{Onset: -10, End: 5}, {Onset: 30, End: 40}}, RiskRules{Spells: true, Gap: 7}, 100 - 12 - 17, []Reason{PrevalentAtEntry, Counted}},
		{"gap at entry", []Episode{{Onset: -10, End: -2}, {Onset: 3, End: 4}}, RiskRules{Spells: true, Gap: 7}, 100 - 11, []Reason{OutsideObservation, WithinGap}},
		{"unfinished", []Episode{{Onset: 60, End: none}, {Onset: 70, End: 80}}, RiskRules{Spells: true}, 60, []Reason{Counted, WithinEpisode}},
		{"unknown heel", []Episode{{Onset: 60, End: 70, Heel: -1}}, RiskRules{Spells: true, Heels: 2}, 200, []Reason{HeelMissing}},
		{"both heels on a day", []Episode{{Onset: 60, End: 60, Group: -1}, {Onset: 60, End: 65}}, RiskRules{Spells: true}, 95, []Reason{SameDay, Counted}},
		{"the day observation ends", []Episode{{Onset: 100, End: none}}, RiskRules{Spells: true}, 100, []Reason{Counted}},
		{"after it", []Episode{{Onset: 101, End: none}}, RiskRules{Spells: true}, 100, []Reason{OutsideObservation}},
	} {
		got := AtRisk(Child{Observed: season, Episodes: c.episodes}, c.rules)
		if got.AtRisk.Of(true) != c.days {
			t.Errorf("%s: %v days, want %v", c.name, got.AtRisk.Of(true), c.days)
		}
		for i, o := range got.Onsets {
			if o.Reason != c.reasons[i] {
				t.Errorf("%s: onset %d is %v, want %v", c.name, i, o.Reason, c.reasons[i])
			}
		}
	}
	// Three hours booked on the last day alone, which an unfinished episode holds.
	last := Child{Observed: []Observed{{Interval{9, 9, 3}, 0}}, Episodes: []Episode{{Onset: 5, End: none}}}
	if got := AtRisk(last, RiskRules{Spells: true}); got.AtRisk.Of(false) != 0 || got.Removed[WithinEpisode].Of(false) != 3 {
		t.Errorf("hours of a last day: %v at risk", got.AtRisk.Of(false))
	}
	// A gap that runs to day 5 after entry on day 0.
	if got := AtRisk(Child{Observed: season, Episodes: []Episode{{Onset: -10, End: -2}}}, RiskRules{Spells: true, Gap: 7}).Removed[WithinGap]; got.Of(true) != 5 {
		t.Errorf("a gap of %v days at entry, want 5", got.Of(true))
	}
}

func TestAtRiskRefuses(t *testing.T) {
	row := []Observed{{Interval{0, 1, 1}, 0}}
	panics(t, "days in order", func() { AtRisk(Child{Observed: []Observed{{Interval{2, 1, 1}, 0}}}, RiskRules{}) })
	panics(t, "days in order", func() { AtRisk(Child{Episodes: []Episode{{Onset: 2, End: 1}}}, RiskRules{}) })
	panics(t, "days in order", func() { AtRisk(Child{Episodes: []Episode{{Onset: math.NaN()}}}, RiskRules{}) })
	panics(t, "at least two in order", func() { AtRisk(Child{Observed: row, Ages: []float64{3}}, RiskRules{}) })
	panics(t, "at least two in order", func() { AtRisk(Child{Observed: row, Calendar: []float64{3, 2}}, RiskRules{}) })
	panics(t, "gap", func() { AtRisk(Child{Observed: row}, RiskRules{Gap: -1}) })
	panics(t, "gap", func() { AtRisk(Child{Observed: row}, RiskRules{Window: Interval{From: 2, To: 1}}) })
	panics(t, "finite study day", func() { AtRisk(Child{Observed: []Observed{{Interval{0, 1e300, 1}, 0}}}, RiskRules{}) })
}

// Fractions that plain sums of doubles round are exact.
func TestDayCount(t *testing.T) {
	var sum DayCount
	for _, x := range []float64{1e15, 0.1, -1e15, -0.1, 255.675, -0.375, 2.5} {
		sum = sum.Plus(dayCount(x))
	}
	if want := dayCount(255.675).Plus(dayCount(2.125)); sum != want || sum.Days() != 257.8 {
		t.Errorf("sum %v (%v days), want %v", sum, sum.Days(), want)
	}
	if d := dayCount(-2.25); d.Days() != -2.25 || d.Plus(dayCount(2.25)) != (DayCount{}) {
		t.Errorf("−2.25 is %v", d)
	}
	if got := Reason(99).String() + OutsideAges.String(); got != "unknown reasonoutside the age bands" || len(Reasons()) != int(reasons) {
		t.Errorf("words %q of %d reasons", got, len(Reasons()))
	}
}
