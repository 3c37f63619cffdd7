package stats

import (
	"fmt"
	"math"
	"slices"
)

// DaysPerYear is the length of a year where ages in years meet study days.
const DaysPerYear = 365.25

// An Interval is a stretch of one child's study days, From included and To not,
// with an amount (hours, sessions) spread evenly over it. An Amount of NaN
// stands for the time itself, To − From. An interval without length keeps an
// amount, at the day From. To before From is the caller's mistake, and so are
// ends that are not finite.
type Interval struct {
	From, To float64
	Amount   float64
}

// A Piece is the part of an interval within one band.
type Piece struct {
	Band     int // as told by the function that made it
	From, To float64
	Amount   float64 // never NaN: the time itself is written out
}

// Days is the length of the interval.
func (iv Interval) Days() float64 { return iv.To - iv.From }

// Total is the amount, or the length for an interval of the time itself.
func (iv Interval) Total() float64 {
	if math.IsNaN(iv.Amount) {
		return iv.Days()
	}
	return iv.Amount
}

func (iv Interval) check() {
	if !finite(iv.From) || !finite(iv.To) || iv.To < iv.From {
		panic(fmt.Sprintf("stats: interval from day %v to day %v, expected finite days in order", iv.From, iv.To))
	}
}

// part is the piece of an interval between two days within it, with its share
// of the amount.
func (iv Interval) part(from, to float64) Interval {
	if from == iv.From && to == iv.To || math.IsNaN(iv.Amount) {
		return Interval{from, to, iv.Amount}
	}
	return Interval{from, to, iv.Amount * ((to - from) / iv.Days())}
}

// Clip returns the part of the interval from day entry up to day exit, with its
// share of the amount; ok is false when there is none.
func (iv Interval) Clip(entry, exit float64) (clipped Interval, ok bool) {
	iv.check()
	if iv.Days() == 0 {
		return iv, entry <= iv.From && iv.From < exit
	}
	from, to := math.Max(iv.From, entry), math.Min(iv.To, exit)
	if !(from < to) {
		return Interval{}, false
	}
	return iv.part(from, to), true
}

// Without returns what is left of the interval outside the holes, such as the
// days of current episodes, which are not at risk. The holes may overlap and
// come in any order; their amounts do not matter.
func (iv Interval) Without(holes []Interval) []Interval {
	iv.check()
	var left []Interval
	at := iv.From
	for _, hole := range Union(holes) {
		if iv.Days() == 0 {
			if hole.From <= iv.From && iv.From < hole.To {
				return nil
			}
			continue
		}
		if to := math.Min(hole.From, iv.To); at < to {
			left = append(left, iv.part(at, to))
		}
		at = math.Max(at, hole.To)
	}
	if at < iv.To || iv.Days() == 0 {
		left = append(left, iv.part(at, iv.To))
	}
	return left
}

// SplitAt cuts the interval at days, which need no order; days outside it cut
// nothing. Each piece has the amount that its share of the days gives it, so
// that the amounts add up to that of the interval. Piece.Band counts the days
// of the list at or before the piece: with the starts of seasons, 0 is before
// the first of them.
func (iv Interval) SplitAt(days []float64) []Piece {
	if !slices.IsSorted(days) {
		days = slices.Clone(days)
		slices.Sort(days)
	}
	var pieces []Piece
	iv.splitAt(days, func(p Piece) { pieces = append(pieces, p) })
	return pieces
}

// splitAt hands on the pieces of SplitAt, for days in order.
func (iv Interval) splitAt(days []float64, add func(Piece)) {
	iv.check()
	band := 0
	for band < len(days) && days[band] <= iv.From {
		band++
	}
	from := iv.From
	for _, day := range days[band:] {
		if day >= iv.To {
			break
		}
		if day > from {
			add(iv.piece(band, from, day))
		}
		from = day
		band++
	}
	add(iv.piece(band, from, iv.To))
}

func (iv Interval) piece(band int, from, to float64) Piece {
	return Piece{band, from, to, iv.part(from, to).Total()}
}

// Union returns the days that at least one interval covers, as disjoint
// intervals in order, each with the time itself as its amount. Intervals that
// touch are joined. It turns a child's sports, which overlap, into calendar
// time.
func Union(intervals []Interval) []Interval {
	sorted := slices.Clone(intervals)
	for _, iv := range sorted {
		iv.check()
	}
	slices.SortFunc(sorted, func(a, b Interval) int {
		switch {
		case a.From < b.From:
			return -1
		case a.From > b.From:
			return 1
		}
		return 0
	})
	var out []Interval
	for _, iv := range sorted {
		last := len(out) - 1
		switch {
		case iv.Days() == 0:
		case last < 0 || iv.From > out[last].To:
			out = append(out, Interval{iv.From, iv.To, math.NaN()})
		default:
			out[last].To = math.Max(out[last].To, iv.To)
		}
	}
	return out
}
