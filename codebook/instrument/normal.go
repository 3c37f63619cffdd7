package instrument

import "math"

// upperTail is the probability that a standard normal variable exceeds z.
func upperTail(z float64) float64 { return math.Erfc(z/math.Sqrt2) / 2 }

// Percentile is the percentage of a standard normal distribution below z.
func Percentile(z float64) float64 { return 100 * upperTail(-z) }

// upperQuantile is the z that a standard normal variable exceeds with
// probability q, 0 < q <= 1/2: Newton's method on the logarithm of the tail.
// That is concave, so that from a z not below the wanted one, as the bound
// tail <= exp(-z²/2)/2 gives, every step comes nearer from above.
func upperQuantile(q float64) float64 {
	target := math.Log(q)
	z := math.Sqrt(math.Max(0, -2*(target+math.Ln2)))
	for range 100 {
		tail := upperTail(z)
		density := math.Exp(-z*z/2) / math.Sqrt(2*math.Pi)
		step := (math.Log(tail) - target) * tail / density
		z += step
		if math.Abs(step) <= 1e-15*math.Max(1, z) {
			break
		}
	}
	return z
}
