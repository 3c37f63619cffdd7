package stats

import (
	"fmt"
	"math"
)

// A PairTable counts pairs, such as the left and the right heel of a child, by
// which of the two have the outcome.
type PairTable struct {
	Both, First, Second, Neither int
}

func (p PairTable) check(measure string) (n int, err error) {
	if p.Both < 0 || p.First < 0 || p.Second < 0 || p.Neither < 0 {
		panic(fmt.Sprintf("stats: negative count in the pairs %+v", p))
	}
	n = p.Both + p.First + p.Second + p.Neither
	if n == 0 {
		return 0, fmt.Errorf("%s: no pairs: %w", measure, ErrNoData)
	}
	return n, nil
}

// discordant refuses pairs that all agree.
func (p PairTable) discordant(measure string) (int, error) {
	n, err := p.check(measure)
	if err == nil && p.First+p.Second == 0 {
		err = fmt.Errorf("%s: %w: none of %d pairs is discordant", measure, ErrNoVariance, n)
	}
	return p.First + p.Second, err
}

// A McNemarMethod is a way to make the p-value of McNemar's test.
type McNemarMethod int

const (
	// McNemarExact is twice the smaller tail of the binomial distribution with
	// probability 1/2, at most 1; it is the default.
	McNemarExact McNemarMethod = iota
	// McNemarMidP counts half the probability of the observed count to either
	// tail.
	McNemarMidP
	// McNemarChiSquare is (b−c)²/(b+c), chi-squared with one degree of freedom.
	McNemarChiSquare
	// McNemarCorrected is (|b−c|−1)²/(b+c), with |b−c|−1 not below 0 (other
	// programs give 1/(b+c) where b = c).
	McNemarCorrected
)

// McNemarOptions are the choices of McNemar; the zero value is the exact test.
type McNemarOptions struct {
	Method McNemarMethod
}

// McNemar tests whether the outcome is as frequent in the first as in the
// second of each pair: of the discordant pairs, b with the outcome in the first
// alone and c in the second alone, half are expected to be either. Pairs are
// taken to be independent. Concordant pairs say nothing. The tests without a
// statistic have NaN there and for DF.
//
// It returns ErrNoVariance when no pair is discordant and ErrNoData without
// pairs. McNemarChiSquare and McNemarCorrected warn when fewer than 25 pairs are
// discordant.
//
// References: McNemar Q. Note on the sampling error of the difference between
// correlated proportions or percentages. Psychometrika 1947;12:153-157. Edwards
// AL. Psychometrika 1948;13:185-187 (correction). Fagerland MW, Lydersen S,
// Laake P. BMC Med Res Methodol 2013;13:91 (mid-P).
func McNemar(p PairTable, opts McNemarOptions) (Test, error) {
	const name = "McNemar test"
	n, err := p.discordant(name)
	if err != nil {
		return Test{}, err
	}
	t := Test{Name: name, Statistic: math.NaN(), DF: math.NaN()}
	smaller := min(p.First, p.Second)
	tail := 2 * binomialAtMost(smaller, n, 0.5, 0.5)
	distance := math.Abs(float64(p.First - p.Second))
	switch opts.Method {
	case McNemarExact:
		t.P, t.Method = math.Min(1, tail), "exact binomial, twice the smaller tail"
		return t, nil
	case McNemarMidP:
		t.P, t.Method = math.Min(1, tail-binomialAt(smaller, n, 0.5, 0.5)), "binomial, twice the smaller mid-P tail"
		return t, nil
	case McNemarChiSquare:
		t.Method = "chi-squared, no continuity correction"
	case McNemarCorrected:
		distance = math.Max(0, distance-1)
		t.Method = "chi-squared, continuity correction of 1"
	default:
		panic(fmt.Sprintf("stats: unknown McNemarMethod %d", opts.Method))
	}
	t.Statistic, t.DF = distance*distance/float64(n), 1
	t.P = chiSquaredTail(t.Statistic, 1)
	if n < 25 {
		t.Warnings = []Warning{{"few-discordant", fmt.Sprintf(
			"The chi-squared distribution is doubtful: %d pairs are discordant, fewer than 25.", n)}}
	}
	return t, nil
}

