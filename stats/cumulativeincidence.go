package stats

import (
	"fmt"
	"math"
	"slices"
	"sort"
)

// IncidenceOptions are the choices of CumulativeIncidence; the zero value is a
// level of 0.95, log-log limits and independent rows.
type IncidenceOptions struct {
	Level   float64 // confidence level; 0 means 0.95
	Limits  string  // LimitsLogLog (the meaning of ""), LimitsLog or LimitsPlain
	Cluster []int   // cluster of each row, any numbers, for robust errors; nil: rows are independent
}

// CumulativeIncidences are the curves of competing ends: slices of equal
// length, one entry a distinct time of exit, in order. Those by cause have
// index cause−1 first. At every time the incidences and EventFree sum to 1.
type CumulativeIncidences struct {
	Time         []float64
	AtRisk       []int   // just before Time[i]
	Censored     []int   // at Time[i]
	Events       [][]int // by cause, at Time[i]
	EventFree    []float64
	Incidence    [][]float64 // by cause
	SE           [][]float64
	Lower, Upper [][]float64
	N            int
	Clusters     int // 0 without cluster
	Level        float64
	Method       string // of the limits
	Warnings     []Warning
}

// CumulativeIncidence is the probability, by time t, of an end by each cause
// when other causes shut it out,
//
//	F_k(t) = Σ over s <= t of S(s−) d_k(s)/n(s)
//
// with d_k the ends by cause k, n the rows at risk just before s (Entry < s <=
// Exit) and S the Kaplan-Meier probability of no end at all: the estimate of
// Aalen and Johansen. One less the Kaplan-Meier curve that takes other causes
// for censoring is larger: it answers what would happen if they did not exist.
//
// With F the curve at t and d the ends of all causes, its variance is of
// Greenwood's type (Dinse and Larson; Gaynor and others),
//
//	Σ (F − F(s))² d/(n (n−d)) + Σ S(s−)² d_k (n−d_k)/n³ − 2 Σ (F − F(s)) S(s−) d_k/n²
//
// which without late entry is the sum of the rows' squared influences. With
// Cluster it is the sum over clusters of their squared summed influences, so
// that the rows of a cluster, such as the heels of a child, may depend on each
// other in any way. (Others use Aalen's variance, from the martingales, which
// differs in small risk sets.) The limits with z the normal quantile are
//
//	log-log  F^exp(±z SE/(F log F))   never outside [0, 1]
//	log      F exp(±z SE/F)           cut at 1
//	plain    F ± z SE                 cut at 0 and 1
//
// Before the first end by a cause its curve is 0 with SE 0 and limits NaN; where
// all probability has gone to one cause its curve is 1 with SE 0 and limits NaN.
// No data vary there, which is no sign of certainty. Where only one cluster was
// ever at risk at an end, there is no SE and there are no limits.
// Censoring and late entry are taken to tell nothing of the ends. The warnings
// of KaplanMeier on early risk sets apply; few clusters give few-clusters.
//
// It returns ErrNoData, ErrEntryAfterExit and ErrNotFinite for rows that cannot
// be analysed, and ErrTooFewClusters below two. No end at all is not an error:
// the curves stay at 0.
//
// Aalen OO, Johansen S. An empirical transition matrix for non-homogeneous
// Markov chains based on censored observations. Scand J Stat 1978;5:141-150.
// Dinse GE, Larson MG. A note on semi-Markov models for partially censored
// data. Biometrika 1986;73:379-386. Gaynor JJ and others. On the use of
// cause-specific failure and conditional failure probabilities. J Am Stat Assoc
// 1993;88:400-409.
func CumulativeIncidence(t CompetingTimes, causes int, opts IncidenceOptions) (CumulativeIncidences, error) {
	limits := CurveOptions{Level: opts.Level, Limits: opts.Limits}.resolve()
	if opts.Cluster != nil && len(opts.Cluster) != len(t.Exit) {
		panic(fmt.Sprintf("stats: %d cluster numbers for %d rows", len(opts.Cluster), len(t.Exit)))
	}
	if err := t.check(causes); err != nil {
		return CumulativeIncidences{}, fmt.Errorf("cumulative incidence: %w", err)
	}
	c := CumulativeIncidences{
		Events: make([][]int, causes),
		N:      len(t.Exit), Level: limits.Level,
		Method: limits.Limits + " limits, standard error of Greenwood's type",
	}
	var robust *curveInfluence
	if opts.Cluster != nil {
		if c.Clusters = countClusters(opts.Cluster); c.Clusters < 2 {
			return CumulativeIncidences{}, fmt.Errorf("cumulative incidence: %w: found %d, expected at least 2", ErrTooFewClusters, c.Clusters)
		}
		robust = newCurveInfluence(opts.Cluster, len(t.Exit), causes)
		c.Method = limits.Limits + " limits, " + clusterMethod(false)
		c.Warnings = clusterWarnings(c.Clusters)
	}
	order := t.order()
	c.makeRoom(order.distinct, causes)
	free, sums := 1.0, make([]incidenceSums, causes)
	at := 0
	order.steps(causes, func(s competingStep) {
		if robust != nil {
			robust.step(t, s, free, sums)
		}
		n, d := float64(s.n), float64(s.all)
		c.Time[at], c.AtRisk[at], c.Censored[at] = s.at, s.n, len(s.exits)-s.all
		for k := range causes {
			sums[k].add(float64(s.d[k]), d, n, free)
		}
		free *= (n - d) / n
		for k := range causes {
			sum := &sums[k]
			se := math.Sqrt(math.Max(0, sum.variance()))
			if robust != nil {
				se = robust.standardError(robust.variance(k, sum.value))
			}
			if free == 0 && alone(sums, k) {
				sum.value = 1 // whatever rounding says
			}
			if sum.value == 0 || sum.value == 1 {
				se = 0
			}
			c.Events[k][at], c.Incidence[k][at], c.SE[k][at] = s.d[k], sum.value, se
		}
		c.EventFree[at] = free
		at++
	})
	whole := Curve{Time: c.Time, AtRisk: c.AtRisk, Events: make([]int, at), Censored: c.Censored, Survival: c.EventFree, entries: order.entries}
	for _, events := range c.Events {
		for i, d := range events {
			whole.Events[i] += d
		}
	}
	z := criticalZ(limits.Level)
	inChunks(at, func(_, from, to int) {
		for k, f := range c.Incidence {
			se, lower, upper := c.SE[k], c.Lower[k], c.Upper[k]
			for i := from; i < to; i++ {
				if i > from && f[i] == f[i-1] && se[i] == se[i-1] {
					lower[i], upper[i] = lower[i-1], upper[i-1]
					continue
				}
				lower[i], upper[i] = incidenceLimits(f[i], se[i], z, limits.Limits)
			}
		}
	})
	c.Warnings = append(c.Warnings, curveWarnings(whole)...)
	return c, nil
}

