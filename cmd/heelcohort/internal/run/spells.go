package run

import (
	"cmp"
	"math"
	"slices"
)

// An ill is a row of onsets: from the day of an onset to the day that ended it.
type ill struct {
	row      int
	from, to float64 // to is never before from
	over     bool    // the symptoms were over on day to; else they may have gone on
}

// A bout is a spell of one child: rows that no gap parts.
type bout struct {
	ill
	rows int
}

// spellsOf joins a child's rows into spells, in order. A row begins a new one
// if it begins after the day on which the rows before were over, and at least
// gap days later. A spell of which a row was not seen to be over has no end that
// a gap could be counted from: unless closed, where its last day is taken, later
// rows are no spells, and are counted as unknown.
func spellsOf(rows []ill, gap float64, closed bool) (spells []bout, unknown int) {
	rows = slices.Clone(rows)
	slices.SortStableFunc(rows, func(a, b ill) int { return cmp.Compare(a.from, b.from) })
	for _, r := range rows {
		last := len(spells) - 1
		if last < 0 {
			spells = append(spells, bout{r, 1})
			continue
		}
		open := &spells[last]
		within := r.from <= open.to || r.from-open.to < gap
		switch {
		case within:
			open.rows++
			open.to = math.Max(open.to, r.to)
			open.over = open.over && r.over
		case !open.over && !closed:
			unknown++
		default:
			spells = append(spells, bout{r, 1})
		}
	}
	return spells, unknown
}
