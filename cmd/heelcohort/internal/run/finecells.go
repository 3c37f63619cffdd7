package run

import (
	"math"
	"slices"
)

// fineCells are pieces of person-time cut further, with the events among them.
// An event belongs to the piece it falls in; where the child has no time there
// in the cell, as on the day its time ends or begins, to the nearest of its
// pieces of the cell that has some, the earlier of two.
type fineCells struct {
	out     *persontime
	ofChild map[int][]int // pieces
}

// add cuts a part of a piece out, with its place among the finer cells.
func (f *fineCells) add(q piece, from, to, amount float64, slot int) {
	q.from, q.to, q.amount = from, to, amount
	q.at = append(slices.Clone(q.at), slot)
	if f.ofChild == nil {
		f.ofChild = map[int][]int{}
	}
	f.ofChild[q.child] = append(f.ofChild[q.child], len(f.out.pieces))
	f.out.pieces = append(f.out.pieces, q)
}

// place gives an event its finer cell, once all pieces are there.
func (f *fineCells) place(e event, slot int) {
	nearest, distance := slot, math.Inf(1)
	for _, i := range f.ofChild[e.child] {
		q := f.out.pieces[i]
		last := len(q.at) - 1
		if !(q.amount > 0) || !slices.Equal(q.at[:last], e.at) {
			continue
		}
		away := math.Max(0, math.Max(q.from-e.day, e.day-q.to))
		if q.at[last] == slot {
			away = -1
		}
		if away < distance {
			nearest, distance = q.at[last], away
		}
	}
	e.at = append(slices.Clone(e.at), nearest)
	f.out.events = append(f.out.events, e)
}
