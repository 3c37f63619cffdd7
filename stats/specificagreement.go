package stats

import (
	"fmt"
	"math"
)

// An AgreementResult says how often two raters agree.
type AgreementResult struct {
	Overall  Estimate   // proportion of subjects with equal ratings, Wilson's limits
	Specific []Estimate // of each category; of two categories these are positive and negative agreement
	N        int
	// Prevalence and Bias are of two categories, NaN otherwise: |a−d|/n and
	// |b−c|/n of the table a b / c d.
	Prevalence, Bias float64
}

// Agreement is the proportion of subjects that two raters put into the same
// category, and the agreement specific to each category i,
//
//	2 n_ii / (n_i. + n_.i),
//
// the share of one rater's ratings i, over both, that the other shares. Of two
// categories these are the positive and the negative agreement. The overall
// proportion has Wilson's limits. Specific agreement is 2φ/(1+φ) of the share φ
// of subjects whom both put into i among those whom either did, and its limits
// are Wilson's of φ carried over by that function, which is monotone.
//
// The indices of prevalence and bias say how far kappa of a table of two
// categories is moved by a common category and by raters who differ in how often
// they use it. The layout is that of Kappa; subjects are taken to be
// independent.
//
// It returns ErrNoData for an empty table. A category that nobody used has NaN
// in place of its agreement, with a warning.
//
// References: Cicchetti DV, Feinstein AR. High agreement but low kappa: II.
// Resolving the paradoxes. J Clin Epidemiol 1990;43:551-558. Byrt T, Bishop J,
// Carlin JB. Bias, prevalence and kappa. J Clin Epidemiol 1993;46:423-429.
func Agreement(table [][]int, opts LimitOptions) (AgreementResult, error) {
	level := confidenceLevel(opts.Level)
	rows, columns, total := margins(table)
	checkSquare(len(rows), len(columns))
	if total == 0 {
		return AgreementResult{}, fmt.Errorf("agreement: %w", ErrNoData)
	}
	a := AgreementResult{N: total, Prevalence: math.NaN(), Bias: math.NaN()}
	same := 0
	for i := range rows {
		same += table[i][i]
		a.Specific = append(a.Specific, specificAgreement(table[i][i], rows[i]+columns[i]-table[i][i], level))
	}
	overall, err := Proportion(same, total, ProportionOptions{Level: level})
	if err != nil {
		return AgreementResult{}, err
	}
	overall.Measure = "proportion of agreement"
	a.Overall = overall
	if len(rows) == 2 {
		a.Prevalence = math.Abs(float64(table[0][0]-table[1][1])) / float64(total)
		a.Bias = math.Abs(float64(table[0][1]-table[1][0])) / float64(total)
	}
	return a, nil
}

// specificAgreement is of both of the raters among either.
func specificAgreement(both, either int, level float64) Estimate {
	e := Estimate{
		Measure: "specific agreement", Value: math.NaN(), Lower: math.NaN(), Upper: math.NaN(),
		SE: math.NaN(), P: math.NaN(), Level: level, Method: "Wilson score limits, carried over",
	}
	if either == 0 {
		e.Warnings = append(e.Warnings, Warning{"category-unused", "Neither rater used this category."})
		return e
	}
	carry := func(share float64) float64 { return 2 * share / (1 + share) }
	lower, upper := wilsonLimits(both, either, level)
	e.Value, e.Lower, e.Upper = carry(float64(both)/float64(either)), carry(lower), carry(upper)
	return e
}
