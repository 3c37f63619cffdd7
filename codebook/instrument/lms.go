package instrument

import (
	"fmt"
	"math"
)

// An LMS is the distribution of a measure at one age: the power L that makes it
// normal, its median M and its coefficient of variation S (Cole TJ, Green PJ.
// Smoothing reference centile curves: the LMS method and penalized likelihood.
// Stat Med 1992;11:1305-1319).
type LMS struct{ L, M, S float64 }

// Z is the z-score of x: ((x/M)^L - 1)/(L S), or ln(x/M)/S where L is 0. An x
// that is not above 0 is ErrIllegal.
func (p LMS) Z(x float64) (float64, error) {
	if !(x > 0) || math.IsInf(x, 0) {
		return 0, fmt.Errorf("%w: the measure is %v, expected more than 0", ErrIllegal, x)
	}
	if p.L == 0 {
		return math.Log(x/p.M) / p.S, nil
	}
	return math.Expm1(p.L*math.Log(x/p.M)) / (p.L * p.S), nil
}

// Value is the measure with z-score z: M (1 + L S z)^(1/L), or M exp(S z) where
// L is 0. It is infinite, or 0, where no measure has so extreme a score.
func (p LMS) Value(z float64) float64 {
	if p.L == 0 {
		return p.M * math.Exp(p.S*z)
	}
	base := p.L * p.S * z
	if base <= -1 {
		if p.L < 0 {
			return math.Inf(1)
		}
		return 0
	}
	return p.M * math.Exp(math.Log1p(base)/p.L)
}

// Tails says how z-scores far from the median are made.
type Tails string

// PlainTails takes the formula as it is. WHOTails measures beyond three standard
// deviations in the distance between the second and the third one; CDCTails
// replaces scores above the 95th percentile by a half-normal distribution.
const (
	PlainTails Tails = "none"
	WHOTails   Tails = "who"
	CDCTails   Tails = "cdc"
)

// zWHO is the z-score with restricted tails: beyond 3, with V the measure at a
// score, 3 + (x - V(3))/(V(3) - V(2)), and below -3 likewise; a measure there has
// a V(3) that is a number. References: WHO
// Multicentre Growth Reference Study Group. WHO Child Growth Standards: methods
// and development. 2006, chapter 7; de Onis M, Onyango AW, Borghi E, et al. Bull World Health Organ
// 2007;85:660-667 (from memory).
func (p LMS) zWHO(x float64) (float64, error) {
	z, err := p.Z(x)
	switch {
	case err != nil:
		return 0, err
	case z > 3:
		far := p.Value(3)
		z = 3 + (x-far)/(far-p.Value(2))
	case z < -3:
		far := p.Value(-3)
		z = -3 + (x-far)/(p.Value(-2)-far)
	}
	return z, nil
}

// z95 is the z-score of the 95th percentile.
const z95 = 1.6448536269514722

// zCDC is the z-score with the extended tail: for x above the 95th percentile
// P95 its percentile is 90 + 10 Φ((x - P95)/σ), with σ by sex and age a in years
// 0.3728 + 0.5196a - 0.0091a² (boys), 0.8334 + 0.3712a - 0.0011a² (girls).
//
// Reference: Wei R, Ogden CL, Parsons VL, Freedman DS, Hales CM. A method for
// calculating BMI z-scores and percentiles above the 95th percentile of the CDC
// growth charts. Ann Hum Biol 2020;47:514-521 (citation from memory).
func (p LMS) zCDC(x float64, sex Sex, years float64) (float64, error) {
	z, err := p.Z(x)
	if err != nil || z <= z95 {
		return z, err
	}
	tail := 0.1 * upperTail((x-p.Value(z95))/spread(sex, years))
	if tail == 0 {
		return 0, fmt.Errorf("%w: the measure is %v, beyond every percentile", ErrIllegal, x)
	}
	return upperQuantile(tail), nil
}

// spread is the dispersion of the half-normal distribution above the 95th
// percentile.
func spread(sex Sex, a float64) float64 {
	if sex == Girl {
		return 0.8334 + float64(0.3712*a) - float64(0.0011*a*a)
	}
	return 0.3728 + float64(0.5196*a) - float64(0.0091*a*a)
}
