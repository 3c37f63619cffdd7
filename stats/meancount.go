package stats

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// ErrOverlap says that rows of one child are under observation at once.
var ErrOverlap = errors.New("rows of one child overlap")

// CountOptions are the choices of MeanCumulativeCount; the zero value is a
// level of 0.95 and limits on the log scale.
type CountOptions struct {
	Level float64 // confidence level; 0 means 0.95

	// Terminal tells of each row whether the child's Exit ended it for good,
	// so that no event can follow, as giving up the sport does; nil: none did.
	Terminal []bool
}

// A CountCurve is a mean cumulative count: slices of equal length, one entry a
// distinct time at which an event or a terminal exit happened, in order. The
// count is 0 before Time[0] and Count[i] from Time[i] on.
type CountCurve struct {
	Time         []float64
	AtRisk       []int // children just before Time[i]
	Events       []int // at Time[i]
	Ended        []int // terminal exits at Time[i]
	Count        []float64
	SE           []float64 // robust, of Count
	Lower, Upper []float64
	Children     int
	Level        float64
	Method       string // of the limits
	Warnings     []Warning

	last float64 // the last time at which somebody was under observation
}

// MeanCumulativeCount is the mean number of events a child has had by time t,
// for events that recur. With d(s) events and e(s) terminal exits among the
// n(s) children at risk just before s,
//
//	count(t) = Σ over s <= t of S(s−) d(s)/n(s)
//	S(t)     = product over s <= t of 1 − e(s)/n(s)
//
// so that without terminal exits (S = 1) it is the Nelson-Aalen sum of Nelson,
// and with them the count of Cook and Lawless, and Ghosh and Lin, which takes
// children who gave up as having no events afterwards rather than as censored.
// An event at the time of a terminal exit counts. Rows are spells under
// observation, at risk from after Entry up to and including Exit, with an event
// at Exit where Status says so; child numbers the child of each row (any
// numbers). A child may have many rows, which must not overlap; gaps between
// them, such as the days of an episode, are not at risk.
//
// SE comes from the children's influences, so that the events of one child
// may depend on each other in any way: without terminal exits it is the robust
// error of Lawless and Nadeau. Limits are count exp(±z SE/count). Before the
// first event SE is 0 and the limits are NaN. Children are taken to be
// independent, and censoring to tell nothing of events to come.
//
// It returns ErrNoData, ErrEntryAfterExit and ErrNotFinite for rows that cannot
// be analysed, ErrOverlap with the rows concerned, and ErrNoEvents when no
// event happened.
//
// References: Nelson W. Graphical analysis of system repair data. J Qual
// Technol 1988;20:24-35. Lawless JF, Nadeau C. Some simple robust methods for
// the analysis of recurrent events. Technometrics 1995;37:158-168. Ghosh D, Lin
// DY. Nonparametric analysis of recurrent events and death. Biometrics
// 2000;56:554-562.
func MeanCumulativeCount(t Times, child []int, opts CountOptions) (CountCurve, error) {
	c := CountCurve{Level: confidenceLevel(opts.Level), Method: "limits on the log scale, robust to dependence within children"}
	ended := opts.Terminal
	if ended == nil {
		ended = make([]bool, len(child))
	}
	order, children, err := checkChildren("mean cumulative count", t, child, ended)
	if err != nil {
		return c, err
	}
	if !slices.Contains(t.Status, true) {
		return c, fmt.Errorf("mean cumulative count of %d children: %w", children, ErrNoEvents)
	}
	c.Children, c.last = children, slices.Max(t.Exit)
	z := criticalZ(c.Level)
	// Influences of each child on the count and on S, by its number.
	count, free := 0.0, 1.0
	onCount, onFree := make([]float64, children), make([]float64, children)
	risk, events, ends := make([]float64, children), make([]float64, children), make([]float64, children)
	for _, at := range stepTimes(t, ended) {
		clear(risk)
		clear(events)
		clear(ends)
		n, d, e := 0, 0, 0
		for i, who := range order {
			if !(t.entry(i) < at && at <= t.Exit[i]) && !(t.Entry == nil && at == 0 && t.Exit[i] == 0) {
				continue
			}
			risk[who] = 1
			n++
			if at == t.Exit[i] && t.Status[i] {
				events[who]++
				d++
			}
			if at == t.Exit[i] && ended[i] {
				ends[who]++
				e++
			}
		}
		rate, hazard := float64(d)/float64(n), float64(e)/float64(n)
		count += free * rate
		var variance Sum
		for who := range onCount {
			onCount[who] += float64(onFree[who]*rate) + free*(events[who]-float64(risk[who]*rate))/float64(n)
			onFree[who] = float64(onFree[who]*(1-hazard)) - free*(ends[who]-float64(risk[who]*hazard))/float64(n)
			variance.Add(onCount[who] * onCount[who])
		}
		free *= 1 - hazard
		se := math.Sqrt(variance.Total())
		lower, upper := math.NaN(), math.NaN()
		if count > 0 {
			lower, upper = count*math.Exp(-z*se/count), count*math.Exp(z*se/count)
		}
		c.Time, c.AtRisk = append(c.Time, at), append(c.AtRisk, n)
		c.Events, c.Ended = append(c.Events, d), append(c.Ended, e)
		c.Count, c.SE = append(c.Count, count), append(c.SE, se)
		c.Lower, c.Upper = append(c.Lower, lower), append(c.Upper, upper)
	}
	if least, at := smallestAtEvent(c); least < smallRiskSet {
		c.Warnings = append(c.Warnings, Warning{"small-risk-set", fmt.Sprintf(
			"At time %g only %d children are at risk of an event, fewer than %d: the count moves by a large step there.", at, least, smallRiskSet)})
	}
	return c, nil
}

