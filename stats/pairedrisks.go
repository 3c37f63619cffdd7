package stats

import (
	"fmt"
	"math"
)

// A PairedDifferenceMethod is a way to make the limits of a difference of
// paired proportions.
type PairedDifferenceMethod int

const (
	// PairedTango inverts the score test; it is the default.
	PairedTango PairedDifferenceMethod = iota
	// PairedNewcombe combines Wilson's limits of both proportions and their
	// correlation (his method 10).
	PairedNewcombe
	// PairedWald is normal with the standard error of the observed proportions,
	// cut at −1 and 1; it has no width where no pair is discordant, which is
	// refused.
	PairedWald
)

// PairedDifferenceOptions are the choices of PairedDifference; the zero value
// is a level of 0.95 and Tango's limits.
type PairedDifferenceOptions struct {
	Level  float64 // confidence level; 0 means 0.95
	Method PairedDifferenceMethod
}

// PairedDifference is the share of pairs with the outcome in the first less that
// in the second, δ = (b−c)/n with b and c the pairs with the outcome in the
// first or the second alone.
//
// Tango's limits are the differences at which
//
//	(b − c − nδ) / sqrt(n (2q + δ(1−δ))) = ±z
//
// with q the probability of greatest likelihood, given δ, of the outcome in the
// second alone. Newcombe's are, with Wilson's limits l and u of either
// proportion p,
//
//	δ − sqrt((p1−l1)² − 2φ (p1−l1)(u2−p2) + (u2−p2)²)  to
//	δ + sqrt((u1−p1)² − 2φ (u1−p1)(p2−l2) + (p2−l2)²)
//
// where φ is the correlation (ad−bc)/sqrt of the product of the margins, in
// which ad−bc is, if positive, made n/2 smaller but not below 0; φ is 0 with
// an empty margin. Wald's are δ ± z sqrt(b + c − (b−c)²/n)/n.
//
// P is that of the score at 0, McNemar's chi-square without correction, for
// Tango (below 1−Level exactly when the limits exclude 0; 1 when no pair is
// discordant), that of δ over its error for Wald, and NaN for Newcombe. Pairs
// are taken to be independent. It returns ErrNoData without pairs and, for
// PairedWald, ErrNoVariance when the error is 0.
//
// References: Tango T. Equivalence test and confidence interval for the
// difference in proportions for the paired-sample design. Stat Med
// 1998;17:891-908. Newcombe RG. Improved confidence intervals for the
// difference between binomial proportions based on paired data. Stat Med
// 1998;17:2635-2650.
func PairedDifference(p PairTable, opts PairedDifferenceOptions) (Estimate, error) {
	const measure = "paired risk difference"
	level := confidenceLevel(opts.Level)
	pairs, err := p.check(measure)
	if err != nil {
		return Estimate{}, err
	}
	b, c, n := float64(p.First), float64(p.Second), float64(pairs)
	e := Estimate{Measure: measure, Value: (b - c) / n, SE: math.NaN(), Level: level, P: math.NaN()}
	switch opts.Method {
	case PairedTango:
		e.Method = "score limits (Tango)"
		e.P = twoSidedNormalP(tangoScore(b, c, n, 0))
		z := criticalZ(level)
		e.Lower, e.Upper = -1, 1
		if e.Value > -1 {
			e.Lower = bisect(func(x float64) float64 { return tangoScore(b, c, n, x) - z }, -1, e.Value)
		}
		if e.Value < 1 {
			e.Upper = bisect(func(x float64) float64 { return tangoScore(b, c, n, x) + z }, e.Value, 1)
		}
	case PairedNewcombe:
		e.Method = "Newcombe hybrid score limits for pairs"
		e.Lower, e.Upper = p.newcombe(pairs, level)
	case PairedWald:
		e.Method = "Wald limits"
		e.SE = math.Sqrt(b+c-(b-c)*(b-c)/n) / n
		if !(e.SE > 0) {
			return Estimate{}, fmt.Errorf("%s, Wald limits: %w: the pairs are all alike", measure, ErrNoVariance)
		}
		half := criticalZ(level) * e.SE
		e.Lower, e.Upper = math.Max(-1, e.Value-half), math.Min(1, e.Value+half)
		e.P = twoSidedNormalP(e.Value / e.SE)
	default:
		panic(fmt.Sprintf("stats: unknown PairedDifferenceMethod %d", opts.Method))
	}
	return e, nil
}

// tangoScore is Tango's statistic at the difference delta, of which the
// likelihood gives the smaller discordant probability as a root of 2n q² −
// (b + c − (2n−b+c)δ) q − c δ (1−δ).
func tangoScore(b, c, n, delta float64) float64 {
	surplus := b - c - n*delta
	if surplus == 0 {
		return 0
	}
	if delta < 0 { // by symmetry, so that nothing cancels
		return -tangoScore(c, b, n, -delta)
	}
	half := b + c - (2*n-b+c)*delta
	root := math.Sqrt(half*half + 8*n*c*delta*(1-delta))
	var q float64
	switch {
	case half >= 0:
		q = (half + root) / (4 * n)
	case c > 0:
		q = 2 * c * delta * (1 - delta) / (root - half)
	}
	return surplus / math.Sqrt(n*(2*q+delta*(1-delta)))
}

func (p PairTable) newcombe(n int, level float64) (lower, upper float64) {
	first, second := p.Both+p.First, p.Both+p.Second
	p1, p2 := float64(first)/float64(n), float64(second)/float64(n)
	l1, u1 := wilsonLimits(first, n, level)
	l2, u2 := wilsonLimits(second, n, level)
	phi := 0.0
	if first > 0 && second > 0 && first < n && second < n {
		over := float64(p.Both)*float64(p.Neither) - float64(p.First)*float64(p.Second)
		if over > 0 {
			over = math.Max(0, over-float64(n)/2)
		}
		phi = over / math.Sqrt(float64(first)*float64(n-first)*float64(second)*float64(n-second))
	}
	width := func(x, y float64) float64 { return math.Sqrt(math.Max(0, x*x-2*phi*x*y+y*y)) }
	d := float64(p.First-p.Second) / float64(n)
	return math.Max(-1, d-width(p1-l1, u2-p2)), math.Min(1, d+width(u1-p1, p2-l2))
}
