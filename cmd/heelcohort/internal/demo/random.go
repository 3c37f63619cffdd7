package demo

import (
	"math"
	"math/rand/v2"
)

// A stream is one child's source of chance.
type stream struct{ *rand.Rand }

// newStream is the stream of child i of a registry.
func newStream(seed uint64, i int) stream {
	return stream{rand.New(rand.NewPCG(mix(seed), mix(uint64(i)+0x9e3779b97f4a7c15)))}
}

// mix spreads the bits of x (the finaliser of SplitMix64), so that neighbouring
// children start far apart.
func mix(x uint64) uint64 {
	x = (x ^ (x >> 30)) * 0xbf58476d1ce4e5b9
	x = (x ^ (x >> 27)) * 0x94d049bb133111eb
	return x ^ (x >> 31)
}

// chance is true with probability p.
func (s stream) chance(p float64) bool { return s.Float64() < p }

// between is uniform on [low, high).
func (s stream) between(low, high float64) float64 { return low + float64((high-low)*s.Float64()) }

// days is a whole number uniform on low..high.
func (s stream) days(low, high int) int { return low + s.IntN(high-low+1) }

// normal is normal, rounded to the given decimals and held within limits.
func (s stream) normal(mean, sd, low, high float64, decimals int) float64 {
	x := mean + float64(sd*s.NormFloat64())
	return round(math.Min(math.Max(x, low), high), decimals)
}

// pick draws an index in proportion to weights.
func (s stream) pick(weights ...float64) int {
	total := 0.0
	for _, w := range weights {
		total += w
	}
	u := s.Float64() * total
	for i, w := range weights {
		if u < w {
			return i
		}
		u -= w
	}
	return len(weights) - 1
}

// round rounds x to decimals.
func round(x float64, decimals int) float64 {
	scale := math.Pow10(decimals)
	return math.Round(x*scale) / scale
}
