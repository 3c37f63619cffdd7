package verdict

import (
	"math"
	"regexp"
	"strconv"
	"strings"

	"heelcohort/cmd/heelcohort/internal/printed"
	"heelcohort/cmd/heelcohort/internal/result"
)

// perUnit finds the person-time in a unit such as "per 1,000 hours".
var perUnit = regexp.MustCompile(`^per ([\d,]+(?:\.\d+)?)`)

// perOf is the person-time that a rate is given per, 0 where its unit does not
// say.
func perOf(r *result.Row) float64 {
	m := perUnit.FindStringSubmatch(r.Unit)
	if m == nil {
		if strings.HasPrefix(r.Unit, "per ") {
			return 1
		}
		return 0
	}
	x, err := strconv.ParseFloat(strings.ReplaceAll(m[1], ",", ""), 64)
	if err != nil {
		return 0
	}
	return x
}

// ratio reports whether a row's estimate is a ratio of two.
func ratio(r *result.Row) bool {
	return strings.HasSuffix(r.Measure, " ratio") || r.Measure == "relative risk"
}

// contrast reports whether a row's estimate changes its sign with the
// reference.
func contrast(r *result.Row) bool {
	return strings.HasSuffix(r.Measure, "difference") && !strings.HasPrefix(r.Measure, "standardised") && r.Measure != "smallest detectable difference" ||
		r.Measure == "coefficient" && !strings.Contains(r.Term, "(intercept)")
}

// scales are changes of the unit of the number.
func (t *trial) scales() {
	times := func(f float64) remake {
		return func(r *result.Row) (map[string]float64, bool) {
			if !Share(r) && !InPercent(r) {
				return nil, false
			}
			return each(r, func(x float64) float64 { return x * f }), true
		}
	}
	t.try(KindShare, "the result times 100", times(100))
	t.try(KindShare, "the result over 100", times(0.01))
	for _, per := range []float64{1000, 100, 1, 10000, 100000, 10} {
		text := "the rate per " + printed.Thousands(strconv.FormatFloat(per, 'f', -1, 64))
		t.try(KindPer, text, func(r *result.Row) (map[string]float64, bool) {
			own := perOf(r)
			if own == 0 || own == per {
				return nil, false
			}
			return each(r, func(x float64) float64 { return x * per / own }), true
		})
	}
}

// swaps are changes of what is compared with what.
func (t *trial) swaps() {
	t.try(KindSwapped, "the lower limit in the place of the upper one", func(r *result.Row) (map[string]float64, bool) {
		return parts4(float64(r.Estimate), float64(r.Upper), float64(r.Lower), float64(r.SE)), true
	})
	t.try(KindInverted, "1 over the result", func(r *result.Row) (map[string]float64, bool) {
		return turned(r, func(x float64) float64 { return 1 / x }), ratio(r)
	})
	t.try(KindInverted, "1 over the result, limits in the places they had", func(r *result.Row) (map[string]float64, bool) {
		return each(r, func(x float64) float64 { return 1 / x }), ratio(r)
	})
	t.try(KindInverted, "the result with the other sign", func(r *result.Row) (map[string]float64, bool) {
		return turned(r, func(x float64) float64 { return -x }), contrast(r)
	})
	t.try(KindInverted, "the estimate with the other sign, limits as they are", func(r *result.Row) (map[string]float64, bool) {
		return parts4(-float64(r.Estimate), float64(r.Lower), float64(r.Upper), float64(r.SE)), contrast(r)
	})
	t.try(KindLogarithm, "the natural logarithm of the result", func(r *result.Row) (map[string]float64, bool) {
		p := each(r, math.Log)
		p["se"] = float64(r.SE)
		return p, ratio(r)
	})
	t.try(KindLogarithm, "e to the power of the result", func(r *result.Row) (map[string]float64, bool) {
		p := each(r, math.Exp)
		p["se"] = float64(r.SE)
		return p, r.Measure == "coefficient"
	})
	t.try(KindComplement, "the whole less the result", func(r *result.Row) (map[string]float64, bool) {
		whole := 1.0
		if InPercent(r) {
			whole = 100
		}
		return turned(r, func(x float64) float64 { return whole - x }), Share(r) || InPercent(r)
	})
}

// spreads put the standard error in the place of the standard deviation, and
// the other way round.
func (t *trial) spreads() {
	t.try(KindSpread, "the standard deviation over the root of n", func(r *result.Row) (map[string]float64, bool) {
		if r.Measure != "standard deviation" || !(r.N > 0) {
			return nil, false
		}
		return map[string]float64{"value": float64(r.Estimate) / math.Sqrt(float64(r.N))}, true
	})
	t.try(KindSpread, "the standard deviation squared", func(r *result.Row) (map[string]float64, bool) {
		return map[string]float64{"value": float64(r.Estimate) * float64(r.Estimate)}, r.Measure == "standard deviation"
	})
}
