package stats

import (
	"math"
	"slices"
)

// A hypergeometric distribution is that of one cell of a 2 by 2 table with all
// margins fixed, at odds ratio exp(theta): the probability of x is
// proportional to C(n1, x) C(n0, m−x) exp(theta x) (Fisher's noncentral
// hypergeometric distribution).
type hypergeometric struct {
	low        int       // smallest possible x
	log        []float64 // log weights at theta 0, relative to the largest
	cumulative []float64 // scratch: weights at one theta
}

// newHypergeometric is the distribution of the first cell for row totals n1,
// n0 and first column total m. The weights are built outwards from the mode by
// the ratio of neighbours, so that those that matter carry few roundings.
func newHypergeometric(n1, n0, m int) *hypergeometric {
	low, high := max(0, m-n0), min(n1, m)
	h := &hypergeometric{low: low, log: make([]float64, high-low+1), cumulative: make([]float64, high-low+1)}
	// (m+1)(n1+1)/(n1+n0+2), in floating point as it may exceed an int.
	mode := int((float64(m) + 1) * (float64(n1) + 1) / (float64(n1) + float64(n0) + 2))
	mode = min(max(mode, low), high)
	up := func(x int) float64 { // log of weight(x+1)/weight(x)
		return math.Log(float64(n1-x) / float64(x+1) * (float64(m-x) / float64(n0-m+x+1)))
	}
	for x := mode; x < high; x++ {
		h.log[x+1-low] = h.log[x-low] + up(x)
	}
	for x := mode; x > low; x-- {
		h.log[x-1-low] = h.log[x-low] - up(x-1)
	}
	return h
}

func (h *hypergeometric) high() int { return h.low + len(h.log) - 1 }

// moments returns the mean of x, P(X <= at) and P(X >= at) at theta.
func (h *hypergeometric) moments(theta float64, at int) (mean, atMost, atLeast float64) {
	largest := math.Inf(-1)
	for i, w := range h.log {
		h.cumulative[i] = w + float64(theta*float64(i))
		largest = math.Max(largest, h.cumulative[i])
	}
	var total, first, below, above float64
	for i, w := range h.cumulative {
		w = math.Exp(w - largest)
		total += w
		first += float64(w * float64(i))
		if h.low+i <= at {
			below += w
		}
		if h.low+i >= at {
			above += w
		}
	}
	return float64(h.low) + first/total, below / total, above / total
}

// asImprobable returns the probability at theta 0 of the values that are at most
// as probable as the one observed (a relative tolerance of fisherTolerance takes
// up rounding): the two-sided test by the probability method.
func (h *hypergeometric) asImprobable(at int) float64 {
	limit := h.log[at-h.low] + math.Log1p(fisherTolerance)
	largest := slices.Max(h.log)
	var total, tail float64
	for _, w := range h.log {
		p := math.Exp(w - largest)
		total += p
		if w <= limit {
			tail += p
		}
	}
	return math.Min(1, tail/total)
}

// increasingRoot returns the theta at which f, increasing, passes through 0:
// it brackets the root from start and bisects to the last digit.
func increasingRoot(start float64, f func(theta float64) float64) float64 {
	low, high := start, start
	for step := 1.0; f(low) > 0; step *= 2 {
		high = low
		low -= step
	}
	for step := 1.0; f(high) < 0; step *= 2 {
		low = high
		high += step
	}
	for {
		middle := low + (high-low)/2
		if middle <= low || middle >= high {
			return middle
		}
		if f(middle) < 0 {
			low = middle
		} else {
			high = middle
		}
	}
}
