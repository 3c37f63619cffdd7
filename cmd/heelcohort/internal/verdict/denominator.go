package verdict

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"heelcohort/cmd/heelcohort/internal/printed"
	"heelcohort/cmd/heelcohort/internal/result"
)

// over is a share of the row's events in another n, with limits by the row's
// own method.
func (ix *index) over(r *result.Row, n float64) (map[string]float64, bool) {
	if _, _, ok := counts(r); !ok || n == float64(r.N) {
		return nil, false
	}
	events, m, ok := countsIn(r, n)
	if !ok {
		return nil, false
	}
	whole := 1.0
	if InPercent(r) {
		whole = 100
	}
	parts := map[string]float64{"value": whole * float64(events) / n, "n": n}
	if own, known := ix.ownLimiter(r); known {
		for _, method := range shareMethods {
			if method.name != own.name {
				continue
			}
			e, err := method.limits(events, m, levelOf(r))
			parts["lower"], parts["upper"], ok = shareLimits(r, e, err)
			return parts, ok
		}
	}
	parts["lower"], parts["upper"] = math.NaN(), math.NaN()
	return parts, true
}

// during is a rate of the row's events in another person-time.
func (ix *index) during(r *result.Row, pt float64) (map[string]float64, bool) {
	events, own, per, ok := rateIn(r)
	if !ok || !(pt > 0) || near(pt, own) {
		return nil, false
	}
	parts := map[string]float64{"value": float64(events) * per / pt, "person_time": pt, "lower": math.NaN(), "upper": math.NaN()}
	if l, known := ix.ownLimiter(r); known {
		for _, m := range rateMethods {
			if m.name == l.name {
				lower, upper, err := m.limits(events, pt, per, levelOf(r))
				parts["lower"], parts["upper"] = lower, upper
				return parts, err == nil
			}
		}
	}
	return parts, true
}

// numberText writes a count.
func numberText(x float64) string { return printed.Thousands(strconv.FormatFloat(x, 'f', -1, 64)) }

// missing are shares whose denominator has the missing values, or is without
// them.
func (t *trial) missing() {
	for _, row := range t.rows() {
		n := float64(row.N)
		var without float64
		for _, o := range t.ix.analysis[row.Analysis] {
			if o.Part == "missing" && o.Measure == "count" && o.Variable == row.Variable && slices.Equal(o.Groups, row.Groups) {
				without += float64(o.Estimate)
			}
		}
		if without > 0 {
			t.overN(KindMissing, row, n+without, fmt.Sprintf("the denominator %s with the %s missing, not %s", numberText(n+without), numberText(without), numberText(n)))
			t.overN(KindMissing, row, n-without, fmt.Sprintf("the denominator %s without the %s missing, not %s", numberText(n-without), numberText(without), numberText(n)))
		}
		for _, o := range t.ix.analysis[row.Analysis] {
			if o.Part == "size" && o.Measure == "count" && slices.Equal(o.Groups, row.Groups) && float64(o.Estimate) > n && float64(o.Estimate) != n+without {
				t.overN(KindMissing, row, float64(o.Estimate), fmt.Sprintf("the denominator %s of all rows, not the %s with a value", numberText(float64(o.Estimate)), numberText(n)))
			}
		}
	}
}

// overN tries another n for one row of the cell.
func (t *trial) overN(kind string, row *result.Row, n float64, text string) {
	t.try(kind, text, func(r *result.Row) (map[string]float64, bool) {
		if r != row {
			return nil, false
		}
		return t.ix.over(r, n)
	})
}

// wholes are shares of the neighbours' n: of another column, of the row's total.
func (t *trial) wholes() {
	for _, row := range t.rows() {
		if _, _, ok := counts(row); !ok {
			continue
		}
		for _, o := range t.ix.analysis[row.Analysis] {
			if o.Part == row.Part && o.Variable == row.Variable && o.Term == row.Term && o.Measure == row.Measure && !slices.Equal(o.Groups, row.Groups) {
				t.overN(KindOtherWhole, row, float64(o.N), fmt.Sprintf("the n %s of the column %s", numberText(float64(o.N)), column(o)))
				if len(o.Groups) == 0 {
					t.overN(KindOtherWhole, row, float64(o.Events), fmt.Sprintf("the %s of the whole row", numberText(float64(o.Events))))
				}
			}
		}
	}
}

// column names a row's groups.
func column(r *result.Row) string {
	if len(r.Groups) == 0 {
		return "of all"
	}
	text := ""
	for i, g := range r.Groups {
		if i > 0 {
			text += ", "
		}
		text += g.Variable + " = " + g.Level
	}
	return text
}

// denominators are every other n, and every other person-time, of the analysis.
func (t *trial) denominators() {
	for _, row := range t.rows() {
		seen := map[float64]bool{}
		for _, o := range t.ix.analysis[row.Analysis] {
			n := float64(o.N)
			if o.Part == "size" {
				n = float64(o.Estimate)
			}
			if o.Part == row.Part || o.Part == "size" {
				if !seen[n] {
					seen[n] = true
					t.overN(KindDenominator, row, n, fmt.Sprintf("the denominator %s of %s", numberText(n), o.ID))
				}
			}
			if pt := float64(o.PersonTime); o.Part == row.Part && pt > 0 && !seen[pt] {
				seen[pt] = true
				t.try(KindDenominator, fmt.Sprintf("the person-time %s of %s", numberText(pt), o.ID), func(r *result.Row) (map[string]float64, bool) {
					if r != row {
						return nil, false
					}
					return t.ix.during(r, pt)
				})
			}
		}
	}
}
