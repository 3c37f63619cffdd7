package stats

import (
	"cmp"
	"math"
	"slices"
)

// A riskSpell is a spell of a clock: the episodes, by index, with their onset
// on its first day.
type riskSpell struct {
	onset    float64
	episodes []int
	open     bool // at entry
}

// spells gathers the clock's episodes into spells in order of their onsets.
// Onsets within an earlier episode, or the gap after it, belong to its spell
// and are judged here. Without Spells each onset is one, or for first episodes
// all those of one day.
func (k *clock) spells() []riskSpell {
	var own []int
	for i, e := range k.child.Episodes {
		if k.owns(e) {
			own = append(own, i)
		}
	}
	slices.SortStableFunc(own, func(a, b int) int {
		return cmp.Compare(k.child.Episodes[a].Onset, k.child.Episodes[b].Onset)
	})
	var list []riskSpell
	end, until := math.Inf(-1), math.Inf(-1) // of the episodes before the day, and up to it
	day := math.NaN()
	for _, i := range own {
		e := k.child.Episodes[i]
		if e.Onset != day {
			day, end = e.Onset, until
		}
		last := len(list) - 1
		switch {
		case k.rules.Spells && e.Onset < end:
			k.time.Onsets[i].Reason = WithinEpisode
		case k.rules.Spells && e.Onset < end+k.rules.Gap:
			k.time.Onsets[i].Reason = WithinGap
		case last >= 0 && list[last].onset == day && (k.rules.Spells || k.rules.First):
			list[last].episodes = append(list[last].episodes, i)
		default:
			list = append(list, riskSpell{onset: day, episodes: []int{i}})
		}
		if k.rules.Spells {
			until = max(until, unending(e.End))
			at := &list[len(list)-1]
			at.open = at.open || e.Onset < k.entry && k.entry < unending(e.End)
		}
	}
	return list
}

// unending is the end of an episode, +Inf where it has none.
func unending(end float64) float64 {
	if math.IsNaN(end) {
		return math.Inf(1)
	}
	return end
}

// judge decides on the onsets that begin spells. Of first episodes it gives the
// day on which time at risk stops, +Inf where it does not, or why the clock is
// never at risk.
func (k *clock) judge(spells []riskSpell) (stop float64, excluded Reason) {
	stop = math.Inf(1)
	if len(k.rows) == 0 {
		for _, s := range spells {
			for _, i := range s.episodes {
				k.time.Onsets[i].Reason = k.unobserved(s.onset)
			}
		}
		return stop, Counted
	}
	if k.rules.First && len(spells) > 0 {
		stop = spells[0].onset
		if stop < k.entry {
			excluded = EarlierEpisode
			if slices.ContainsFunc(spells, func(s riskSpell) bool { return s.open }) {
				excluded = PrevalentAtEntry
			}
			for i, e := range k.child.Episodes {
				if k.owns(e) {
					k.time.Onsets[i].Reason = excluded
				}
			}
			return stop, excluded
		}
		for _, s := range spells[1:] {
			for _, i := range s.episodes {
				k.time.Onsets[i].Reason = AfterFirst
			}
		}
		spells = spells[:1]
	}
	for _, s := range spells {
		k.judgeSpell(s)
	}
	return stop, Counted
}

// judgeSpell decides on one spell. Of several onsets on its first day the first
// that can be counted stands for it.
func (k *clock) judgeSpell(s riskSpell) {
	pick := s.episodes[max(0, slices.IndexFunc(s.episodes, func(i int) bool {
		return k.child.observes(k.child.Episodes[i])
	}))]
	differ := false
	for _, i := range s.episodes {
		if i != pick {
			k.time.Onsets[i].Reason = SameDay
			differ = differ || k.child.Episodes[i].Group != k.child.Episodes[pick].Group
		}
	}
	if differ {
		k.time.Differ++
	}
	e, onset := k.child.Episodes[pick], &k.time.Onsets[pick]
	var inAges, inCalendar bool
	onset.Age, inAges = bandOf(k.child.Ages, e.Onset)
	onset.Calendar, inCalendar = bandOf(k.child.Calendar, e.Onset)
	switch {
	case s.open:
		onset.Reason = PrevalentAtEntry
	case !k.rules.inWindow(e.Onset):
		onset.Reason = OutsideWindow
	case e.Group < 0:
		onset.Reason = GroupMissing
	case !k.child.observes(e):
		onset.Reason = OutsideObservation
	case !inAges:
		onset.Reason = OutsideAges
	case !inCalendar:
		onset.Reason = OutsideCalendar
	}
}

// unobserved is why an onset of a clock without any time is not counted.
func (k *clock) unobserved(day float64) Reason {
	if !k.rules.inWindow(day) {
		return OutsideWindow
	}
	return NoObservation
}

// observes reports whether the child has a row of the episode's group on the
// day of its onset, the day on which the row ends among its days.
func (c *Child) observes(e Episode) bool {
	return e.Group >= 0 && slices.ContainsFunc(c.Observed, func(o Observed) bool {
		return o.Group == e.Group && o.From <= e.Onset && e.Onset <= o.To
	})
}
