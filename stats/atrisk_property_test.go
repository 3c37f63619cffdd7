package stats

import (
	"maps"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// sameRisk compares two accounts: days exactly, amounts to rounding.
func sameRisk(t *rapid.T, c, d Child, a, b RiskTime) {
	t.Helper()
	same := func(what any, x, y Time) {
		if x.Days != y.Days || !near(x.Amount.Total(), y.Amount.Total(), 1e-9) {
			t.Fatalf("%v: %v and %v days, %v and %v", what, x.Days.Days(), y.Days.Days(), x.Amount.Total(), y.Amount.Total())
		}
	}
	same("in", a.In, b.In)
	same("at risk", a.AtRisk, b.AtRisk)
	for r := range a.Removed {
		same(Reason(r), a.Removed[r], b.Removed[r])
	}
	days, hours, events := riskCells(c, a)
	days2, hours2, events2 := riskCells(d, b)
	if !maps.Equal(days, days2) || !maps.Equal(events, events2) {
		t.Fatalf("cells %v and %v, events %v and %v", days, days2, events, events2)
	}
	for m := range hours {
		if !near(hours[m], hours2[m], 1e-9) {
			t.Fatalf("cell %v: %v and %v", m, hours[m], hours2[m])
		}
	}
}

// Splitting rows at constant density, and merging them again, changes nothing;
// nor does the order of rows or episodes.
func TestAtRiskRowsProperty(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 3))
		w := randomRiskWalk(r)
		c, rules := w.child(1)
		before := AtRisk(c, rules)
		d := c
		d.Observed = nil
		for _, o := range c.Observed {
			// Cuts anywhere, whole days or not; ends are whole days.
			cuts := []float64{o.From + o.Days()*r.Float64(), o.From + float64(r.IntN(30))}
			for _, p := range o.SplitAt(cuts) {
				d.Observed = append(d.Observed, Observed{Interval{p.From, p.To, p.Amount}, o.Group})
			}
		}
		r.Shuffle(len(d.Observed), func(i, j int) { d.Observed[i], d.Observed[j] = d.Observed[j], d.Observed[i] })
		after := AtRisk(d, rules)
		sameRisk(t, c, d, before, after)
		for i := range before.Onsets {
			if before.Onsets[i] != after.Onsets[i] {
				t.Fatalf("onset %d was %v, is %v", i, before.Onsets[i], after.Onsets[i])
			}
		}
		// Episodes in another order: of several onsets on one day another may
		// stand for the spell if their groups differ.
		if before.Differ == 0 {
			e := d
			e.Episodes = slices.Clone(d.Episodes)
			slices.Reverse(e.Episodes)
			sameRisk(t, d, e, after, AtRisk(e, rules))
		}
	})
}

// More is removed for a longer gap, and a window is never more than all.
func TestAtRiskMonotoneProperty(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := randomRiskWalk(rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 4)))
		c, rules := w.child(1)
		rules.Spells = true
		short := AtRisk(c, rules)
		rules.Gap += 10
		if long := AtRisk(c, rules); long.AtRisk.Of(true) > short.AtRisk.Of(true) {
			t.Fatalf("%v days at risk with a longer gap, %v without", long.AtRisk.Of(true), short.AtRisk.Of(true))
		}
		rules.Spells, rules.Window = false, Interval{}
		whole := AtRisk(c, rules)
		rules.Window = Interval{From: 20, To: 90}
		part := AtRisk(c, rules)
		if !rules.First && part.AtRisk.Of(true) > whole.AtRisk.Of(true) {
			t.Fatalf("%v days within a window, %v without", part.AtRisk.Of(true), whole.AtRisk.Of(true))
		}
	})
}
