package stats

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
)

// ErrEmptyInterval says that a row's event can have happened at no time.
var ErrEmptyInterval = errors.New("an interval that ends before it begins")

// Intervals are rows whose event happened after Left and not after Right: seen
// not to have happened by the visit at Left, and to have by that at Right.
// Right is +Inf where it was never seen to happen, and equal to Left where its
// time is known exactly. Slices of equal length.
type Intervals struct {
	Left, Right []float64
}

// check panics on slices of unequal length and returns an error for rows that
// cannot be analysed.
func (v Intervals) check() error {
	if len(v.Left) != len(v.Right) {
		panic(fmt.Sprintf("stats: %d left and %d right ends", len(v.Left), len(v.Right)))
	}
	if len(v.Left) == 0 {
		return ErrNoData
	}
	var wrong, empty []int
	for i, l := range v.Left {
		switch r := v.Right[i]; {
		case !finite(l) || math.IsNaN(r) || math.IsInf(r, -1):
			wrong = append(wrong, i)
		case r < l:
			empty = append(empty, i)
		}
	}
	if wrong != nil {
		return fmt.Errorf("%w: %d of %d rows (%s)", ErrNotFinite, len(wrong), len(v.Left), firstRows(wrong))
	}
	if empty != nil {
		return fmt.Errorf("%w: %d of %d rows (%s)", ErrEmptyInterval, len(empty), len(v.Left), firstRows(empty))
	}
	return nil
}

// An IntervalCurve is the distribution of a time known to lie in intervals:
// slices of equal length, one entry a region, in order. All that can be told is
// how much probability a region holds: within a region the curve may run
// anywhere between its values at the ends, and outside it is level.
type IntervalCurve struct {
	Left, Right []float64 // the region (Left, Right], or the time Left = Right
	Mass        []float64 // the region's probability; none is 0
	Survival    []float64 // probability of no event by Right[i]
	Beyond      float64   // probability after the last region that ends, of events never seen
	N           int
	Exact       int // rows with an exact time
	Unfinished  int // rows never seen to have the event
	LogLik      float64
	Gap         float64 // the log likelihood is at most this much below its maximum
	Iterations  int
	Warnings    []Warning
}

// intervalGap is the share of the rows by which the log likelihood may lie
// below its maximum.
const intervalGap = 1e-10

const intervalIterations = 20000

// IntervalCensored is the nonparametric estimate of greatest likelihood of the
// distribution of a time known only to lie in intervals. The likelihood is the
// product over rows of the probability of (Left, Right]; only regions where
// some row's left end is next followed by some row's right end can hold any.
// It is maximised over their probabilities p by self-consistency (Turnbull)
// alternating with steps of isotonic regression on the cumulative sums
// (Wellner and Zhan), and then by Newton's method on the regions that hold any,
// until with
//
//	d_j = Σ over rows that include region j of 1/P(row)
//
// no d_j exceeds the number of rows N by more than 1e-10 N. Then, the log
// likelihood being concave, it lies within max d − N of its maximum: that bound
// is Gap. With exact and unfinished rows only it is the Kaplan-Meier estimate.
//
// Visits are taken to tell nothing of the event but whether it has come, and
// rows to be independent. With visits in continuous time the curve has no
// standard errors of the usual kind; IntervalLimits resamples children.
//
// Probability after the last visit of anyone is Beyond. Where the estimate is
// not unique the warning not-unique says so. It returns ErrNoData, ErrNotFinite
// and ErrEmptyInterval for rows that cannot be analysed, ErrNoEvents where no
// event was seen and ErrNotConverged.
//
// Turnbull BW. The empirical distribution function with arbitrarily grouped,
// censored and truncated data. J R Stat Soc B 1976;38:290-295. Gentleman R,
// Geyer CJ. Maximum likelihood for interval censored data: consistency and
// computation. Biometrika 1994;81:618-623. Wellner JA, Zhan Y. A hybrid
// algorithm for computation of the nonparametric maximum likelihood estimator
// from censored data. J Am Stat Assoc 1997;92:945-959.
func IntervalCensored(v Intervals) (IntervalCurve, error) {
	if err := v.check(); err != nil {
		return IntervalCurve{}, fmt.Errorf("interval-censored curve: %w", err)
	}
	return intervalCurve(v, slices.Repeat([]float64{1}, len(v.Left)))
}

// intervalCurve is IntervalCensored with a weight for each row; rows without
// weight do not count.
func intervalCurve(v Intervals, weight []float64) (IntervalCurve, error) {
	c := IntervalCurve{}
	total := 0.0
	for i, w := range weight {
		if w == 0 {
			continue
		}
		total += w
		c.N += int(w)
		switch {
		case v.Left[i] == v.Right[i]:
			c.Exact += int(w)
		case math.IsInf(v.Right[i], 1):
			c.Unfinished += int(w)
		}
	}
	if c.Unfinished == c.N {
		return c, fmt.Errorf("interval-censored curve of %d rows: %w", c.N, ErrNoEvents)
	}
	m := newIntervalModel(v, weight)
	if !m.maximise(total) {
		return c, fmt.Errorf("interval-censored curve: %w after %d iterations", ErrNotConverged, m.iterations)
	}
	c.LogLik, c.Gap, c.Iterations = m.logLik(m.p), m.gap(m.p, total), m.iterations
	left := 1.0
	for j, p := range m.p {
		if p == 0 {
			continue
		}
		if math.IsInf(m.right[j], 1) {
			c.Beyond = p
			continue
		}
		left -= p
		c.Left, c.Right = append(c.Left, m.left[j]), append(c.Right, m.right[j])
		c.Mass, c.Survival = append(c.Mass, p), append(c.Survival, math.Max(0, left))
	}
	if c.Beyond == 0 {
		c.Survival[len(c.Survival)-1] = 0
	}
	if m.several {
		c.Warnings = append(c.Warnings, Warning{"not-unique", "Other distributions over the regions have the same likelihood: one of them is given."})
	}
	return c, nil
}

