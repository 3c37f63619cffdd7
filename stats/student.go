package stats

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// studentTail returns P(|T| >= |t|) for Student's t with df degrees of freedom,
// not necessarily whole: the incomplete beta function at df/(df+t²), which
// stays relatively accurate far out. Infinite df are the normal distribution.
func studentTail(t, df float64) float64 {
	switch {
	case math.IsNaN(t) || !(df > 0):
		return math.NaN()
	case math.IsInf(df, 1):
		return twoSidedNormalP(t)
	case math.IsInf(t, 0):
		return 0
	}
	square := t * t
	return regIncBeta(df/2, 0.5, df/(df+square), square/(df+square))
}

// criticalT returns the quantile of Student's t that two-sided limits of the
// level are made with.
func criticalT(level, df float64) float64 {
	if math.IsInf(df, 1) {
		return criticalZ(level)
	}
	if !(df > 0) {
		return math.NaN()
	}
	x, rest := betaQuantile(df/2, 0.5, 1-level)
	return math.Sqrt(df * (rest / x))
}

// fisherTail returns P(F >= f) for Fisher's F with a and b degrees of freedom.
func fisherTail(f, a, b float64) float64 {
	switch {
	case math.IsNaN(f) || !(a > 0) || !(b > 0):
		return math.NaN()
	case f <= 0:
		return 1
	case math.IsInf(b, 1):
		return mathext.GammaIncRegComp(a/2, a*f/2)
	}
	return regIncBeta(b/2, a/2, b/(b+a*f), a*f/(b+a*f))
}