// alone reports whether no cause but one has taken any probability.
func alone(sums []incidenceSums, cause int) bool {
	for k, s := range sums {
		if k != cause && s.value > 0 {
			return false
		}
	}
	return true
}

// makeRoom makes the curves' slices, of a number of times.
func (c *CumulativeIncidences) makeRoom(times, causes int) {
	c.Time, c.AtRisk, c.Censored = make([]float64, times), make([]int, times), make([]int, times)
	c.EventFree = make([]float64, times)
	c.Incidence, c.SE = newMatrix(causes, times), newMatrix(causes, times)
	c.Lower, c.Upper = newMatrix(causes, times), newMatrix(causes, times)
	for k := range c.Events {
		c.Events[k] = make([]int, times)
	}
}

// incidenceSums hold a curve and the sums its variance is made of.
type incidenceSums struct {
	value               float64
	a, fa, ffa, b       float64
	crossing, fCrossing float64
}

// add takes one time in: ends by the cause and of all causes among n at risk,
// and the event-free probability just before.
func (s *incidenceSums) add(dk, d, n, free float64) {
	s.value += free * dk / n
	f := s.value
	if d > 0 && d < n {
		a := d / (n * (n - d))
		s.a += a
		s.fa += f * a
		s.ffa += f * f * a
	}
	s.b += free * free * dk * (n - dk) / (n * n * n)
	cross := free * dk / (n * n)
	s.crossing += cross
	s.fCrossing += f * cross
}

func (s *incidenceSums) variance() float64 {
	f := s.value
	return float64(f*f*s.a) - float64(2*f*s.fa) + s.ffa + s.b - float64(2*f*s.crossing) + 2*s.fCrossing
}

