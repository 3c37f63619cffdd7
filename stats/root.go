package stats

import "math"

// bisect returns where f changes sign between lo and hi, at which f has
// opposite signs or a zero, to the last digit that float64 resolves. f need
// only be monotone there; nothing is assumed of its slope.
func bisect(f func(float64) float64, lo, hi float64) float64 {
	rising := f(lo) < f(hi)
	for {
		mid := lo + (hi-lo)/2
		if mid == lo || mid == hi || math.IsNaN(mid) {
			return mid
		}
		switch y := f(mid); {
		case y == 0:
			return mid
		case (y < 0) == rising:
			lo = mid
		default:
			hi = mid
		}
	}
}
