package stats

import (
	"fmt"
	"math"
	"slices"
)

// Losses are the episodes of a burden: slices of equal length.
type Losses struct {
	Child      []int     // of the episode: an index of the children
	Days       []float64 // days lost; those so far where unfinished
	Unfinished []bool    // whether more days may have followed; nil: none
}

// A BurdenLimit is a way to make the limits of a burden.
type BurdenLimit int

const (
	// BurdenBootstrap resamples children and takes percentiles; it is the
	// default.
	BurdenBootstrap BurdenLimit = iota
	// BurdenLog is symmetric on the log scale with the linearised variance of
	// a ratio. It knows no horizon.
	BurdenLog
)

// BurdenOptions are the choices of Burden; the zero value is a level of 0.95, a
// burden per one unit of person-time, the days observed, and limits by the
// bootstrap.
type BurdenOptions struct {
	Level      float64 // confidence level; 0 means 0.95
	Per        float64 // person-time the burden is expressed per; 0 means 1
	Horizon    float64 // days an episode counts for at most, unfinished ones estimated; 0: the days observed
	Limits     BurdenLimit
	Replicates int    // of the bootstrap; 0 means 2000
	Seed       uint64 // of the bootstrap
}

// fewWithLoss is the number of children with days lost below which percentile
// limits are known to be too narrow.
const fewWithLoss = 10

// Burden is days lost over person-time. personTime has the person-time of each
// child; a child may have any number of episodes, which need not be
// independent. With D the days lost and T the person-time of all children,
//
//	burden = Per D/T
//
// Days of unfinished episodes are those so far, so that the burden is a lower
// bound when there are any: a warning says how many. With a Horizon h, D is
// instead the number of episodes times the Kaplan-Meier mean of their days,
// finished and censored, restricted to h: days beyond h count for nothing, and
// an episode that was cut short counts as those did that lasted as long. That
// takes the end of observation to tell nothing of the days still to come.
//
// Limits are percentiles of the bootstrap over children, person-time and
// episodes of a child together; see ClusterBootstrap. SE is the standard
// deviation of the replicates. With BurdenLog they are burden exp(±z SE), where
//
//	SE² = C/(C−1) Σ (d_i − (D/T) t_i)² / D²
//
// over the C children with t_i person-time and d_i days lost. Children with
// neither person-time nor an episode are left out.
//
// Where no day was lost the burden is 0 and has no limits: neither way knows
// anything of them. It returns ErrNoPersonTime where the person-time is not
// positive, ErrNotFinite and ErrNegative for days or person-time that are not or
// below 0, ErrTooFewClusters for a single child, ErrNoData with a horizon and no
// episode, and ErrBeyondData where no episode was followed up to the horizon.
//
// References: Bahr R, Clarsen B, Ekstrand J. Why we should focus on the burden
// of injuries and illnesses, not just their incidence. Br J Sports Med
// 2018;52:1018-1021. Efron B, Tibshirani RJ. An Introduction to the Bootstrap.
// Chapman & Hall, 1993. Cochran WG. Sampling Techniques, 3rd ed. Wiley, 1977,
// sec. 6.3 (variance of a ratio).
func Burden(personTime []float64, l Losses, opts BurdenOptions) (Estimate, error) {
	const measure = "burden"
	per := ratePer(opts.Per)
	e := Estimate{
		Measure: measure, Lower: math.NaN(), Upper: math.NaN(), SE: math.NaN(), Level: confidenceLevel(opts.Level), P: math.NaN(),
	}
	m, err := newLossModel(personTime, l, opts)
	if err != nil {
		return Estimate{}, fmt.Errorf("%s: %w", measure, err)
	}
	once := slices.Repeat([]int{1}, len(m.time))
	value := m.ratio(once)
	if math.IsNaN(value) {
		return Estimate{}, fmt.Errorf("%s: %w (%g)", measure, ErrBeyondData, opts.Horizon)
	}
	e.Value = per * value
	if n := m.unfinished; n > 0 && opts.Horizon == 0 {
		e.Warnings = append(e.Warnings, Warning{"unfinished", fmt.Sprintf(
			"%d of %d episodes were not finished: their days so far are counted, and the burden is a lower bound.", n, len(m.losses))})
	}
	if value == 0 {
		e.Method = "none"
		e.Warnings = append([]Warning{{"limit-not-estimable", "No day was lost: limits are not estimable."}}, e.Warnings...)
		return e, nil
	}
	if opts.Limits == BurdenLog {
		e.Method = "limits on the log scale, linearised, robust to dependence within children"
		if e.SE, err = m.logError(value); err != nil {
			return Estimate{}, fmt.Errorf("%s: %w", measure, err)
		}
		z := criticalZ(e.Level)
		e.Lower, e.Upper = e.Value*math.Exp(-z*e.SE), e.Value*math.Exp(z*e.SE)
		return e, nil
	}
	b, err := ClusterBootstrap(len(m.time), m.ratio, BootstrapOptions{Level: opts.Level, Replicates: opts.Replicates, Seed: opts.Seed})
	if err != nil {
		return Estimate{}, fmt.Errorf("%s: %w", measure, err)
	}
	e.Method = fmt.Sprintf("percentiles of %d bootstrap resamples of children", b.Replicates)
	e.Lower, e.Upper, e.SE = per*b.Lower, per*b.Upper, per*b.SE
	if math.IsNaN(b.Lower) {
		e.Warnings = append(b.Warnings, e.Warnings...)
	} else {
		e.Warnings = append(e.Warnings, b.Warnings...)
	}
	if m.withLoss < fewWithLoss {
		e.Warnings = append(e.Warnings, Warning{"few-with-loss", fmt.Sprintf(
			"Only %d children lost days, fewer than %d: percentile limits are likely to be too narrow.", m.withLoss, fewWithLoss)})
	}
	return e, nil
}

