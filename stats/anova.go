package stats

import (
	"fmt"
	"math"
)

// A VarianceResult is an analysis of variance of groups.
type VarianceResult struct {
	Between, Within     float64 // sums of squares
	BetweenDF, WithinDF float64
	ResidualSD          float64
	Test                Test // F
}

// AnalysisOfVariance tests whether groups have one mean, their variances being
// one: F is the mean square between groups over that within. Sums are made of
// deviations from group means and the grand mean, compensated, so that large
// means cost no digits.
//
// Groups without values are left out. It returns ErrTooFewRows where fewer than
// two groups have values or no group has two, ErrNotFinite, and ErrNoVariance
// where no group varies within.
//
// Fisher RA. Statistical Methods for Research Workers. Oliver & Boyd, 1925.
func AnalysisOfVariance(groups [][]float64) (VarianceResult, error) {
	const name = "analysis of variance"
	kept, n, err := filledGroups(name, groups)
	if err != nil {
		return VarianceResult{}, err
	}
	if n == len(kept) {
		return VarianceResult{}, fmt.Errorf("%s: %w: no group has two values", name, ErrTooFewRows)
	}
	var all []float64
	for _, g := range kept {
		all = append(all, g...)
	}
	grand, _ := meanSD(all)
	var between, within Sum
	for _, g := range kept {
		mean, sd := meanSD(g)
		d := mean - grand
		between.Add(float64(len(g)) * d * d)
		if len(g) > 1 {
			within.Add(sd * sd * float64(len(g)-1))
		}
	}
	r := VarianceResult{
		Between: between.Total(), Within: within.Total(), BetweenDF: float64(len(kept) - 1), WithinDF: float64(n - len(kept)),
	}
	if r.Within == 0 {
		return VarianceResult{}, fmt.Errorf("%s: %w within any group", name, ErrNoVariance)
	}
	square := r.Within / r.WithinDF
	r.ResidualSD = math.Sqrt(square)
	f := r.Between / r.BetweenDF / square
	r.Test = Test{
		Name: "analysis of variance", Statistic: f, DF: r.BetweenDF, P: fisherTail(f, r.BetweenDF, r.WithinDF),
		Method: fmt.Sprintf("F on %g and %g degrees of freedom", r.BetweenDF, r.WithinDF),
	}
	return r, nil
}

// WelchAnalysisOfVariance tests whether groups have one mean, whatever their
// variances: with weights w = n/s², W their sum and m̃ the weighted mean,
//
//	F = Σ w (m − m̃)²/(k−1) / (1 + 2 (k−2)/(k²−1) Λ),  Λ = Σ (1 − w/W)²/(n−1)
//
// on k−1 and (k²−1)/(3Λ) degrees of freedom. It returns ErrTooFewRows where
// fewer than two groups have values or one has a single value, ErrNotFinite, and
// ErrNoVariance where a group does not vary.
//
// Welch BL. On the comparison of several mean values: an alternative approach.
// Biometrika 1951;38:330-336.
func WelchAnalysisOfVariance(groups [][]float64) (Test, error) {
	const name = "Welch's analysis of variance"
	kept, _, err := filledGroups(name, groups)
	if err != nil {
		return Test{}, err
	}
	k := float64(len(kept))
	weights, means := make([]float64, len(kept)), make([]float64, len(kept))
	total, mean := 0.0, 0.0
	for i, g := range kept {
		if len(g) < 2 {
			return Test{}, fmt.Errorf("%s: %w: a group has a single value", name, ErrTooFewRows)
		}
		m, sd := meanSD(g)
		if sd == 0 {
			return Test{}, fmt.Errorf("%s: %w within group %d", name, ErrNoVariance, i+1)
		}
		weights[i], means[i] = float64(len(g))/(sd*sd), m
		total += weights[i]
	}
	for i, m := range means {
		mean += weights[i] / total * (m - means[0])
	}
	mean += means[0]
	sum, lambda := 0.0, 0.0
	for i, g := range kept {
		sum += weights[i] * (means[i] - mean) * (means[i] - mean)
		rest := 1 - weights[i]/total
		lambda += rest * rest / float64(len(g)-1)
	}
	f := sum / (k - 1) / (1 + 2*(k-2)/(k*k-1)*lambda)
	df := (k*k - 1) / (3 * lambda)
	return Test{
		Name: name, Statistic: f, DF: k - 1, P: fisherTail(f, k-1, df),
		Method: fmt.Sprintf("F on %g and %.6g degrees of freedom", k-1, df),
	}, nil
}

// filledGroups are the groups with values, and how many values they have.
func filledGroups(name string, groups [][]float64) (kept [][]float64, n int, err error) {
	if err := checkSamples(name, groups...); err != nil {
		return nil, 0, err
	}
	for _, g := range groups {
		if len(g) > 0 {
			kept = append(kept, g)
			n += len(g)
		}
	}
	if len(kept) < 2 {
		return nil, 0, fmt.Errorf("%s: %w: values in %d groups, expected at least 2", name, ErrTooFewRows, len(kept))
	}
	return kept, n, nil
}
