package verdict

import (
	"fmt"
	"math"

	"heelcohort/cmd/heelcohort/internal/printed"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/stats"
)

// A limiter makes limits of a row at a level; ok is false where the row does
// not bear them.
type limiter struct {
	name   string
	limits func(r *result.Row, level float64) (lower, upper float64, ok bool)
}

// levels that are printed.
var levels = []float64{0.95, 0.90, 0.99}

// levelOf is a row's level, 0.95 where it does not say.
func levelOf(r *result.Row) float64 {
	if r.Level > 0 && r.Level < 1 {
		return float64(r.Level)
	}
	return 0.95
}

// quantile is the standard normal quantile for two-sided limits at a level.
func quantile(level float64) float64 { return math.Sqrt2 * math.Erfinv(level) }

// counts are the events and the n of a share that is their quotient.
func counts(r *result.Row) (events, n int, ok bool) {
	return countsIn(r, float64(r.N))
}

// countsIn are the events of a share, with another n.
func countsIn(r *result.Row, n float64) (int, int, bool) {
	e, own := float64(r.Events), float64(r.N)
	if e != math.Trunc(e) || n != math.Trunc(n) || n < 1 || e < 0 || e > n || n > 1e9 {
		return 0, 0, false
	}
	whole := 1.0
	if InPercent(r) {
		whole = 100
	} else if !Share(r) {
		return 0, 0, false
	}
	if !near(float64(r.Estimate), whole*e/own) {
		return 0, 0, false
	}
	return int(e), int(n), true
}

// shareLimits are limits of events in n at a level, in the unit of the row.
func shareLimits(r *result.Row, e stats.Estimate, err error) (float64, float64, bool) {
	whole := 1.0
	if InPercent(r) {
		whole = 100
	}
	return whole * e.Lower, whole * e.Upper, err == nil
}

// shareMethods are the methods of limits of a share, with the events and the n
// to be given.
var shareMethods = []struct {
	name   string
	limits func(events, n int, level float64) (stats.Estimate, error)
}{
	{"Wilson's limits", byMethod(stats.Wilson)},
	{"Clopper and Pearson's exact limits", byMethod(stats.ClopperPearson)},
	{"Wald's limits", wald},
	{"Agresti and Coull's limits", byMethod(stats.AgrestiCoull)},
	{"Jeffreys limits", byMethod(stats.Jeffreys)},
	{"mid-P limits", byMethod(stats.ProportionMidP)},
}

func byMethod(m stats.ProportionMethod) func(int, int, float64) (stats.Estimate, error) {
	return func(events, n int, level float64) (stats.Estimate, error) {
		return stats.Proportion(events, n, stats.ProportionOptions{Level: level, Method: m})
	}
}

// wald are the limits p ± z sqrt(p(1−p)/n), which package stats does not offer
// because they are too short; printed tables have them.
func wald(events, n int, level float64) (e stats.Estimate, err error) {
	if n < 1 {
		return e, stats.ErrNoData
	}
	p := float64(events) / float64(n)
	d := quantile(level) * math.Sqrt(p*(1-p)/float64(n))
	e.Value, e.Lower, e.Upper = p, p-d, p+d
	return e, nil
}

// rateMethods are the methods of limits of a rate.
var rateMethods = []struct {
	name   string
	limits func(events int, personTime, per, level float64) (lower, upper float64, err error)
}{
	{"exact (Garwood's) limits", rateBy(stats.Garwood)},
	{"mid-P limits", rateBy(stats.PoissonMidP)},
	{"Byar's limits", rateBy(stats.Byar)},
	{"normal limits", func(events int, personTime, per, level float64) (float64, float64, error) {
		d := float64(events)
		w := quantile(level) * math.Sqrt(d)
		return (d - w) * per / personTime, (d + w) * per / personTime, nil
	}},
	{"limits on the log scale", func(events int, personTime, per, level float64) (float64, float64, error) {
		d := float64(events)
		f := math.Exp(quantile(level) / math.Sqrt(d))
		return d / f * per / personTime, d * f * per / personTime, nil
	}},
}

