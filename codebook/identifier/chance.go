package identifier

import "math"

// tail is the probability that at least k of n numbers drawn at random meet a
// check that each meets with probability p.
func tail(k, n int, p float64) float64 {
	if k <= 0 {
		return 1
	}
	if p <= 0 || k > n {
		return 0
	}
	if p >= 1 {
		return 1
	}
	sum := 0.0
	for i := k; i <= n; i++ {
		sum += math.Exp(choose(n, i) + float64(i)*math.Log(p) + float64(n-i)*math.Log1p(-p))
	}
	return min(sum, 1)
}

// choose is the logarithm of the binomial coefficient.
func choose(n, k int) float64 {
	gamma := func(x int) float64 { v, _ := math.Lgamma(float64(x) + 1); return v }
	return gamma(n) - gamma(k) - gamma(n-k)
}