// At returns the least and the largest probability of no event by time t that
// the curve allows: they differ within a region only. After the last region
// that ends, both are Beyond.
func (c IntervalCurve) At(t float64) (least, largest float64) {
	least, largest = 1, 1
	for j := range c.Mass {
		if t >= c.Right[j] {
			largest = c.Survival[j]
		}
		if t > c.Left[j] || t >= c.Right[j] {
			least = c.Survival[j]
		}
	}
	return least, largest
}

// Quantile is the region in which the curve falls to 1−p or below: the time by
// which a share p of the rows have had the event lies in (from, to]. Where the
// curve never falls so far ok is false.
func (c IntervalCurve) Quantile(p float64) (from, to float64, ok bool) {
	if !(p > 0 && p < 1) {
		panic(fmt.Sprintf("stats: quantile %v outside (0, 1)", p))
	}
	for j, s := range c.Survival {
		if s <= 1-p+quantileSlack {
			return c.Left[j], c.Right[j], true
		}
	}
	return math.NaN(), math.NaN(), false
}

// An intervalModel holds the regions and, for each distinct range of them, the
// weight of its rows.
type intervalModel struct {
	left, right []float64 // of the regions
	rows        []regionRange
	p           []float64
	iterations  int
	several     bool
}

type regionRange struct {
	from, to int // regions from to to, included
	weight   float64
}

// Ends at one time stand in this order: an exact time begins, intervals end,
// others begin after it.
const (
	exactBegins = iota
	ends
	beginsAfter
)

type intervalEnd struct {
	at   float64
	kind int
}

func newIntervalModel(v Intervals, weight []float64) *intervalModel {
	begin := func(i int) intervalEnd {
		if v.Left[i] == v.Right[i] {
			return intervalEnd{v.Left[i], exactBegins}
		}
		return intervalEnd{v.Left[i], beginsAfter}
	}
	before := func(a, b intervalEnd) int { return cmp.Or(cmp.Compare(a.at, b.at), a.kind-b.kind) }
	var all []intervalEnd
	for i, w := range weight {
		if w > 0 {
			all = append(all, begin(i), intervalEnd{v.Right[i], ends})
		}
	}
	slices.SortFunc(all, before)
	m := &intervalModel{}
	var starts, stops []intervalEnd
	for i := 1; i < len(all); i++ {
		if all[i].kind == ends && all[i-1].kind != ends {
			starts, stops = append(starts, all[i-1]), append(stops, all[i])
			m.left, m.right = append(m.left, all[i-1].at), append(m.right, all[i].at)
		}
	}
	at := map[[2]int]int{}
	for i, w := range weight {
		if w == 0 {
			continue
		}
		from, _ := slices.BinarySearchFunc(starts, begin(i), before)
		to, found := slices.BinarySearchFunc(stops, intervalEnd{v.Right[i], ends}, before)
		if !found {
			to--
		}
		k, known := at[[2]int{from, to}]
		if !known {
			k = len(m.rows)
			at[[2]int{from, to}] = k
			m.rows = append(m.rows, regionRange{from, to, 0})
		}
		m.rows[k].weight += w
	}
	m.p = make([]float64, len(m.left))
	for j := range m.p {
		m.p[j] = 1 / float64(len(m.p))
	}
	return m
}

// chances are the probabilities of the rows.
func (m *intervalModel) chances(p []float64) []float64 {
	sums := make([]float64, len(p)+1)
	for j, x := range p {
		sums[j+1] = sums[j] + x
	}
	out := make([]float64, len(m.rows))
	for i, r := range m.rows {
		if r.to-r.from < 64 {
			for _, x := range p[r.from : r.to+1] {
				out[i] += x
			}
			continue
		}
		out[i] = sums[r.to+1] - sums[r.from]
	}
	return out
}

func (m *intervalModel) logLik(p []float64) float64 {
	sum := 0.0
	for i, c := range m.chances(p) {
		sum += m.rows[i].weight * math.Log(c)
	}
	return sum
}

// slopes are the derivatives d of the log likelihood by each region.
func (m *intervalModel) slopes(p []float64) []float64 {
	d := make([]float64, len(p)+1)
	for i, c := range m.chances(p) {
		r := m.rows[i]
		d[r.from] += r.weight / c
		d[r.to+1] -= r.weight / c
	}
	for j := 1; j < len(p); j++ {
		d[j] += d[j-1]
	}
	return d[:len(p)]
}

// gap bounds what the log likelihood lacks to its maximum.
func (m *intervalModel) gap(p []float64, total float64) float64 {
	return math.Max(0, slices.Max(m.slopes(p))-total)
}

// maximise reports whether the optimality conditions are met.
func (m *intervalModel) maximise(total float64) bool {
	for m.iterations = 0; m.iterations < intervalIterations; m.iterations++ {
		d := m.slopes(m.p)
		if slices.Max(d)-total <= 1e-5*total || m.iterations%25 == 24 {
			if m.polish(total) {
				return true
			}
		}
		for j := range m.p {
			m.p[j] *= d[j] / total
		}
		m.isotonic()
	}
	return false
}
