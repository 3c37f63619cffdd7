package stats

import (
	"fmt"
	"math"
)

// OddsRatioScore is the odds ratio ad/(bc) (the counts are laid out as for
// OddsRatio) with the score limits of Miettinen and Nurminen: the odds ratios
// at which
//
//	(a − A)² (1/A + 1/B + 1/C + 1/D) (N−1)/N = z²
//
// where A to D are the counts with the margins observed and that odds ratio, N
// all persons and z the normal quantile. P is that of the statistic at 1,
// Pearson's chi-square times (N−1)/N; it is below 1−Level exactly when the
// limits exclude 1. The persons are taken to be independent.
//
// When a or d is 0 the estimate and the lower limit are 0; when b or c is, the
// estimate and the upper limit are +Inf: the other limit is finite in both. It
// returns ErrNoData when a group is empty, and ErrNoVariance when everybody or
// nobody has the outcome.
//
// Reference: Miettinen O, Nurminen M. Comparative analysis of two rates. Stat
// Med 1985;4:213-226.
func OddsRatioScore(a, b, c, d int, opts LimitOptions) (Estimate, error) {
	n := float64(a + b + c + d)
	e, err := twoByTwo{a, b, c, d}.oddsRatioScore(opts.Level, (n-1)/n, 0)
	if err != nil {
		return Estimate{}, err
	}
	e.Method = "score limits (Miettinen-Nurminen)"
	return e, nil
}

// CornfieldOptions are the choices of OddsRatioCornfield; the zero value is a
// level of 0.95 and no correction.
type CornfieldOptions struct {
	Level     float64 // confidence level; 0 means 0.95
	Corrected bool    // take 1/2 off the distance between observed and expected
}

// OddsRatioCornfield is the odds ratio with Cornfield's limits: as for
// OddsRatioScore without the factor (N−1)/N. With Corrected the distance |a −
// A| is 1/2 shorter, but not below 0, so that the limits come near the exact
// ones. P is that of Pearson's chi-square, or Yates's with Corrected.
//
// Special cases and refusals are those of OddsRatioScore.
//
// Reference: Cornfield J. A statistical problem arising from retrospective
// studies. Proc 3rd Berkeley Symp 1956;4:135-148.
func OddsRatioCornfield(a, b, c, d int, opts CornfieldOptions) (Estimate, error) {
	correction, method := 0.0, "Cornfield limits, no continuity correction"
	if opts.Corrected {
		correction, method = 0.5, "Cornfield limits, continuity correction of 1/2"
	}
	e, err := twoByTwo{a, b, c, d}.oddsRatioScore(opts.Level, 1, correction)
	if err != nil {
		return Estimate{}, err
	}
	e.Method = method
	return e, nil
}

func (t twoByTwo) oddsRatioScore(level, factor, correction float64) (Estimate, error) {
	const measure = "odds ratio"
	level = confidenceLevel(level)
	if err := t.check(measure); err != nil {
		return Estimate{}, err
	}
	if t.a+t.c == 0 || t.b+t.d == 0 {
		return Estimate{}, fmt.Errorf("%s of the table %d %d / %d %d: %w in the outcome", measure, t.a, t.b, t.c, t.d, ErrNoVariance)
	}
	a, b, c, d := float64(t.a), float64(t.b), float64(t.c), float64(t.d)
	score := func(fa, fb, fc, fd, distance float64) float64 {
		if distance <= correction {
			return 0 // also where a count is 0
		}
		return (distance - correction) * math.Sqrt((1/fa+1/fb+1/fc+1/fd)*factor)
	}
	e := Estimate{
		Measure: measure, Value: a / b * (d / c), Lower: 0, Upper: math.Inf(1), SE: math.NaN(), Level: level,
	}
	if t.a == 0 || t.d == 0 {
		e.Value = 0
	}
	n, z := a+b+c+d, criticalZ(level)
	null := (a + b) / n * (a + c)
	e.P = twoSidedNormalP(score(null, a+b-null, a+c-null, d-a+null, math.Abs(a*d-b*c)/n))
	// limit is the odds ratio so much away from ad/(bc) that the score is z,
	// toward where a and d are fewer. The score rises with the distance.
	limit := func(a, b, c, d float64) float64 {
		s := bisect(func(s float64) float64 {
			if s >= math.Min(a, d) {
				return math.Inf(1)
			}
			return score(a-s, b+s, c+s, d-s, s) - z
		}, 0, math.Min(a, d))
		return (a - s) / (b + s) * ((d - s) / (c + s))
	}
	if t.a > 0 && t.d > 0 {
		e.Lower = limit(a, b, c, d)
	}
	if t.b > 0 && t.c > 0 {
		e.Upper = 1 / limit(b, a, d, c)
	}
	return e, nil
}
