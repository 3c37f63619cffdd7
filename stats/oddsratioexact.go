package stats

import "fmt"

// OddsRatioExact is the conditional maximum likelihood estimate of the odds
// ratio, with exact limits, from the distribution of the count a given all margins
// (the counts are laid out as for OddsRatio):
// the estimate ψ solves E(a' | ψ) = a, the limits solve P(a' >= a | lower) =
// P(a' <= a | upper) = (1−Level)/2. It differs a little from ad/(bc).
//
// The p-value is twice the smaller tail at ψ = 1, at most 1; it is below
// 1−Level exactly when the limits exclude 1. (Fisher gives the two-sided test
// by the probability method, which may differ.)
//
// When a is as small as the margins allow, the estimate and the lower limit
// are 0; when it is as large, the estimate and the upper limit are +Inf. It
// returns ErrNoData when a group is empty, and ErrNoVariance when everybody or
// nobody has the outcome, where a says nothing about ψ.
//
// References: Cornfield J. A statistical problem arising from retrospective
// studies. Proc 3rd Berkeley Symp 1956;4:135-148. Gart JJ. The comparison of
// proportions. Rev Int Stat Inst 1971;39:148-169.
func OddsRatioExact(a, b, c, d int, opts LimitOptions) (Estimate, error) {
	level := confidenceLevel(opts.Level)
	const measure = "odds ratio"
	if err := (twoByTwo{a, b, c, d}).check(measure); err != nil {
		return Estimate{}, err
	}
	if a+c == 0 || b+d == 0 {
		return Estimate{}, fmt.Errorf("%s of the table %d %d / %d %d: %w in the outcome", measure, a, b, c, d, ErrNoVariance)
	}
	e := newHypergeometric(a+b, c+d, a+c).oddsRatio(a, level, false)
	e.Measure = measure
	return e, nil
}
