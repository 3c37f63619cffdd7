package stats

import (
	"fmt"
	"math"
)

// A FleissKappaResult is the agreement of many raters beyond chance.
type FleissKappaResult struct {
	Estimate Estimate   // kappa over all categories
	Category []Estimate // of each category against the rest; limits NaN, P by the null error
	N        int        // subjects
	Raters   int        // ratings of each subject
	Observed float64    // mean proportion of agreeing pairs of raters
	Chance   float64    // Σ p_j²
	NullSE   float64
	Z        float64
	Share    []float64 // p_j, of all ratings
}

// FleissKappa is the agreement beyond chance of m ratings of each of n subjects;
// the raters need not be the same from subject to subject. Entry j of row i
// counts the ratings of subject i that are category j. With p_j the share of all
// ratings, q_j = 1−p_j, and
//
//	P̄ = Σ_i Σ_j n_ij (n_ij − 1) / (n m (m−1)),  Pe = Σ p_j²,
//	κ = (P̄ − Pe)/(1 − Pe),  κ_j = 1 − Σ_i n_ij (m − n_ij) / (n m (m−1) p_j q_j).
//
// P is of κ over the standard error without agreement beyond chance,
//
//	SE0² = 2 [ (Σ p_j q_j)² − Σ p_j q_j (q_j − p_j) ] / ( n m (m−1) (Σ p_j q_j)² ),
//
// for one category 2/(n m (m−1)). That error is not made for limits. The limits
// of κ are κ ± z SE, SE² = Σ U_i²/n², where U_i is the large-sample influence of
// subject i,
//
//	U_i = (P_i − P̄ − 2(1−κ) Σ_j p_j (n_ij/m − p_j)) / (1 − Pe);
//
// subjects are independent, raters are taken as given. With two raters κ is
// Scott's, not Cohen's.
//
// It returns ErrTooFewRows for fewer than two subjects or two ratings, and
// ErrUnequalRatings where subjects differ in their number of ratings, and
// ErrNoVariance where all ratings are of one category. A category that is never
// used has NaN and a warning. Limits are NaN, with a warning, where SE is 0.
//
// References: Fleiss JL. Measuring nominal scale agreement among many raters.
// Psychol Bull 1971;76:378-382. Fleiss JL, Nee JCM, Landis JR. Large sample
// variance of kappa in the case of different sets of raters. Psychol Bull
// 1979;86:974-977. Schouten HJA. Measuring pairwise agreement among many
// observers. Biom J 1980;22:497-504 (influence of a subject; from memory).
func FleissKappa(counts [][]int, opts LimitOptions) (FleissKappaResult, error) {
	const measure = "kappa"
	level := confidenceLevel(opts.Level)
	raters, err := checkRatings(counts)
	if err != nil {
		return FleissKappaResult{}, fmt.Errorf("%s of many raters: %w", measure, err)
	}
	_, columns, total := margins(counts)
	n, m := float64(len(counts)), float64(raters)
	r := FleissKappaResult{N: len(counts), Raters: raters, Share: make([]float64, len(columns))}
	var spread, skew Sum
	for j, c := range columns {
		p, q := float64(c)/float64(total), float64(total-c)/float64(total)
		r.Share[j] = p
		spread.Add(p * q)
		skew.Add(p * q * (q - p))
	}
	disagree := spread.Total() // 1 − Pe
	if disagree <= 0 {
		return FleissKappaResult{}, fmt.Errorf("%s of many raters: %w: all ratings are of one category", measure, ErrNoVariance)
	}
	pairs := n * m * (m - 1)
	apart := make([]float64, len(counts)) // 1 − P_i
	unlike := make([]int, len(columns))
	for i, row := range counts {
		sum := 0
		for j, c := range row {
			sum += c * (raters - c)
			unlike[j] += c * (raters - c)
		}
		apart[i] = float64(sum) / (m * (m - 1))
	}
	meanApart := compensatedSum(len(apart), func(i int) float64 { return apart[i] }) / n
	kappa := 1 - meanApart/disagree
	r.Observed, r.Chance = 1-meanApart, 1-disagree
	var squares Sum
	for i, row := range counts {
		shift := 0.0
		for j, c := range row {
			shift += float64(r.Share[j] * (float64(c)/m - r.Share[j]))
		}
		u := (meanApart - apart[i] - float64(2*(1-kappa)*shift)) / disagree
		squares.Add(u * u)
	}
	r.Estimate = kappaEstimate(measure, kappa, math.Sqrt(squares.Total())/n, level, "large-sample limits over subjects")
	r.NullSE = math.Sqrt(2*math.Max(0, disagree*disagree-skew.Total())/pairs) / disagree
	r.Z = kappa / r.NullSE
	r.Estimate.P = twoSidedNormalP(r.Z)
	for j, p := range r.Share {
		r.Category = append(r.Category, categoryKappa(float64(unlike[j])/pairs, p*(1-p), math.Sqrt(2/pairs), level))
	}
	return r, nil
}

// categoryKappa is of one category against the rest; its limits are not made
// here.
func categoryKappa(apart, spread, se, level float64) Estimate {
	e := Estimate{
		Measure: "kappa", Value: math.NaN(), Lower: math.NaN(), Upper: math.NaN(), SE: se, P: math.NaN(),
		Level: level, Method: "error without agreement beyond chance (Fleiss, Nee and Landis), for the test only",
	}
	if spread <= 0 {
		e.SE = math.NaN()
		e.Warnings = append(e.Warnings, Warning{"category-unused", "No rating, or every one, is of this category."})
		return e
	}
	e.Value = 1 - apart/spread
	e.P = twoSidedNormalP(e.Value / se)
	return e
}

// checkRatings returns the number of ratings of each subject.
func checkRatings(counts [][]int) (raters int, err error) {
	if len(counts) < 2 {
		return 0, fmt.Errorf("%w: found %d subjects, expected at least 2", ErrTooFewRows, len(counts))
	}
	for i, row := range counts {
		n := 0
		for _, c := range row {
			n += c
		}
		if i > 0 && n != raters {
			return 0, fmt.Errorf("%w: subject %d has %d, those before it %d", ErrUnequalRatings, i+1, n, raters)
		}
		raters = n
	}
	if raters < 2 {
		return 0, fmt.Errorf("%w: found %d ratings of a subject, expected at least 2", ErrTooFewRows, raters)
	}
	return raters, nil
}
