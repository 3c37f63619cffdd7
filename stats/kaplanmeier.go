package stats

import (
	"fmt"
	"math"
)

// Transformations on which the limits of a curve are symmetric.
const (
	LimitsLogLog  = "log-log"
	LimitsLog     = "log"
	LimitsPlain   = "plain"
	LimitsArcsine = "arcsine"
)

// CurveOptions are the choices of KaplanMeier; the zero value is a level of
// 0.95, log-log limits and independent rows of one weight.
type CurveOptions struct {
	Level   float64   // confidence level; 0 means 0.95
	Limits  string    // LimitsLogLog (the meaning of ""), LimitsLog, LimitsPlain or LimitsArcsine
	Cluster []int     // cluster of each row, any numbers, for robust errors; nil: rows are independent
	Weights []float64 // of the rows, above 0; nil: all 1. Errors are then robust
}

func (o CurveOptions) resolve() CurveOptions {
	o.Level = confidenceLevel(o.Level)
	switch o.Limits {
	case "":
		o.Limits = LimitsLogLog
	case LimitsLogLog, LimitsLog, LimitsPlain, LimitsArcsine:
	default:
		panic(fmt.Sprintf("stats: limits %q, expected log-log, log, plain or arcsine", o.Limits))
	}
	return o
}

// smallRiskSet is the number at risk below which a step of a curve is doubted.
const smallRiskSet = 5

// KaplanMeier is the product-limit estimate of the probability of no event by
// time t,
//
//	S(t) = product over event times s <= t of 1 - d(s)/n(s),
//
// d(s) the events at s and n(s) the rows at risk just before s, Entry < s <=
// Exit; a row censored at the time of an event is still at risk for it. The
// standard error is Greenwood's, SE = S sqrt(sum of d/(n(n-d))). The limits
// with z the normal quantile are
//
//	log-log  S^exp(±z SE/(S log S))   never outside [0, 1]
//	log      S exp(±z SE/S)           cut at 1
//	plain    S ± z SE                 cut at 0 and 1
//	arcsine  sin²(arcsin √S ± z SE/(2 √(S (1−S))))   cut at 0 and 1
//
// Where S is 0 the standard error and all limits are NaN; where S is 1 the
// log-log limits are NaN and the others are 1, because Greenwood's variance is
// then 0 or undefined and says nothing. With Cluster, and only one of them at risk
// at any event so far, there is no standard error and there are no limits.
//
// Censoring and late entry are assumed to tell nothing about the event, and
// rows to be independent: several spells of one child are counted as if they
// were several children, and the limits are then too narrow. With late entry
// the curve is conditional on no event before the earliest entry, and an early
// risk set of a few rows can pull it down for good; the result then carries
// the warning small-risk-set, empty-risk-set, zero-while-at-risk or
// conditional-start.
//
// It returns ErrNoData without rows, ErrEntryAfterExit for rows never at
// risk, ErrNotPositive, and ErrTooFewClusters below two. No event at all is not an error: the curve stays at 1.
//
// Kaplan EL, Meier P. Nonparametric estimation from incomplete observations.
// J Am Stat Assoc 1958;53:457-481. Log-log limits: Kalbfleisch JD, Prentice
// RL. The Statistical Analysis of Failure Time Data. Wiley, 1980.
func KaplanMeier(t Times, opts CurveOptions) (Curve, error) {
	opts = opts.resolve()
	if err := t.check(); err != nil {
		return Curve{}, fmt.Errorf("survival curve: %w", err)
	}
	c := countTimes(t)
	c.Level = opts.Level
	c.limits = opts.Limits
	if opts.Cluster != nil || opts.Weights != nil {
		return c, c.robust(t, opts)
	}
	c.Method = opts.Limits + " limits, Greenwood's standard error"
	times := len(c.Time)
	c.Survival, c.SE = make([]float64, times), make([]float64, times)
	c.Lower, c.Upper = make([]float64, times), make([]float64, times)
	survival, greenwood, z := 1.0, 0.0, criticalZ(opts.Level)
	for i := range c.Time {
		if d, n := float64(c.Events[i]), float64(c.AtRisk[i]); d > 0 {
			survival *= (n - d) / n
			greenwood += d / (n * (n - d))
		}
		c.Survival[i], c.SE[i] = survival, greenwood
	}
	inChunks(times, func(_, from, to int) {
		for i := from; i < to; i++ {
			if i > from && c.Events[i] == 0 { // as before
				c.SE[i], c.Lower[i], c.Upper[i] = c.SE[i-1], c.Lower[i-1], c.Upper[i-1]
				continue
			}
			s, se := c.Survival[i], math.NaN()
			if s > 0 {
				se = s * math.Sqrt(c.SE[i])
			}
			c.SE[i] = se
			c.Lower[i], c.Upper[i] = survivalLimits(s, se, z, opts.Limits)
		}
	})
	c.Warnings = curveWarnings(c)
	return c, nil
}

