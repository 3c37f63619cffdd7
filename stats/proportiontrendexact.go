package stats

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// trendStates bounds the sums of scores that ProportionTrendExact carries
// along, some seconds of work.
const trendStates = 20_000_000

// ProportionTrendExact is ProportionTrend by the exact distribution of T = Σ x
// events given all margins: P is the probability of a T at least as far from
// its mean as the one observed, in either direction (a relative tolerance of
// 1e-9 of the scores' range takes up rounding). Statistic and DF are NaN.
//
// It returns the errors of ProportionTrend, and ErrTooLarge where the scores
// make too many different sums; scores that are whole numbers, or few persons
// with the outcome, make few.
//
// Reference: Agresti A, Mehta CR, Patel NR. Exact inference for contingency
// tables with ordered categories. J Am Stat Assoc 1990;85:453-458.
func ProportionTrendExact(events, n []int, score []float64) (Test, error) {
	const name = "exact trend of proportions"
	c, err := newTrendCounts(name, events, n, score)
	if err != nil {
		return Test{}, err
	}
	// With and without the outcome change places where fewer are without it.
	m, observed := c.events, 0.0
	for i, x := range c.score {
		observed += x * float64(events[i])
	}
	if c.persons-m < m {
		m = c.persons - m
		observed = -observed
	}
	tolerance := 1e-9 * (slices.Max(c.score) - slices.Min(c.score))
	type state struct{ sum, p float64 }
	// states[k] are the sums of scores with k of the m in the groups so far.
	states := make([][]state, m+1)
	states[0] = []state{{0, 1}}
	rest, work := c.persons, 0
	for i, x := range c.score {
		next := make([][]state, m+1)
		for k, here := range states {
			if len(here) == 0 {
				continue
			}
			// Of the m−k still to come among rest persons, j are of this group.
			h := newHypergeometric(n[i], rest-n[i], m-k)
			total := 0.0
			for _, w := range h.log {
				total += math.Exp(w)
			}
			for j, w := range h.log {
				j += h.low
				p := math.Exp(w) / total
				if work += len(here); work > trendStates {
					return Test{}, fmt.Errorf("%s: %w: %d persons in %d groups", name, ErrTooLarge, c.persons, len(n))
				}
				for _, s := range here {
					next[k+j] = append(next[k+j], state{s.sum + x*float64(j), s.p * p})
				}
			}
		}
		rest -= n[i]
		for k, all := range next {
			slices.SortFunc(all, func(a, b state) int { return cmp.Or(cmp.Compare(a.sum, b.sum), cmp.Compare(a.p, b.p)) })
			merged := all[:0]
			for _, s := range all {
				if len(merged) > 0 && s.sum-merged[len(merged)-1].sum <= tolerance*1e-3 {
					merged[len(merged)-1].p += s.p
					continue
				}
				merged = append(merged, s)
			}
			next[k] = merged
		}
		states = next
	}
	p := 0.0
	for _, s := range states[m] { // around the mean, 0
		if math.Abs(s.sum) >= math.Abs(observed)-tolerance {
			p += s.p
		}
	}
	return Test{
		Name: name, Statistic: math.NaN(), DF: math.NaN(), P: math.Min(1, p),
		Method: "Cochran-Armitage, exact given all margins, by distance from the mean",
	}, nil
}
