package stats

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// HomogeneityExact is the exact test of Zelen whether one odds ratio holds in
// all strata: the sum of the probabilities, given all margins of all strata and
// Σ a, of the tables at most as probable as those observed (a relative
// tolerance of 1e-7 takes up rounding). Those probabilities do not depend on
// the common odds ratio. Statistic and DF are NaN.
//
// Strata with an empty margin contribute nothing; a warning counts them. P is 1
// when the margins and Σ a allow no other tables. It returns ErrNoVariance when
// fewer than two strata remain, ErrNoData when no stratum has persons of both
// groups, and ErrTooLarge when too many partial tables would have to be looked
// at.
//
// Reference: Zelen M. The analysis of several 2 × 2 contingency tables.
// Biometrika 1971;58:129-137.
func HomogeneityExact(strata []TableStratum) (Test, error) {
	const name = "exact homogeneity of odds ratios"
	kept, warnings, err := contributing(name, strata, TableStratum.informative)
	if err != nil {
		return Test{}, err
	}
	if len(kept) < 2 {
		return Test{}, tooFewStrata(name, len(kept))
	}
	s, left := newZelenSearch(kept)
	if s == nil || !s.walk(0, left, 0) {
		return Test{}, fmt.Errorf("%s over %d strata: %w", name, len(kept), ErrTooLarge)
	}
	return Test{
		Name: name, Statistic: math.NaN(), DF: math.NaN(), P: math.Min(1, s.p),
		Method: "Zelen, exact given all margins", Warnings: warnings,
	}, nil
}

// newZelenSearch prepares the walk over the counts of the strata, each less the
// smallest its margins allow, that add up to left; nil where the bounds alone
// are too much work.
func newZelenSearch(strata []TableStratum) (s *fisherSearch, left int) {
	// A canonical order makes the sum the same whatever the strata's order. The
	// largest goes last, where no walking is left.
	strata = slices.Clone(strata)
	slices.SortFunc(strata, func(x, y TableStratum) int {
		return cmp.Or(cmp.Compare(x.spread(), y.spread()), cmp.Compare(x.A, y.A), cmp.Compare(x.B, y.B), cmp.Compare(x.C, y.C), cmp.Compare(x.D, y.D))
	})
	k := len(strata)
	s = &fisherSearch{log: make([][]float64, k), rest: make([]int, k+1)}
	observed, work := 0.0, 0.0
	for j := k - 1; j >= 0; j-- {
		h := strata[j].hypergeometric()
		x := strata[j].A - h.low
		s.log[j], s.rest[j] = h.log, s.rest[j+1]+len(h.log)-1
		left += x
		observed += h.log[x]
		work += float64(s.rest[j]) * float64(len(h.log))
	}
	if work > fisherCells {
		return nil, 0
	}
	totals := make([][]float64, k+1)
	totals[k] = []float64{0}
	for j := k - 1; j >= 0; j-- {
		totals[j] = convolveLogs(totals[j+1], s.log[j])
	}
	s.all = func(j, left int) float64 { return totals[j][left] }
	s.bounds(left)
	s.normaliser = s.all(0, left)
	s.limit = observed + math.Log1p(fisherTolerance)
	return s, left
}

// spread is how many counts of the exposed with the outcome the margins allow,
// less one.
func (s TableStratum) spread() int {
	return min(s.A+s.B, s.A+s.C) - max(0, s.A-s.D)
}
