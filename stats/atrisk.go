package stats

import (
	"fmt"
	"math"
	"slices"
)

// Person-time at risk of one child.
//
// Quantity: the stretches of the observed time in which a new episode could
// have been counted, by group, age and calendar band; the onsets that count;
// and for all other time and onsets the first reason why not.
//
// Clocks. First episodes: at risk until the first onset; a child with an onset
// before its first observed day is not at risk at all. All episodes: at risk
// except, where Spells, within [onset, end) of every episode and within the
// symptom-free gap [end, end + Gap) after it; an onset there belongs to the same
// spell and is no event. An episode without an end runs to the end of
// observation. Heels: each heel of the child has a clock of its own, so that a
// day or an hour observed counts for each heel that is at risk.
//
// Conventions. Intervals, episodes, gaps, windows and bands hold their first
// day and not their last; only the day on which an interval ends is still its
// own for an onset on it. Amounts are spread evenly over the days of their
// interval. Days that several rows of a child cover are counted once in Time.
//
// Exactness: Time.Days is exact, so In equals AtRisk plus all of Removed to the
// last digit. Amounts are sums of doubles.
//
// Worked example. A child is in football from day 0 to 100 (50 hours) and in
// swimming from day 80 to 120 (20 hours); it has an episode from day 30 to 50,
// the gap is 14 days, and a second episode has its onset on day 60 and its end
// on day 70. All episodes: 120 days are observed (80 to 100 once), 70 hours.
// Days 30–50 and 60–70 are within an episode: 30 days, 15 hours. Of the gaps,
// 50–64 and 70–84, the days 50–60 and 70–84 are not within an episode: 24 days;
// 5 + 7 hours of football and, from day 80, 2 of swimming. At risk remain days
// 0–30 and 84–120: 66 days; 15 + 8 hours of football and 18 of swimming. The
// onset of day 30 is an event, that of day 60 belongs to its spell.

// An Observed is a row of observed time of a child in a group, such as a sport;
// a negative group is missing.
type Observed struct {
	Interval
	Group int
}

// An Episode is one of a child: it has its onset in a group and ends on a day,
// NaN where it is unfinished. Heel matters where each heel has its clock.
type Episode struct {
	Onset, End float64
	Group      int
	Heel       int
}

// A Child is what was observed of one child, and the study days on which its
// bands begin.
type Child struct {
	Observed []Observed
	Episodes []Episode
	// Ages are the days on which the child reaches the bounds of the age
	// bands, Calendar those on which seasons start, both ascending: band i is
	// from day i up to day i+1, and what lies before the first or after the last
	// is not at risk. The last may be +Inf. None: one band, 0, without end.
	Ages, Calendar []float64
}

// RiskRules say which time is at risk. The zero value counts every onset, and
// takes all observed time as at risk.
type RiskRules struct {
	First  bool    // first episodes only
	Spells bool    // time within episodes and the gap after them is not at risk
	Gap    float64 // days free of symptoms after an end before a new spell
	Heels  int     // clocks of a child, one a heel; 0: one for the child
	// Window is the part of the study days that is studied; its amount does
	// not matter, its ends may be infinite, and [0, 0) stands for all.
	Window Interval
}

// Time is person-time: calendar days, those that several rows of a child share
// once, and amounts, each row's own. In several clocks both count for each.
type Time struct {
	Days   DayCount
	Amount Sum
}

// A RiskPiece is time at risk within one cell and clock. Its amount is written
// out: the days themselves for rows without one.
type RiskPiece struct {
	Interval
	Group, Age, Calendar, Heel int
}

// An Onset says what became of an episode: an event of its bands, or why not.
type Onset struct {
	Reason        Reason
	Age, Calendar int
}

// A RiskTime is the account of one child.
type RiskTime struct {
	Pieces     []RiskPiece // by heel, then as the rows stand, then by day
	Onsets     []Onset     // one for each episode
	In, AtRisk Time
	Removed    [reasons]Time
	Excluded   [reasons]int // clocks never at risk: PrevalentAtEntry and EarlierEpisode
	Differ     int          // onsets that share their day with one of another group
}

// AtRisk takes a child's observed time apart. Onsets that are not finite, ends
// before their onset, bands out of order and impossible intervals are the
// caller's mistake.
func AtRisk(c Child, rules RiskRules) RiskTime {
	c.check(rules)
	t := RiskTime{Onsets: make([]Onset, len(c.Episodes))}
	for heel := range max(1, rules.Heels) {
		k := clock{child: &c, rules: rules, time: &t, heel: heel}
		k.run()
	}
	for i, e := range c.Episodes {
		if rules.Heels > 0 && (e.Heel < 0 || e.Heel >= rules.Heels) {
			t.Onsets[i] = Onset{Reason: HeelMissing}
		}
	}
	return t
}

func (c *Child) check(rules RiskRules) {
	for _, o := range c.Observed {
		o.check()
	}
	for _, e := range c.Episodes {
		if !finite(e.Onset) || e.End < e.Onset {
			panic(fmt.Sprintf("stats: episode from day %v to day %v, expected days in order", e.Onset, e.End))
		}
	}
	for _, days := range [][]float64{c.Ages, c.Calendar} {
		if !slices.IsSorted(days) || len(days) == 1 || slices.ContainsFunc(days, math.IsNaN) {
			panic(fmt.Sprintf("stats: bands from days %v, expected at least two in order", days))
		}
	}
	if !(rules.Gap >= 0) || !(rules.Window.From <= rules.Window.To) {
		panic(fmt.Sprintf("stats: gap of %v days, window from day %v to %v, expected a gap of at least 0 and days in order", rules.Gap, rules.Window.From, rules.Window.To))
	}
}

// inWindow is whether a day is studied.
func (r *RiskRules) inWindow(day float64) bool {
	return !r.windowed() || r.Window.From <= day && day < r.Window.To
}

func (r *RiskRules) windowed() bool { return r.Window.From != 0 || r.Window.To != 0 }

// add adds rows of one clock.
func (t *Time) add(rows []Observed) {
	intervals := make([]Interval, len(rows))
	for i, o := range rows {
		intervals[i] = o.Interval
		t.Amount.Add(o.Total())
	}
	t.Days = t.Days.Plus(countDays(intervals))
}

// Add adds the time of another child.
func (t *Time) Add(u Time) {
	t.Days = t.Days.Plus(u.Days)
	t.Amount.Add(u.Amount.Total())
}

// Of is the time in days, or as an amount.
func (t Time) Of(days bool) float64 {
	if days {
		return t.Days.Days()
	}
	return t.Amount.Total()
}
