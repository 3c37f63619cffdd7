package stats

import (
	"fmt"
	"math"
)

// convolutionWork bounds the products summed for a convolution, some seconds.
const convolutionWork = 200_000_000

// convolve returns the distribution of the sum of independent values, all at
// the same theta, in the logarithm so that far tails keep their digits; ok is
// false where it is too much work.
func convolve(parts []*hypergeometric) (sum *hypergeometric, ok bool) {
	sum = &hypergeometric{log: []float64{0}}
	work := 0.0
	for _, h := range parts {
		work += float64(len(sum.log)) * float64(len(h.log))
		if work > convolutionWork {
			return nil, false
		}
		sum = &hypergeometric{low: sum.low + h.low, log: convolveLogs(sum.log, h.log)}
	}
	sum.cumulative = make([]float64, len(sum.log))
	return sum, true
}

// convolveLogs is the logarithm of Σ exp(x[i] + y[k−i]) for each k.
func convolveLogs(x, y []float64) []float64 {
	out := make([]float64, len(x)+len(y)-1)
	for k := range out {
		from, to := max(0, k-len(y)+1), min(k, len(x)-1)
		largest := math.Inf(-1)
		for i := from; i <= to; i++ {
			largest = math.Max(largest, x[i]+y[k-i])
		}
		total := 0.0
		for i := from; i <= to; i++ {
			total += math.Exp(x[i] + y[k-i] - largest)
		}
		out[k] = largest + math.Log(total)
	}
	return out
}

// conditionalCount is the distribution of Σ a given all margins of the strata
// that contribute, and the sum observed.
func conditionalCount(name string, strata []TableStratum) (h *hypergeometric, at int, warnings []Warning, err error) {
	kept, warnings, err := contributing(name, strata, TableStratum.informative)
	if err != nil {
		return nil, 0, nil, err
	}
	var parts []*hypergeometric
	for _, s := range kept {
		parts = append(parts, s.hypergeometric())
		at += s.A
	}
	h, ok := convolve(parts)
	if !ok {
		return nil, 0, nil, fmt.Errorf("%s over %d strata: %w", name, len(kept), ErrTooLarge)
	}
	return h, at, warnings, nil
}

// ExactOptions are the choices of CommonOddsRatioExact; the zero value is a
// level of 0.95 and exact limits.
type ExactOptions struct {
	Level float64 // confidence level; 0 means 0.95
	MidP  bool    // count half the probability of the observed count to either tail
}

// CommonOddsRatioExact is the conditional maximum likelihood estimate of the
// odds ratio common to all strata, with exact limits or, with MidP, mid-P ones,
// from the distribution of Σ a given all margins of all strata, the convolution
// of the strata's noncentral hypergeometric ones. Estimate, limits and p-value
// are defined as for OddsRatioExact and OddsRatioMidP, which it equals for a
// single stratum. One odds ratio is taken to hold in all strata: see
// HomogeneityExact.
//
// Strata with an empty margin contribute nothing; a warning counts them. When Σ
// a is as small as the margins allow, the estimate and the lower limit are 0;
// when it is as large, the estimate and the upper limit are +Inf. It returns
// ErrNoData when no stratum has persons of both groups, ErrNoVariance when all
// have an empty margin, and ErrTooLarge beyond some seconds of work.
//
// References: Birch MW. The detection of partial association, I: the 2 × 2
// case. J R Stat Soc B 1964;26:313-324. Gart JJ. Point and interval estimation
// of the common odds ratio in the combination of 2 × 2 tables with fixed
// marginals. Biometrika 1970;57:471-475. Mehta CR, Patel NR, Gray R. J Am Stat
// Assoc 1985;80:969-973.
func CommonOddsRatioExact(strata []TableStratum, opts ExactOptions) (Estimate, error) {
	const measure = "odds ratio"
	level := confidenceLevel(opts.Level)
	h, at, warnings, err := conditionalCount(measure, strata)
	if err != nil {
		return Estimate{}, err
	}
	e := h.oddsRatio(at, level, opts.MidP)
	e.Measure, e.Warnings = measure, warnings
	return e, nil
}

// ConditionalIndependenceExact is the exact test that the outcome is
// independent of the group given the stratum: the sum of the probabilities,
// given all margins of all strata, of the sums Σ a that are at most as probable
// as the one observed (a relative tolerance of 1e-7 takes up rounding). With a
// single stratum it is Fisher's. Statistic and DF are NaN. The errors are those
// of CommonOddsRatioExact, whose p-value is twice the smaller tail and may
// differ.
//
// Reference: Birch MW. J R Stat Soc B 1964;26:313-324.
func ConditionalIndependenceExact(strata []TableStratum) (Test, error) {
	const name = "exact test of conditional independence"
	h, at, warnings, err := conditionalCount(name, strata)
	if err != nil {
		return Test{}, err
	}
	return Test{
		Name: name, Statistic: math.NaN(), DF: math.NaN(), P: h.asImprobable(at),
		Method: "two-sided by the probability method, exact given all margins", Warnings: warnings,
	}, nil
}