// At returns the count and its limits at a time; ok is false after the last
// exit, where nothing is known.
func (c CountCurve) At(at float64) (count, lower, upper float64, ok bool) {
	if at > c.last {
		return math.NaN(), math.NaN(), math.NaN(), false
	}
	i, found := slices.BinarySearch(c.Time, at)
	if !found {
		i--
	}
	if i < 0 {
		return 0, math.NaN(), math.NaN(), true
	}
	return c.Count[i], c.Lower[i], c.Upper[i], true
}

// smallestAtEvent is the smallest number at risk at a time with events.
func smallestAtEvent(c CountCurve) (least int, at float64) {
	least = math.MaxInt
	for i, d := range c.Events {
		if d > 0 && c.AtRisk[i] < least {
			least, at = c.AtRisk[i], c.Time[i]
		}
	}
	return least, at
}

// stepTimes are the distinct times with an event or a terminal exit, in order.
func stepTimes(t Times, ended []bool) []float64 {
	var times []float64
	for i, exit := range t.Exit {
		if t.Status[i] || ended[i] {
			times = append(times, exit)
		}
	}
	slices.Sort(times)
	return slices.Compact(times)
}

// checkChildren numbers the children from 0 in order of appearance and refuses
// rows that no count can be made of.
func checkChildren(what string, t Times, child []int, ended []bool) (number []int, children int, err error) {
	if len(child) != len(t.Exit) || len(ended) != len(t.Exit) {
		panic(fmt.Sprintf("stats: %d exits, %d child numbers, %d ends", len(t.Exit), len(child), len(ended)))
	}
	if err := t.check(); err != nil {
		return nil, 0, fmt.Errorf("%s: %w", what, err)
	}
	known := map[int]int{}
	number = make([]int, len(child))
	for i, id := range child {
		if _, ok := known[id]; !ok {
			known[id] = len(known)
		}
		number[i] = known[id]
	}
	// In order of entry, a child's row must not begin before the last ended,
	// and nothing follows a terminal exit.
	last := slices.Repeat([]float64{math.Inf(-1)}, len(known))
	over := make([]bool, len(known))
	var overlap, after []int
	for _, i := range t.byEntry() {
		who := number[i]
		switch {
		case t.entry(i) < last[who]:
			overlap = append(overlap, i)
		case over[who]:
			after = append(after, i)
		}
		last[who] = math.Max(last[who], t.Exit[i])
		over[who] = over[who] || ended[i]
	}
	if overlap != nil {
		return nil, 0, fmt.Errorf("%s: %w: %d of %d rows (%s)", what, ErrOverlap, len(overlap), len(child), firstRows(overlap))
	}
	if after != nil {
		return nil, 0, fmt.Errorf("%s: %w: %d of %d rows begin after the child's terminal exit (%s)", what, ErrOverlap, len(after), len(child), firstRows(after))
	}
	return number, len(known), nil
}
