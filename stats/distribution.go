package stats

import (
	"math"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// normalQuantile returns the standard normal quantile of p.
func normalQuantile(p float64) float64 { return distuv.UnitNormal.Quantile(p) }

// twoSidedNormalP returns the two-sided p-value of a standard normal z.
func twoSidedNormalP(z float64) float64 {
	if math.IsNaN(z) {
		return math.NaN()
	}
	return math.Erfc(math.Abs(z) / math.Sqrt2)
}

// chiSquaredTail returns the upper tail of the chi-squared distribution.
func chiSquaredTail(x, df float64) float64 {
	switch {
	case math.IsNaN(x) || !(df > 0):
		return math.NaN()
	case x <= 0:
		return 1
	case math.IsInf(x, 1):
		return 0
	}
	return mathext.GammaIncRegComp(df/2, x/2)
}
