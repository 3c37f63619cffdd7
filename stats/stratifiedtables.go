package stats

import (
	"fmt"
	"math"
)

// A TableStratum holds the counts of one stratum, such as an age band or a
// matched set:
//
//	            outcome  no outcome
//	exposed        A         B
//	reference      C         D
type TableStratum struct {
	A, B, C, D int
}

// groups reports whether both groups have persons.
func (s TableStratum) groups() bool { return s.A+s.B > 0 && s.C+s.D > 0 }

// informative reports whether no margin is empty: whether the stratum says
// anything about an odds ratio.
func (s TableStratum) informative() bool {
	return s.groups() && s.A+s.C > 0 && s.B+s.D > 0
}

// terms are the counts as numbers, the sizes of both groups, the persons with
// and without outcome, and all.
func (s TableStratum) terms() (a, b, c, d, n1, n0, m1, m0, n float64) {
	a, b, c, d = float64(s.A), float64(s.B), float64(s.C), float64(s.D)
	return a, b, c, d, a + b, c + d, a + c, b + d, a + b + c + d
}

func (s TableStratum) hypergeometric() *hypergeometric {
	return newHypergeometric(s.A+s.B, s.C+s.D, s.A+s.C)
}

// contributing are the strata of which counts is true. A warning says how many
// of the others, which have an empty margin, contribute nothing.
//
// It returns ErrNoData when no stratum has persons of both groups, and
// ErrNoVariance when none contributes for another reason. Negative counts are
// the caller's mistake.
func contributing(measure string, strata []TableStratum, counts func(TableStratum) bool) (kept []TableStratum, warnings []Warning, err error) {
	both := false
	for i, s := range strata {
		if s.A < 0 || s.B < 0 || s.C < 0 || s.D < 0 {
			panic(fmt.Sprintf("stats: stratum %d is %+v, expected counts of 0 or more", i, s))
		}
		both = both || s.groups()
		if counts(s) {
			kept = append(kept, s)
		}
	}
	switch left := len(strata) - len(kept); {
	case !both:
		return nil, nil, fmt.Errorf("%s: none of %d strata has persons in both groups: %w", measure, len(strata), ErrNoData)
	case len(kept) == 0:
		return nil, nil, fmt.Errorf("%s: %w: an empty margin in each of %d strata", measure, ErrNoVariance, len(strata))
	case left > 0:
		warnings = []Warning{{"empty-margin-strata", fmt.Sprintf(
			"%d of %d strata have an empty margin and contribute nothing.", left, len(strata))}}
	}
	return kept, warnings, nil
}

// CMHOptions are the choices of CochranMantelHaenszel.
type CMHOptions struct {
	Corrected bool // take 1/2 off the distance between observed and expected
}

// CochranMantelHaenszel tests whether the outcome is independent of the group
// given the stratum, against an odds ratio in one direction throughout:
//
//	(|Σ (a − n1 m1/n)| − k)² / Σ n1 n0 m1 m0/(n² (n−1))
//
// with n1 and n0 the persons of the groups, m1 and m0 those with and without the
// outcome, n all of a stratum, and k = 0, or with Corrected 1/2 (but at most
// the distance, so that the statistic is not below 0; other programs drop the
// correction where it exceeds the distance). It is chi-squared with one degree of
// freedom.
//
// Strata with an empty margin contribute nothing; a warning counts them. It
// returns ErrNoData when no stratum has persons of both groups, and
// ErrNoVariance when all have an empty margin.
//
// References: Cochran WG. Biometrics 1954;10:417-451. Mantel N, Haenszel W.
// Statistical aspects of the analysis of data from retrospective studies of
// disease. J Natl Cancer Inst 1959;22:719-748.
func CochranMantelHaenszel(strata []TableStratum, opts CMHOptions) (Test, error) {
	const name = "Cochran-Mantel-Haenszel test"
	kept, warnings, err := contributing(name, strata, TableStratum.informative)
	if err != nil {
		return Test{}, err
	}
	var surplus, variance Sum
	for _, s := range kept {
		a, b, c, d, n1, n0, m1, m0, n := s.terms()
		surplus.Add((a*d - b*c) / n) // a − n1 m1/n
		variance.Add(n1 / n * n0 / n * m1 / (n - 1) * m0)
	}
	t := Test{Name: name, DF: 1, Method: "chi-squared, no continuity correction", Warnings: warnings}
	distance := math.Abs(surplus.Total())
	if opts.Corrected {
		t.Method = "chi-squared, continuity correction of 1/2"
		distance = math.Max(0, distance-0.5)
	}
	t.Statistic = distance * distance / variance.Total()
	t.P = chiSquaredTail(t.Statistic, 1)
	return t, nil
}

