package stats

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
)

// A noncentralT is the distribution of (Z+δ)/√(χ²_ν/ν), Z standard normal. With
// u = √(χ²_ν/ν),
//
//	P(T <= t) = E Φ(t u − δ),
//
// integrated over log u, in which the density is smooth whatever ν. The density
// is normalised by the same sum, so that large ν cost no digits. Unlike series
// it has no largest δ.
type noncentralT struct {
	delta  float64
	u      []float64
	weight []float64 // sum to 1
}

func newNoncentralT(df, delta float64) noncentralT {
	// log of the density of log u, up to a constant: ν(x − (e^{2x}−1)/2), 0 at 0.
	height := func(x float64) float64 { return df * (x - math.Expm1(2*x)/2) }
	const gone = -80 // e^−80 of the peak
	left, right := -1.0, 1.0
	for height(left) > gone {
		left *= 2
	}
	for height(right) > gone {
		right *= 2
	}
	end := func(x float64) float64 { return height(x) - gone }
	left, right = bisect(end, left, 0), bisect(end, 0, right)
	const panels, order = 64, 16
	d := noncentralT{delta: delta}
	x, w := make([]float64, order), make([]float64, order)
	var all Sum
	for i := range panels {
		from := left + (right-left)*float64(i)/panels
		quad.Legendre{}.FixedLocations(x, w, from, left+(right-left)*float64(i+1)/panels)
		for j := range x {
			mass := w[j] * math.Exp(height(x[j]))
			d.u, d.weight = append(d.u, math.Exp(x[j])), append(d.weight, mass)
			all.Add(mass)
		}
	}
	for i := range d.weight {
		d.weight[i] /= all.Total()
	}
	return d
}

// atMost is P(T <= t).
func (d noncentralT) atMost(t float64) float64 {
	var sum Sum
	for i, u := range d.u {
		sum.Add(d.weight[i] * math.Erfc((d.delta-float64(t*u))/math.Sqrt2) / 2)
	}
	return sum.Total()
}

// quantile is the t with P(T <= t) = p.
func (d noncentralT) quantile(p float64) float64 {
	excess := func(t float64) float64 { return d.atMost(t) - p }
	low, high := d.delta-1, d.delta+1
	for step := 1.0; excess(low) > 0; step *= 2 {
		low -= step
	}
	for step := 1.0; excess(high) < 0; step *= 2 {
		high += step
	}
	return bisect(excess, low, high)
}
