package stats

import (
	"math"
	"slices"
)

// A clock takes the observed time of one child, or of one of its heels, apart
// step by step: what a step drops has that step's reason.
type clock struct {
	child *Child
	rules RiskRules
	time  *RiskTime
	heel  int

	rows  []Observed // what is left
	entry float64    // first day of it, within the window and with a group

	kept, dropped []Interval // of one row, room that steps share
}

// A division tells what a step keeps of a row and what it drops, appended to
// the two lists.
type division func(o Observed, kept, dropped []Interval) (k, d []Interval)

func dropAll(o Observed, kept, dropped []Interval) (k, d []Interval) {
	return kept, append(dropped, o.Interval)
}

func (k *clock) run() {
	k.rows = k.child.Observed
	k.time.In.add(k.rows)
	if w := k.rules.Window; k.rules.windowed() {
		k.step(OutsideWindow, func(o Observed, kept, dropped []Interval) (_, _ []Interval) {
			return clipped(o.Interval, w.From, w.To, kept, dropped)
		})
	}
	if slices.ContainsFunc(k.rows, func(o Observed) bool { return o.Group < 0 }) {
		k.step(GroupMissing, func(o Observed, kept, dropped []Interval) (_, _ []Interval) {
			if o.Group < 0 {
				return kept, append(dropped, o.Interval)
			}
			return append(kept, o.Interval), dropped
		})
	}
	k.entry = math.Inf(1)
	for _, o := range k.rows {
		k.entry = min(k.entry, o.From)
	}
	spells := k.spells()
	stop, excluded := k.judge(spells)
	switch {
	case excluded != Counted:
		k.time.Excluded[excluded]++
		k.step(excluded, dropAll)
	case !math.IsInf(stop, 1):
		k.step(AfterFirst, func(o Observed, kept, dropped []Interval) (_, _ []Interval) {
			return clipped(o.Interval, math.Inf(-1), stop, kept, dropped)
		})
	}
	if k.rules.Spells {
		k.remove(WithinEpisode, func(e Episode) (from, to float64) { return e.Onset, e.End })
		k.remove(WithinGap, func(e Episode) (from, to float64) { return e.End, e.End + k.rules.Gap })
	}
	k.bands()
}

// clipped appends an interval within two days to what is kept, and what lies
// before and after them to what is dropped.
func clipped(iv Interval, from, to float64, kept, dropped []Interval) (_, _ []Interval) {
	if one, ok := iv.Clip(from, to); ok {
		kept = append(kept, one)
	}
	if one, ok := iv.Clip(math.Inf(-1), from); ok {
		dropped = append(dropped, one)
	}
	if one, ok := iv.Clip(to, math.Inf(1)); ok {
		dropped = append(dropped, one)
	}
	return kept, dropped
}

// step keeps a part of each row and books the rest. Days that another row still
// covers are not lost.
func (k *clock) step(reason Reason, part division) {
	left := make([]Observed, 0, len(k.rows)+2)
	lost := &k.time.Removed[reason]
	any := false
	for _, o := range k.rows {
		k.kept, k.dropped = part(o, k.kept[:0], k.dropped[:0])
		for _, iv := range k.kept {
			left = append(left, Observed{iv, o.Group})
		}
		for _, iv := range k.dropped {
			lost.Amount.Add(iv.Total())
			any = true
		}
	}
	if any { // or else every day is still covered
		lost.Days = lost.Days.Plus(covered(k.rows).Minus(covered(left)))
	}
	k.rows = left
}

func covered(rows []Observed) DayCount {
	var t Time
	t.add(rows)
	return t.Days
}

// remove takes stretches of the clock's episodes out. What has no end ends with
// observation.
func (k *clock) remove(reason Reason, stretch func(Episode) (from, to float64)) {
	last := math.Inf(-1)
	for _, o := range k.rows {
		last = max(last, o.To+1) // an interval without length is on its day
	}
	var holes []Interval
	for _, e := range k.child.Episodes {
		from, to := stretch(e)
		if to = min(unending(to), last); k.owns(e) && from < to {
			holes = append(holes, Interval{From: from, To: to})
		}
	}
	if len(holes) == 0 {
		return
	}
	holes = Union(holes)
	k.step(reason, func(o Observed, kept, dropped []Interval) (_, _ []Interval) {
		for _, hole := range holes {
			if one, ok := o.Clip(hole.From, hole.To); ok {
				dropped = append(dropped, one)
			}
		}
		return append(kept, o.Without(holes)...), dropped
	})
}

// owns is whether an episode is the clock's.
func (k *clock) owns(e Episode) bool { return k.rules.Heels == 0 || e.Heel == k.heel }

// bands cuts what is left into its cells.
func (k *clock) bands() {
	for _, by := range []struct {
		days   []float64
		reason Reason
	}{{k.child.Ages, OutsideAges}, {k.child.Calendar, OutsideCalendar}} {
		if len(by.days) == 0 {
			continue
		}
		k.step(by.reason, func(o Observed, kept, dropped []Interval) (_, _ []Interval) {
			o.splitAt(by.days, func(p Piece) {
				iv := Interval{p.From, p.To, p.Amount}
				if p.Band < 1 || p.Band >= len(by.days) {
					dropped = append(dropped, iv)
				} else {
					kept = append(kept, iv)
				}
			})
			return kept, dropped
		})
	}
	k.time.AtRisk.add(k.rows)
	for _, o := range k.rows {
		o.Amount = o.Total()
		age, _ := bandOf(k.child.Ages, o.From)
		season, _ := bandOf(k.child.Calendar, o.From)
		k.time.Pieces = append(k.time.Pieces, RiskPiece{o.Interval, o.Group, age, season, k.heel})
	}
}

// bandOf is the band of a day, and whether it lies in one.
func bandOf(days []float64, day float64) (band int, ok bool) {
	if len(days) == 0 {
		return 0, true
	}
	band = -1
	for i, from := range days {
		if day >= from {
			band = i
		}
	}
	return band, band >= 0 && band < len(days)-1
}