// MantelHaenszelOddsRatio is the odds ratio of two groups pooled over strata,
//
//	Σ ad/n / Σ bc/n
//
// with n all persons of a stratum. Limits are symmetric on the log scale with
// the variance of Robins, Breslow and Greenland,
//
//	Σ pr/(2R²) + Σ (ps + qr)/(2RS) + Σ qs/(2S²)
//
// where p = (a+d)/n, q = (b+c)/n, r = ad/n, s = bc/n, R = Σ r and S = Σ s. It
// holds for few large strata as for many small ones, such as matched sets. P is
// that of CochranMantelHaenszel without correction, which near 1−Level need not
// agree with the limits. One odds ratio is taken to hold in all strata: see
// OddsRatioHomogeneity.
//
// Strata with an empty margin contribute nothing; a warning counts them. It
// returns ErrZeroCell when R or S is 0 (CommonOddsRatioExact then still gives
// limits), ErrNoData when no stratum has persons of both groups, and
// ErrNoVariance when all have an empty margin.
//
// References: Mantel N, Haenszel W. J Natl Cancer Inst 1959;22:719-748. Robins
// J, Breslow N, Greenland S. Estimators of the Mantel-Haenszel variance
// consistent in both sparse data and large-strata limiting models. Biometrics
// 1986;42:311-323.
func MantelHaenszelOddsRatio(strata []TableStratum, opts LimitOptions) (Estimate, error) {
	const measure = "odds ratio"
	level := confidenceLevel(opts.Level)
	kept, warnings, err := contributing(measure, strata, TableStratum.informative)
	if err != nil {
		return Estimate{}, err
	}
	var over, under, pr, mixed, qs Sum
	for _, stratum := range kept {
		a, b, c, d, _, _, _, _, n := stratum.terms()
		p, q, r, s := (a+d)/n, (b+c)/n, a*d/n, b*c/n
		over.Add(r)
		under.Add(s)
		pr.Add(p * r)
		mixed.Add(p*s + q*r)
		qs.Add(q * s)
	}
	r, s := over.Total(), under.Total()
	if r == 0 || s == 0 {
		return Estimate{}, fmt.Errorf("%s pooled over %d strata: %w, expected both a and d above 0 in one stratum, and b and c in one",
			measure, len(kept), ErrZeroCell)
	}
	se := math.Sqrt((pr.Total()/r/r + mixed.Total()/r/s + qs.Total()/s/s) / 2)
	e := logRatio(measure, "Mantel-Haenszel, Robins-Breslow-Greenland limits, Cochran-Mantel-Haenszel test", r/s, se, level)
	return withCMH(e, strata, warnings), nil
}

// withCMH gives a pooled estimate the p-value of the Cochran-Mantel-Haenszel
// test, NaN where no stratum bears one.
func withCMH(e Estimate, strata []TableStratum, warnings []Warning) Estimate {
	e.P = math.NaN()
	if test, err := CochranMantelHaenszel(strata, CMHOptions{}); err == nil {
		e.P = test.P
	}
	e.Warnings = warnings
	return e
}