// A loss is one episode of a lossModel.
type loss struct {
	child    int
	days     float64
	finished bool
}

// A lossModel holds the children that count and their episodes.
type lossModel struct {
	time       []float64
	losses     []loss // with a horizon in order of days, finished ones first
	days       []float64
	horizon    float64
	unfinished int
	withLoss   int // children who lost days
}

func newLossModel(personTime []float64, l Losses, opts BurdenOptions) (*lossModel, error) {
	if len(l.Child) != len(l.Days) || l.Unfinished != nil && len(l.Unfinished) != len(l.Days) {
		panic(fmt.Sprintf("stats: %d children, %d days lost, %d ends", len(l.Child), len(l.Days), len(l.Unfinished)))
	}
	if opts.Horizon != 0 {
		checkHorizon(opts.Horizon)
		if opts.Limits == BurdenLog {
			panic("stats: a burden with a horizon has limits by the bootstrap only")
		}
	}
	has := make([]bool, len(personTime))
	var wrong, negative []int
	for i, days := range l.Days {
		if who := l.Child[i]; who < 0 || who >= len(has) {
			panic(fmt.Sprintf("stats: child %d of episode %d, expected 0 to %d", who, i+1, len(has)-1))
		}
		has[l.Child[i]] = true
		if !finite(days) {
			wrong = append(wrong, i)
		}
		if days < 0 {
			negative = append(negative, i)
		}
	}
	switch {
	case wrong != nil:
		return nil, fmt.Errorf("days lost: %w: %d of %d episodes (%s)", ErrNotFinite, len(wrong), len(l.Days), firstRows(wrong))
	case negative != nil:
		return nil, fmt.Errorf("days lost: %w: %d of %d episodes (%s)", ErrNegative, len(negative), len(l.Days), firstRows(negative))
	}
	m := &lossModel{horizon: opts.Horizon}
	number := make([]int, len(personTime))
	var total Sum
	for i, t := range personTime {
		if !finite(t) {
			return nil, fmt.Errorf("person-time %g of child %d: %w", t, i+1, ErrNotFinite)
		}
		if t < 0 {
			return nil, fmt.Errorf("person-time %g of child %d: %w", t, i+1, ErrNegative)
		}
		if t > 0 || has[i] {
			number[i] = len(m.time)
			m.time = append(m.time, t)
			total.Add(t)
		}
	}
	if total.Total() == 0 {
		return nil, fmt.Errorf("%d episodes: %w", len(l.Days), ErrNoPersonTime)
	}
	m.days = make([]float64, len(m.time))
	for i, days := range l.Days {
		one := loss{number[l.Child[i]], days, l.Unfinished == nil || !l.Unfinished[i]}
		m.losses = append(m.losses, one)
		m.days[one.child] += days
		if !one.finished {
			m.unfinished++
		}
	}
	for _, d := range m.days {
		if d > 0 {
			m.withLoss++
		}
	}
	if m.horizon > 0 {
		if len(m.losses) == 0 {
			return nil, fmt.Errorf("restricted mean of the days lost: %w", ErrNoData)
		}
		slices.SortStableFunc(m.losses, func(a, b loss) int {
			switch {
			case a.days < b.days || a.days == b.days && a.finished && !b.finished:
				return -1
			case a.days > b.days || a.finished != b.finished:
				return 1
			}
			return 0
		})
	}
	return m, nil
}

// ratio is days lost per person-time when each child counts as often as its
// weight says; NaN where that has no value.
func (m *lossModel) ratio(weight []int) float64 {
	time, lost := 0.0, 0.0
	for i, w := range weight {
		time += float64(float64(w) * m.time[i])
		lost += float64(float64(w) * m.days[i])
	}
	if m.horizon > 0 {
		lost = m.restricted(weight)
	}
	if !(time > 0) {
		return math.NaN()
	}
	return lost / time
}

// restricted is the number of episodes times their restricted mean; NaN where
// the longest are unfinished and shorter than the horizon.
func (m *lossModel) restricted(weight []int) float64 {
	n := 0
	for _, one := range m.losses {
		n += weight[one.child]
	}
	all, left := n, n
	area, at, share := 0.0, 0.0, 1.0
	for i := 0; i < len(m.losses) && left > 0; {
		here := m.losses[i].days
		if here >= m.horizon {
			break
		}
		area += float64(share * (here - at))
		at = here
		done, gone := 0, 0
		for ; i < len(m.losses) && m.losses[i].days == here; i++ {
			w := weight[m.losses[i].child]
			gone += w
			if m.losses[i].finished {
				done += w
			}
		}
		if gone > 0 {
			share *= 1 - float64(done)/float64(left)
			left -= gone
		}
	}
	if left == 0 && share > 0 && all > 0 {
		return math.NaN()
	}
	area += float64(share * (m.horizon - at))
	return float64(float64(all) * area)
}

// logError is the linearised standard error of the log of the ratio.
func (m *lossModel) logError(ratio float64) (float64, error) {
	c := float64(len(m.time))
	if c < 2 {
		return math.NaN(), fmt.Errorf("%w: found %d, expected at least 2", ErrTooFewClusters, len(m.time))
	}
	var squares, days Sum
	for i, d := range m.days {
		residual := d - float64(ratio*m.time[i])
		squares.Add(residual * residual)
		days.Add(d)
	}
	return math.Sqrt(c/(c-1)*squares.Total()) / days.Total(), nil
}