// PairedOddsRatio is the odds ratio of matched pairs b/c, with b the pairs with
// the outcome in the first alone and c in the second alone, the conditional
// maximum likelihood estimate. Limits are those of the odds of b among b+c,
// exact (Clopper and Pearson's) or, with MidP, mid-P. P is that of McNemar,
// exact or mid-P; it is below 1−Level exactly when the limits exclude 1. It is
// CommonOddsRatioExact with each pair a stratum. For cases and controls, the
// outcome is exposure and the case comes first.
//
// With b = 0 estimate and lower limit are 0, with c = 0 estimate and upper
// limit +Inf. It returns ErrNoVariance when no pair is discordant and ErrNoData
// without pairs.
//
// Reference: Breslow NE, Day NE. Statistical Methods in Cancer Research, vol.
// I. IARC, 1980, ch. 5.
func PairedOddsRatio(p PairTable, opts ExactOptions) (Estimate, error) {
	const measure = "odds ratio of matched pairs"
	level := confidenceLevel(opts.Level)
	n, err := p.discordant(measure)
	if err != nil {
		return Estimate{}, err
	}
	e := Estimate{Measure: measure, Value: float64(p.First) / float64(p.Second), SE: math.NaN(), Level: level}
	method := McNemarExact
	if opts.MidP {
		method = McNemarMidP
		l, lr, u, ur := binomialMidPLimits(p.First, n, level)
		e.Lower, e.Upper = l/lr, u/ur
		e.Method = "mid-P limits of the discordant pairs, p twice the smaller mid-P tail"
	} else {
		e.Lower, e.Upper = binomialOddsLimits(p.First, n, level)
		e.Method = "exact limits of the discordant pairs (Clopper-Pearson), p twice the smaller tail"
	}
	test, err := McNemar(p, McNemarOptions{method})
	e.P = test.P
	return e, err
}

// A MatchedSet is the persons of one matched set: some cases and their
// controls, and how many of either are exposed.
type MatchedSet struct {
	Cases, ExposedCases       int
	Controls, ExposedControls int
}

// MatchedOddsRatio is the Mantel-Haenszel odds ratio of matched sets, each a
// stratum: for one case and M controls a set the estimate of Mantel and
// Haenszel with the limits of Robins, Breslow and Greenland, for pairs b/c.
// Sets whose members are all exposed or all not, or that lack cases or
// controls, contribute nothing; a warning counts them. The errors are those of
// MantelHaenszelOddsRatio. More exposed than there are is the caller's mistake.
//
// Reference: Breslow NE, Day NE. Statistical Methods in Cancer Research, vol.
// I. IARC, 1980, ch. 5.
func MatchedOddsRatio(sets []MatchedSet, opts LimitOptions) (Estimate, error) {
	return MantelHaenszelOddsRatio(matchedStrata(sets), opts)
}

// MatchedOddsRatioExact is CommonOddsRatioExact of matched sets, each a
// stratum: the estimate of conditional logistic regression on the exposure,
// with exact or mid-P limits.
func MatchedOddsRatioExact(sets []MatchedSet, opts ExactOptions) (Estimate, error) {
	return CommonOddsRatioExact(matchedStrata(sets), opts)
}

func matchedStrata(sets []MatchedSet) []TableStratum {
	strata := make([]TableStratum, len(sets))
	for i, s := range sets {
		if s.ExposedCases < 0 || s.ExposedControls < 0 || s.ExposedCases > s.Cases || s.ExposedControls > s.Controls {
			panic(fmt.Sprintf("stats: matched set %d is %+v, expected no more exposed than persons", i, s))
		}
		strata[i] = TableStratum{s.ExposedCases, s.ExposedControls, s.Cases - s.ExposedCases, s.Controls - s.ExposedControls}
	}
	return strata
}
