package stats

import "math"

// wilsonCorrectedLimits are Wilson's limits of a proportion with continuity
// correction,
//
//	(2np + z² − 1 − z sqrt(z² − 2 − 1/n + 4p(nq + 1))) / 2(n + z²)
//
// and the mirror image, 0 and 1 at the ends (Newcombe's method 4).
func wilsonCorrectedLimits(events, n int, level float64) (lower, upper float64) {
	one := func(k int) float64 {
		if k == 0 {
			return 0
		}
		z, m := criticalZ(level), float64(n)
		p := float64(k) / m
		return math.Max(0, (2*float64(k)+z*z-1-z*math.Sqrt(z*z-2-1/m+4*p*(float64(n-k)+1)))/(2*(m+z*z)))
	}
	return one(events), 1 - one(n-events)
}

// waldProportion are the limits p ± (z sqrt(p(1−p)/n) + extra), cut at 0 and 1.
func waldProportion(events, n int, level, extra float64) (lower, upper float64) {
	p := float64(events) / float64(n)
	half := criticalZ(level)*math.Sqrt(p*(1-p)/float64(n)) + extra
	return math.Max(0, p-half), math.Min(1, p+half)
}

// likelihoodLimits are the proportions at which twice the fall of the log
// likelihood is z².
func likelihoodLimits(events, n int, level float64) (lower, upper float64) {
	one := func(k int) float64 { // the lower one of k among n
		z, x, y := criticalZ(level), float64(k), float64(n-k)
		switch k {
		case 0:
			return 0
		case n:
			return math.Exp(-z * z / (2 * x))
		}
		p := x / (x + y)
		fall := func(odds float64) float64 { // rises towards p
			return 2*(x*(math.Log(odds/(1+odds))-math.Log(p))+y*(-math.Log1p(odds)-math.Log1p(-p))) + z*z
		}
		high := p / (1 - p)
		low := high / 2
		for fall(low) > 0 {
			low /= 2
		}
		odds := bisect(fall, low, high)
		return odds / (1 + odds)
	}
	return one(events), 1 - one(n-events)
}