// countTimes fills in the counts of a curve.
func countTimes(t Times) Curve {
	n := len(t.Exit)
	c := Curve{N: n}
	exits := sorted(n, func(i int) float64 { return t.Exit[i] })
	distinct := 0
	for i, exit := range exits {
		if i == 0 || exit.key != exits[i-1].key {
			distinct++
		}
	}
	c.Time, c.AtRisk = make([]float64, distinct), make([]int, distinct)
	c.Events, c.Censored, c.Entered = make([]int, distinct), make([]int, distinct), make([]int, distinct)
	if t.Entry == nil {
		c.Entered[0] = n
	} else {
		c.entries = make([]float64, n)
		for i, entry := range sorted(n, t.entry) {
			c.entries[i] = entry.value()
		}
	}
	entered := n // rows with Entry < Time
	counted := 0 // rows with Entry <= Time
	if t.Entry != nil {
		entered = 0
	}
	for k, i := 0, 0; i < n; k++ {
		at, gone, events := exits[i].value(), i, 0
		for first := exits[i].key; i < n && exits[i].key == first; i++ {
			if t.Status[exits[i].row] {
				events++
			}
		}
		if t.Entry != nil {
			for entered < n && c.entries[entered] < at {
				entered++
			}
			for ; counted < n && c.entries[counted] <= at; counted++ {
				c.Entered[k]++
			}
		}
		c.Time[k], c.AtRisk[k] = at, entered-gone
		c.Events[k], c.Censored[k] = events, i-gone-events
	}
	return c
}

// survivalLimits returns the pointwise limits of a survival probability, z
// standard errors away.
func survivalLimits(s, se, z float64, limits string) (lower, upper float64) {
	if s == 0 || (s == 1 && limits == LimitsLogLog) {
		return math.NaN(), math.NaN()
	}
	return transformedLimits(s, se, z, limits)
}

// transformedLimits are z standard errors from s on the limits' scale.
func transformedLimits(s, se, z float64, limits string) (lower, upper float64) {
	switch limits {
	case LimitsArcsine:
		if s == 1 {
			return 1, 1
		}
		angle, half := math.Asin(math.Sqrt(s)), z*se/(2*math.Sqrt(s*(1-s)))
		low, high := math.Sin(math.Max(0, angle-half)), math.Sin(math.Min(math.Pi/2, angle+half))
		return low * low, high * high
	case LimitsPlain:
		return math.Max(s-float64(z*se), 0), math.Min(s+float64(z*se), 1)
	case LimitsLog:
		return s * math.Exp(-z*se/s), math.Min(s*math.Exp(z*se/s), 1)
	}
	l := math.Log(s)
	spread := math.Exp(z * se / (s * -l))
	return math.Exp(l * spread), math.Exp(l / spread)
}

// curveWarnings looks for the ways in which a curve misleads.
func curveWarnings(c Curve) []Warning {
	var ws []Warning
	last := len(c.Time) - 1
	if c.entries != nil && c.entries[0] > 0 {
		ws = append(ws, Warning{"conditional-start", fmt.Sprintf(
			"Nobody is under observation before %g: the curve is conditional on no event before then.", c.entries[0])})
	}
	small, first, fewest := 0, 0.0, 0
	if c.entries != nil { // else fewer are at risk from time to time
		largestAfter := 0
		for i := last; i >= 0; i-- {
			if c.Events[i] > 0 && c.AtRisk[i] < smallRiskSet && largestAfter >= smallRiskSet {
				if first = c.Time[i]; small == 0 {
					fewest = c.AtRisk[i]
				}
				small++
				fewest = min(fewest, c.AtRisk[i])
			}
			largestAfter = max(largestAfter, c.AtRisk[i])
		}
	}
	if small > 0 {
		ws = append(ws, Warning{"small-risk-set", fmt.Sprintf(
			"At %d event times, the first %g, fewer than %d were at risk (down to %d) before later entries: the curve rests on them from there on.",
			small, first, smallRiskSet, fewest)})
	}
	for i := range c.Time {
		if c.Survival[i] == 0 && i < last {
			ws = append(ws, Warning{"zero-while-at-risk", fmt.Sprintf(
				"The curve fell to 0 at %g, when all %d at risk had the event, though others are at risk later: it says nothing after that.",
				c.Time[i], c.AtRisk[i])})
			break
		}
	}
	for i := range last {
		if c.AtRisk[i]-c.Events[i]-c.Censored[i] == 0 && c.AtRisk[i+1] > 0 && !enteredAt(c.entries, c.Time[i]) {
			ws = append(ws, Warning{"empty-risk-set", fmt.Sprintf(
				"Nobody was at risk for a while after %g: the curve assumes no event in the gap.", c.Time[i])})
			break
		}
	}
	return ws
}
