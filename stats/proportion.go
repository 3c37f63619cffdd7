package stats

import (
	"fmt"
	"math"
)

// A ProportionMethod is a way to make the limits of a proportion.
type ProportionMethod int

const (
	// Wilson inverts the score test; it is the default.
	Wilson ProportionMethod = iota
	// ClopperPearson is exact: its coverage is never below the level.
	ClopperPearson
	// ProportionMidP counts half the probability of the observed count in
	// either tail: shorter than Clopper and Pearson's, coverage near the level.
	ProportionMidP
	// AgrestiCoull adds z²/2 successes and as many failures, then is Wald's.
	AgrestiCoull
	// Jeffreys takes quantiles of the beta distribution with parameters
	// events+1/2 and n−events+1/2.
	Jeffreys
	// WilsonCorrected is Wilson's with a correction for continuity: nearly as
	// long as the exact one.
	WilsonCorrected
	// ProportionLikelihood holds the proportions whose log likelihood is at most
	// half the chi-squared quantile below the largest.
	ProportionLikelihood
	// ProportionWald is p ± z sqrt(p(1−p)/n), cut at 0 and 1. It is here to answer
	// printed tables: its coverage falls far below the level for few events, and
	// at 0 or n it has no width.
	ProportionWald
	// ProportionWaldCorrected is Wald's widened by 1/2n at either end.
	ProportionWaldCorrected
)

// ProportionOptions are the choices of Proportion; the zero value is a level
// of 0.95 with Wilson's limits.
type ProportionOptions struct {
	Level  float64 // confidence level; 0 means 0.95
	Method ProportionMethod
}

// Proportion is events/n with Wilson's score limits,
//
//	(p + z²/2n ± z sqrt(p(1−p)/n + z²/4n²)) / (1 + z²/n),
//
// or by another method of ProportionMethod. The n are taken to be independent:
// two heels of one child are not. By every method the lower limit is 0 or more
// and the upper one 1 or less; by all but AgrestiCoull's they are 0 for no
// events and 1 for n events, and by all but Wald's too the other limit stays
// inside.
//
// It returns ErrNoData when n is 0.
//
// References: Wilson EB. Probable inference, the law of succession, and
// statistical inference. J Am Stat Assoc 1927;22:209-212. Newcombe RG. Stat
// Med 1998;17:857-872 (all but the last two of Brown). Brown LD, Cai TT, DasGupta A. Interval estimation for a
// binomial proportion. Stat Sci 2001;16:101-133 (Agresti-Coull, Jeffreys).
func Proportion(events, n int, opts ProportionOptions) (Estimate, error) {
	level := confidenceLevel(opts.Level)
	if events < 0 || events > n {
		panic(fmt.Sprintf("stats: %d events among %d, expected 0 to n", events, n))
	}
	if n == 0 {
		return Estimate{}, fmt.Errorf("proportion: %w", ErrNoData)
	}
	e := Estimate{
		Measure: "proportion",
		Value:   float64(events) / float64(n),
		SE:      math.NaN(),
		Level:   level,
		P:       math.NaN(),
	}
	switch opts.Method {
	case Wilson:
		e.Method = "Wilson score limits"
		e.Lower, e.Upper = wilsonLimits(events, n, level)
	case ClopperPearson:
		e.Method = "exact limits (Clopper-Pearson)"
		e.Lower, _, e.Upper, _ = binomialLimits(events, n, level)
	case ProportionMidP:
		e.Method = "mid-P limits"
		e.Lower, _, e.Upper, _ = binomialMidPLimits(events, n, level)
	case AgrestiCoull:
		e.Method = "Agresti-Coull limits"
		e.Lower, e.Upper = agrestiCoullLimits(events, n, level)
	case Jeffreys:
		e.Method = "Jeffreys limits"
		e.Lower, e.Upper = jeffreysLimits(events, n, level)
	case WilsonCorrected:
		e.Method = "Wilson score limits with continuity correction"
		e.Lower, e.Upper = wilsonCorrectedLimits(events, n, level)
	case ProportionLikelihood:
		e.Method = "likelihood limits"
		e.Lower, e.Upper = likelihoodLimits(events, n, level)
	case ProportionWald:
		e.Method = "Wald limits"
		e.Lower, e.Upper = waldProportion(events, n, level, 0)
	case ProportionWaldCorrected:
		e.Method = "Wald limits with continuity correction"
		e.Lower, e.Upper = waldProportion(events, n, level, 0.5/float64(n))
	default:
		panic(fmt.Sprintf("stats: unknown ProportionMethod %d", opts.Method))
	}
	return e, nil
}

// wilsonLimits returns the score limits of a proportion. The product of the
// two roots is p² n/(n+z²), which gives the lower one without cancellation.
func wilsonLimits(events, n int, level float64) (lower, upper float64) {
	if 2*events > n {
		lower, upper = wilsonLimits(n-events, n, level)
		return 1 - upper, 1 - lower
	}
	z := criticalZ(level)
	k, m, z2 := float64(events), float64(n), float64(z*z)
	upper = (k + z2/2 + z*math.Sqrt(k*(m-k)/m+z2/4)) / (m + z2)
	return k / m * k / (m + z2) / upper, upper
}