func rateBy(m stats.RateMethod) func(int, float64, float64, float64) (float64, float64, error) {
	return func(events int, personTime, per, level float64) (float64, float64, error) {
		e, err := stats.Rate(events, personTime, stats.RateOptions{Level: level, Per: per, Method: m})
		return e.Lower, e.Upper, err
	}
}

// rateIn are the events, the person-time and the unit of a rate.
func rateIn(r *result.Row) (events int, personTime, per float64, ok bool) {
	e, pt := float64(r.Events), float64(r.PersonTime)
	per = perOf(r)
	if e != math.Trunc(e) || e < 0 || e > 1e9 || !(pt > 0) || per == 0 || !near(float64(r.Estimate), e*per/pt) {
		return 0, 0, 0, false
	}
	return int(e), pt, per, true
}

// limiters lists the ways to make a row's limits anew.
func (ix *index) limiters(r *result.Row) (list []limiter) {
	if events, n, ok := counts(r); ok {
		for _, m := range shareMethods {
			list = append(list, limiter{m.name, func(r *result.Row, level float64) (float64, float64, bool) {
				e, err := m.limits(events, n, level)
				return shareLimits(r, e, err)
			}})
		}
	}
	if events, pt, per, ok := rateIn(r); ok {
		for _, m := range rateMethods {
			list = append(list, limiter{m.name, func(_ *result.Row, level float64) (float64, float64, bool) {
				lower, upper, err := m.limits(events, pt, per, level)
				return lower, upper, err == nil
			}})
		}
	}
	list = append(list, ix.compared(r)...)
	if se := float64(r.SE); se > 0 && !math.IsInf(se, 0) {
		list = append(list, limiter{"normal limits from the standard error", func(r *result.Row, level float64) (float64, float64, bool) {
			x, w := float64(r.Estimate), quantile(level)*se
			if ratio(r) {
				return x * math.Exp(-w), x * math.Exp(w), x > 0
			}
			return x - w, x + w, true
		}})
	}
	return list
}

// ownLimiter is the one of limiters that gives the row's own limits.
func (ix *index) ownLimiter(r *result.Row) (own limiter, ok bool) {
	for _, l := range ix.limiters(r) {
		if lower, upper, ok := l.limits(r, levelOf(r)); ok && near(lower, float64(r.Lower)) && near(upper, float64(r.Upper)) {
			return l, true
		}
	}
	return own, false
}

// limitsMade are the parts of a row with other limits.
func limitsMade(r *result.Row, l limiter, level float64) (map[string]float64, bool) {
	lower, upper, ok := l.limits(r, level)
	return map[string]float64{"lower": lower, "upper": upper, "level": level}, ok
}

// levels are limits by the row's own method at other levels.
func (t *trial) levels() {
	for _, level := range levels {
		t.try(KindLevel, "limits as they are made here, at "+printed.Level(level), func(r *result.Row) (map[string]float64, bool) {
			l, ok := t.ix.ownLimiter(r)
			if !ok || near(level, levelOf(r)) {
				return nil, false
			}
			return limitsMade(r, l, level)
		})
	}
}

// methods are limits by other methods at the row's own level.
func (t *trial) methods() {
	t.byMethods(func(r *result.Row) []float64 { return []float64{levelOf(r)} })
}

// methodsAndLevels are limits by other methods at other levels.
func (t *trial) methodsAndLevels() {
	t.byMethods(func(r *result.Row) (other []float64) {
		for _, level := range levels {
			if !near(level, levelOf(r)) {
				other = append(other, level)
			}
		}
		return other
	})
}

func (t *trial) byMethods(at func(*result.Row) []float64) {
	for _, row := range t.rows() {
		own, known := t.ix.ownLimiter(row)
		for _, level := range at(row) {
			for _, l := range t.ix.limiters(row) {
				if known && l.name == own.name {
					continue
				}
				text := l.name
				if !near(level, levelOf(row)) {
					text = fmt.Sprintf("%s at %s", l.name, printed.Level(level))
				}
				t.try(KindMethod, text, func(r *result.Row) (map[string]float64, bool) {
					if r != row {
						return nil, false
					}
					return limitsMade(r, l, level)
				})
			}
		}
	}
}
