package stats

import (
	"fmt"
	"math"
)

// A MeansResult compares two means.
type MeansResult struct {
	Difference Estimate // first less second
	Test       Test
}

// WelchTest compares the means of two independent samples whose variances may
// differ: with m the means, s² the variances with divisor n−1 and v = s²/n,
//
//	t = (m1 − m2)/√(v1+v2),  df = (v1+v2)²/(v1²/(n1−1) + v2²/(n2−1))
//
// Limits of the difference are by Student's t. Values are taken to be
// independent, and means to be about normal: few values of skewed
// distributions bear RankSum better.
//
// It returns ErrTooFewRows for fewer than two values in a sample, ErrNotFinite,
// and ErrNoVariance where neither sample varies.
//
// Welch BL. The generalization of “Student's” problem when several different
// population variances are involved. Biometrika 1947;34:28-35.
func WelchTest(first, second []float64, level float64) (MeansResult, error) {
	const name = "Welch's t test"
	a, b, err := twoSamples(name, first, second)
	if err != nil {
		return MeansResult{}, err
	}
	n1, n2 := float64(a.N), float64(b.N)
	v1, v2 := a.SD*a.SD/n1, b.SD*b.SD/n2
	// Relative to the larger, so that no square underflows.
	larger := math.Max(v1, v2)
	r1, r2 := v1/larger, v2/larger
	df := (r1 + r2) * (r1 + r2) / (r1*r1/(n1-1) + r2*r2/(n2-1))
	return meansResult(name, "Welch", a.Mean-b.Mean, math.Sqrt(v1+v2), df, level), nil
}

// StudentTest compares the means of two independent samples of one variance,
// estimated from both: t = (m1 − m2)/(s √(1/n1 + 1/n2)) on n1+n2−2 degrees of
// freedom. It returns what WelchTest returns, but takes samples of one value
// where the other has two.
//
// Student. The probable error of a mean. Biometrika 1908;6:1-25.
func StudentTest(first, second []float64, level float64) (MeansResult, error) {
	const name = "Student's t test"
	if len(first) == 0 || len(second) == 0 || len(first)+len(second) < 3 {
		return MeansResult{}, fmt.Errorf("%s: %w: found %d and %d values, expected at least 3 in two samples", name, ErrTooFewRows, len(first), len(second))
	}
	if err := checkSamples(name, first, second); err != nil {
		return MeansResult{}, err
	}
	a, b := Describe(first), Describe(second)
	n1, n2 := float64(a.N), float64(b.N)
	squares := 0.0
	for _, s := range []Summary{a, b} {
		if s.N > 1 {
			squares += s.SD * s.SD * float64(s.N-1)
		}
	}
	if squares == 0 {
		return MeansResult{}, fmt.Errorf("%s: %w in either sample", name, ErrNoVariance)
	}
	df := n1 + n2 - 2
	return meansResult(name, "pooled variance", a.Mean-b.Mean, math.Sqrt(squares/df*(1/n1+1/n2)), df, level), nil
}

// PairedTest compares the means of pairs, such as the two heels of a child: the
// mean of the differences over its standard error, on n−1 degrees of freedom.
// It returns ErrTooFewRows below two pairs, ErrNotFinite, and ErrNoVariance
// where all differences are the same. Slices of unequal length are the caller's
// mistake.
func PairedTest(first, second []float64, level float64) (MeansResult, error) {
	const name = "paired t test"
	if len(first) != len(second) {
		panic(fmt.Sprintf("stats: %d and %d values of pairs", len(first), len(second)))
	}
	if len(first) < 2 {
		return MeansResult{}, fmt.Errorf("%s: %w: found %d, expected at least 2", name, ErrTooFewRows, len(first))
	}
	if err := checkSamples(name, first, second); err != nil {
		return MeansResult{}, err
	}
	d := make([]float64, len(first))
	for i := range d {
		d[i] = first[i] - second[i]
	}
	s := Describe(d)
	if s.SD == 0 {
		return MeansResult{}, fmt.Errorf("%s: %w: all differences are %v", name, ErrNoVariance, s.Mean)
	}
	n := float64(s.N)
	return meansResult(name, "pairs", s.Mean, s.SD/math.Sqrt(n), n-1, level), nil
}

func twoSamples(name string, first, second []float64) (a, b Summary, err error) {
	if len(first) < 2 || len(second) < 2 {
		return a, b, fmt.Errorf("%s: %w: found %d and %d values, expected at least 2 in each sample", name, ErrTooFewRows, len(first), len(second))
	}
	if err := checkSamples(name, first, second); err != nil {
		return a, b, err
	}
	a, b = Describe(first), Describe(second)
	if a.SD == 0 && b.SD == 0 {
		return a, b, fmt.Errorf("%s: %w in either sample", name, ErrNoVariance)
	}
	return a, b, nil
}

func checkSamples(name string, samples ...[]float64) error {
	for k, s := range samples {
		for i, v := range s {
			if !finite(v) {
				return fmt.Errorf("%s: sample %d: %w: value %d", name, k+1, ErrNotFinite, i+1)
			}
		}
	}
	return nil
}

func meansResult(name, method string, difference, se, df, level float64) MeansResult {
	level = confidenceLevel(level)
	half := criticalT(level, df) * se
	t := difference / se
	p := studentTail(t, df)
	return MeansResult{
		Difference: Estimate{
			Measure: "mean difference", Value: difference, Lower: difference - half, Upper: difference + half,
			SE: se, Level: level, P: p, Method: "Student's t limits, " + method,
		},
		Test: Test{Name: name, Statistic: t, DF: df, P: p, Method: "two-sided, " + method},
	}
}
