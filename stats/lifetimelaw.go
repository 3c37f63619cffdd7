package stats

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
)

// A lifetimeLaw is the distribution of W in log T = x'b + σW: densities and
// tails as logarithms, each with its first two derivatives.
type lifetimeLaw interface {
	density(z float64) (value, first, second float64)
	above(z float64) (value, first, second float64) // of P(W > z)
	below(z float64) (value, first, second float64) // of P(W <= z)
	between(u, l float64) float64                   // log P(l < W <= u), nothing cancelling where the two are near
	quantile(p float64) float64                     // w with P(W <= w) = p
}

// betweenDerivatives are those of between: by u, by l, twice by u, twice by l
// and by both.
func betweenDerivatives(law lifetimeLaw, u, l float64) (value, byU, byL, byUU, byLL, byUL float64) {
	value = law.between(u, l)
	du, su, _ := law.density(u)
	dl, sl, _ := law.density(l)
	at, from := math.Exp(du-value), math.Exp(dl-value)
	return value, at, -from, at * (su - at), -from * (sl + from), at * from
}

// extremeValue is the law of log T for Weibull and exponential times: P(W > z) =
// exp(−e^z).
type extremeValue struct{}

func (extremeValue) density(z float64) (value, first, second float64) {
	e := math.Exp(z)
	return z - e, 1 - e, -e
}

func (extremeValue) above(z float64) (value, first, second float64) {
	e := math.Exp(z)
	return -e, -e, -e
}

func (extremeValue) below(z float64) (value, first, second float64) {
	if z < -700 {
		return z, 1, 0
	}
	e := math.Exp(z)
	ratio := 0.0 // of density and P(W <= z)
	if e < 700 {
		ratio = e / math.Expm1(e)
	}
	return math.Log(-math.Expm1(-e)), ratio, ratio * (1 - e - ratio)
}

func (extremeValue) between(u, l float64) float64 {
	more := math.Exp(u) - math.Exp(l)
	if u-l < 1 {
		more = math.Exp(l) * math.Expm1(u-l)
	}
	return math.Log(-math.Expm1(-more)) - math.Exp(l)
}

func (extremeValue) quantile(p float64) float64 { return math.Log(-math.Log1p(-p)) }

// logisticLaw is the law of log T for log-logistic times: P(W > z) = 1/(1 + e^z).
type logisticLaw struct{}

func (logisticLaw) density(z float64) (value, first, second float64) {
	f, s := math.Exp(logLogistic(z)), math.Exp(logLogistic(-z))
	return logLogistic(z) + logLogistic(-z), s - f, -2 * f * s
}

func (logisticLaw) above(z float64) (value, first, second float64) {
	f, s := math.Exp(logLogistic(z)), math.Exp(logLogistic(-z))
	return logLogistic(-z), -f, -f * s
}

func (logisticLaw) below(z float64) (value, first, second float64) {
	f, s := math.Exp(logLogistic(z)), math.Exp(logLogistic(-z))
	return logLogistic(z), s, -f * s
}

func (logisticLaw) between(u, l float64) float64 { return logInterval(u, l) }

func (logisticLaw) quantile(p float64) float64 { return math.Log(p) - math.Log1p(-p) }

// normalLaw is the law of log T for log-normal times.
type normalLaw struct{}

func (normalLaw) density(z float64) (value, first, second float64) {
	return -z*z/2 - logRootTwoPi, -z, -1
}

func (n normalLaw) above(z float64) (value, first, second float64) {
	value = logNormalTail(z)
	d, _, _ := n.density(z)
	h := math.Exp(d - value)
	return value, -h, -h * (h - z)
}

func (n normalLaw) below(z float64) (value, first, second float64) {
	value, first, second = n.above(-z)
	return value, -first, second
}

// between is a quadrature over short intervals, relative to the density in
// their middle, and the difference of two tails over others.
func (normalLaw) between(u, l float64) float64 {
	if u+l < 0 {
		u, l = -l, -u
	}
	middle, width := l+(u-l)/2, u-l
	if width*(1+middle) < 4 {
		sum := 0.0
		for k, x := range gaussNodes {
			s := x * width / 2
			sum += float64(gaussWeights[k] * math.Exp(-s*(middle+s/2)))
		}
		return math.Log(sum*width/2) - middle*middle/2 - logRootTwoPi
	}
	tail := logNormalTail(l)
	return tail + math.Log1p(-math.Exp(logNormalTail(u)-tail))
}

func (normalLaw) quantile(p float64) float64 { return normalQuantile(p) }

// logRootTwoPi is log √(2π).
var logRootTwoPi = math.Log(2*math.Pi) / 2

// Nodes and weights of Gauss and Legendre on (−1, 1).
var gaussNodes, gaussWeights = func() (x, w []float64) {
	x, w = make([]float64, 20), make([]float64, 20)
	quad.Legendre{}.FixedLocations(x, w, -1, 1)
	return x, w
}()

// logNormalTail is log P(Z > z) for a standard normal Z, by its asymptotic
// series where the tail itself would underflow.
func logNormalTail(z float64) float64 {
	switch {
	case z > 35:
		q := 1 / (z * z)
		return -z*z/2 - logRootTwoPi - math.Log(z) + math.Log1p(-q*(1-q*(3-q*(15-105*q))))
	case z < 0:
		return math.Log1p(-upperNormalTail(-z))
	}
	return math.Log(upperNormalTail(z))
}
