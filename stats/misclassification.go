package stats

import (
	"fmt"
	"math"
)

// A Classification says how well an exposure is rated: the probability that an
// exposed person is rated exposed, and that an unexposed one is rated unexposed.
type Classification struct {
	Sensitivity, Specificity float64
}

// A Misclassification is the rating of those with and those without the outcome.
// Both are equal where rating does not depend on the outcome.
type Misclassification struct {
	Cases, Others Classification
}

// A CorrectedTable holds the counts expected if the exposure had been rated
// without error; they need not be whole.
type CorrectedTable struct {
	A, B, C, D float64 // laid out as for OddsRatio
	OddsRatio  float64
	RiskRatio  float64
	// The probability that a person rated exposed, or unexposed, is so, among
	// those with and those without the outcome.
	PositiveCases, NegativeCases, PositiveOthers, NegativeOthers float64
}

// CorrectMisclassification corrects a table of counts, laid out as for
// OddsRatio, for errors in the rating of the exposure. Of the N persons with the
// outcome, of whom a were rated exposed, with sensitivity Se and specificity Sp,
//
//	A = (a − (1−Sp) N)/(Se + Sp − 1)
//
// are exposed, and likewise among those without. It is the inverse of the matrix
// of classification, and what the table would be on average; the classification
// must be known and hold for these persons.
//
// It returns ErrUninformative where Se + Sp is 1 or less, ErrNegative where a
// corrected count is negative (the classification cannot have given this table),
// and ErrNoData where nobody has the outcome or nobody is without. The ratios are
// NaN, or +Inf where only their denominator is 0. Probabilities outside 0 to 1
// are the caller's mistake.
//
// References: Barron BA. The effects of misclassification on the estimation of
// relative risk. Biometrics 1977;33:414-418. Lash TL, Fox MP, Fink AK. Applying
// Quantitative Bias Analysis to Epidemiologic Data. Springer, 2009, ch. 6 (from
// memory).
func CorrectMisclassification(a, b, c, d int, m Misclassification) (CorrectedTable, error) {
	const what = "correction for misclassification"
	t := twoByTwo{a, b, c, d}
	if a < 0 || b < 0 || c < 0 || d < 0 {
		panic(fmt.Sprintf("stats: negative count in the table %d %d / %d %d", t.a, t.b, t.c, t.d))
	}
	if a+c == 0 || b+d == 0 {
		return CorrectedTable{}, fmt.Errorf("%s of the table %d %d / %d %d: %w with, or without, the outcome", what, a, b, c, d, ErrNoData)
	}
	out, problem := correctTable(t, m)
	if problem != nil {
		return CorrectedTable{}, fmt.Errorf("%s of the table %d %d / %d %d: %w", what, a, b, c, d, problem)
	}
	return out, nil
}

func correctTable(t twoByTwo, m Misclassification) (CorrectedTable, error) {
	var out CorrectedTable
	var err error
	if out.A, out.C, out.PositiveCases, out.NegativeCases, err = correctPair(t.a, t.c, m.Cases); err != nil {
		return out, fmt.Errorf("%w, among those with the outcome", err)
	}
	if out.B, out.D, out.PositiveOthers, out.NegativeOthers, err = correctPair(t.b, t.d, m.Others); err != nil {
		return out, fmt.Errorf("%w, among those without the outcome", err)
	}
	out.OddsRatio = quotient(out.A*out.D, out.B*out.C)
	out.RiskRatio = quotient(out.A*(out.C+out.D), out.C*(out.A+out.B))
	return out, nil
}

// quotient is NaN for 0/0 and +Inf for a positive number over 0.
func quotient(above, below float64) float64 {
	if below == 0 && above == 0 {
		return math.NaN()
	}
	return above / below
}

// correctPair corrects the counts rated exposed and unexposed. What is negative
// by nothing but rounding is 0.
func correctPair(rated, not int, c Classification) (exposed, unexposed, positive, negative float64, err error) {
	se, sp := c.Sensitivity, c.Specificity
	if !(se >= 0 && se <= 1 && sp >= 0 && sp <= 1) {
		panic(fmt.Sprintf("stats: sensitivity %v and specificity %v, expected 0 to 1", se, sp))
	}
	youden := se + sp - 1
	if youden <= 1e-12 {
		return 0, 0, 0, 0, fmt.Errorf("%w: %.4g and %.4g", ErrUninformative, se, sp)
	}
	n := float64(rated + not)
	exposed = (float64(rated)*sp - float64(not)*(1-sp)) / youden
	unexposed = (float64(not)*se - float64(rated)*(1-se)) / youden
	for _, x := range []*float64{&exposed, &unexposed} {
		if math.Abs(*x) < 1e-12*n {
			*x = 0
		}
	}
	if exposed < 0 || unexposed < 0 {
		return 0, 0, 0, 0, fmt.Errorf("%w: %.4g exposed and %.4g unexposed persons after it", ErrNegative, exposed, unexposed)
	}
	positive = quotient(se*exposed, se*exposed+(1-sp)*unexposed)
	negative = quotient(sp*unexposed, sp*unexposed+(1-se)*exposed)
	return exposed, unexposed, positive, negative, nil
}