// step moves the influences over one time. sums still hold the curves before
// it.
func (f *curveInfluence) step(t CompetingTimes, s competingStep, free float64, sums []incidenceSums) {
	for _, row := range s.entersFor {
		f.enter(row, 1)
	}
	n, d := float64(s.n), float64(s.all)
	rest := n - d
	moved, end := 0.0, 0.0 // of L: every row at risk, a row with an end
	if d > 0 && rest > 0 {
		moved, end = d/(n*rest), -1/rest
	}
	after := make([]float64, len(sums))
	for k := range sums {
		hazard := float64(s.d[k]) / n
		after[k] = sums[k].value + float64(free*hazard)
		f.sum[k] -= float64(free/n*hazard) + float64(after[k]*moved)
	}
	f.logSum += moved
	for _, row := range s.exits {
		cause := t.Cause[row]
		if cause == 0 {
			f.leave(row, 1, 0, func(int) float64 { return 0 })
			continue
		}
		f.leave(row, 1, end, func(k int) float64 {
			own := -after[k] * end
			if k == cause-1 {
				own += free / n
			}
			return own
		})
	}
}

// incidenceLimits returns the pointwise limits of a cumulative incidence.
func incidenceLimits(f, se, z float64, limits string) (lower, upper float64) {
	if f == 0 || f == 1 {
		return math.NaN(), math.NaN()
	}
	return survivalLimits(f, se, z, limits)
}

// An IncidencePoint is a cumulative incidence read at one time.
type IncidencePoint struct {
	Time         float64
	Incidence    float64
	SE           float64
	Lower, Upper float64
}

// At reads the curve of a cause at a time: the value of the last step at or
// before it. Before the first step it is 0 with SE 0 and no limits. After the
// last time anyone was observed all are NaN, unless nobody was left without an
// end.
func (c CumulativeIncidences) At(cause int, t float64) IncidencePoint {
	p := IncidencePoint{Time: t, Incidence: math.NaN(), SE: math.NaN(), Lower: math.NaN(), Upper: math.NaN()}
	last := len(c.Time) - 1
	i := sort.Search(len(c.Time), func(i int) bool { return c.Time[i] > t }) - 1
	switch {
	case math.IsNaN(t) || last < 0:
	case i < 0:
		p.Incidence, p.SE = 0, 0
	case i == last && t > c.Time[last] && c.EventFree[last] > 0:
	default:
		k := cause - 1
		p.Incidence, p.SE, p.Lower, p.Upper = c.Incidence[k][i], c.SE[k][i], c.Lower[k][i], c.Upper[k][i]
	}
	return p
}

// Reaches estimates the time by which a share p of all rows have had the end
// by a cause: the first at which its incidence is p or more. Its limits are
// the first times at which the upper and the lower limit of the curve are. A
// share that is never reached, as many are when other causes take most, is NaN
// with the warning not-reached; an upper limit that is not is +Inf.
func (c CumulativeIncidences) Reaches(cause int, p float64) Estimate {
	if !(p > 0 && p < 1) {
		panic(fmt.Sprintf("stats: share %v outside (0, 1)", p))
	}
	e := Estimate{
		Measure: fmt.Sprintf("time to an incidence of %g", p), Value: math.NaN(), Lower: math.NaN(), Upper: math.Inf(1),
		SE: math.NaN(), P: math.NaN(), Level: c.Level,
		Method: fmt.Sprintf("first time the incidence is at or above %g; limits likewise from the %s", p, c.Method),
	}
	first := func(values []float64) (int, bool) {
		i := slices.IndexFunc(values, func(v float64) bool { return v >= p-quantileSlack })
		return i, i >= 0
	}
	if i, ok := first(c.Upper[cause-1]); ok && !unknownBefore(c.Upper[cause-1][:i], c.Incidence[cause-1]) {
		e.Lower = c.Time[i]
	}
	if i, ok := first(c.Lower[cause-1]); ok {
		e.Upper = c.Time[i]
	}
	i, ok := first(c.Incidence[cause-1])
	if !ok {
		reason := "there are no rows"
		if last := len(c.Time) - 1; last >= 0 {
			reason = fmt.Sprintf("the incidence is %.4g at the last time observed, %g", c.Incidence[cause-1][last], c.Time[last])
		}
		e.Warnings = append(e.Warnings, Warning{"not-reached", "Not reached: " + reason + "."})
		return e
	}
	e.Value = c.Time[i]
	if math.IsNaN(e.Lower) {
		e.Warnings = append(e.Warnings, Warning{"limit-not-estimable", "The limits of the curve are undefined where it reaches the share, or before, so that the time has no lower limit."})
	}
	return e
}
