package stats

import (
	"fmt"
	"math"
)

// search finds the variance: where the slope of the integrated likelihood falls
// through 0, the highest of several such, or 0 where none is higher.
func (m *frailtyModel) search() (frailtyMaximum, error) {
	eta := m.predictors(m.plain.beta, make([]float64, len(m.events)))
	best := frailtyMaximum{beta: m.plain.beta, omega: make([]float64, len(m.events)), eta: eta, value: m.cox.rescaled(m.plain.logLik)}
	// At 0 the slope is half of Σ (d − expected)² − d.
	before := frailtyMaximum{}
	for _, r := range m.residualsByChild(eta) {
		before.slope += r.residual*r.residual/2 - float64(r.events)/2
	}
	falls := 0
	for theta := 0.01; falls < 4 && theta < 2*frailtyLargest; theta *= 2 {
		at, err := m.solve(theta)
		if err != nil {
			return best, err
		}
		if before.slope > 0 && at.slope <= 0 {
			found, err := m.between(before, at)
			if err != nil {
				return best, err
			}
			if found.value > best.value {
				best = found
			}
		}
		if falls++; at.slope > 0 {
			falls = 0
		}
		before = at
	}
	if before.slope > 0 {
		return best, fmt.Errorf("%w: the likelihood still grows at a frailty variance of %.4g", ErrNotConverged, before.theta)
	}
	best.iterations = m.last.iterations
	return best, nil
}

type childResidual struct {
	residual float64
	events   int
}

func (m *frailtyModel) residualsByChild(eta []float64) []childResidual {
	out := make([]childResidual, len(m.events))
	for k, r := range m.kept(m.view(eta).martingale(nil)) {
		out[m.child[k]].residual += r
	}
	for c, d := range m.events {
		out[c].events = d
	}
	return out
}

// frailtyDigits is how near, relatively, the variance is found.
const frailtyDigits = 1e-10

// between finds the zero of the slope between two variances.
func (m *frailtyModel) between(low, high frailtyMaximum) (frailtyMaximum, error) {
	var at frailtyMaximum
	_, err := crossing(low.theta, high.theta, low.slope, high.slope, func(theta float64) (y float64, err error) {
		at, err = m.solve(theta)
		return at.slope, err
	})
	return at, err
}

// crossing finds where a function changes sign between two places, given its
// values there, by the Illinois form of the false position; the last place
// asked for is the answer.
func crossing(a, b, ya, yb float64, f func(float64) (float64, error)) (float64, error) {
	x := b
	for range 200 {
		x = b - yb*(b-a)/(yb-ya)
		if !(x > math.Min(a, b) && x < math.Max(a, b)) {
			x = a + (b-a)/2
		}
		y, err := f(x)
		if err != nil {
			return x, err
		}
		if y == 0 || math.Abs(b-a) <= frailtyDigits*math.Abs(x) {
			return x, nil
		}
		if (y > 0) == (yb > 0) {
			ya /= 2
		} else {
			a, ya = b, yb
		}
		if math.Abs(x-b) <= frailtyDigits*math.Abs(x)/10 {
			return x, nil
		}
		b, yb = x, y
	}
	return x, fmt.Errorf("%w: frailty variance near %g", ErrNotConverged, x)
}

// limits are the variances at which the profile likelihood has fallen by half
// the chi-squared quantile of the level on 1 degree of freedom.
func (m *frailtyModel) limits(best frailtyMaximum, none, level float64) (lower, upper float64, err error) {
	z := criticalZ(level)
	target := best.value - z*z/2
	over := func(theta float64) (float64, error) {
		at, err := m.solve(theta)
		return at.value - target, err
	}
	if none < target {
		if lower, err = crossing(0, best.theta, none-target, best.value-target, over); err != nil {
			return math.NaN(), math.NaN(), err
		}
	}
	from, height := best.theta, best.value-target
	for to := math.Max(2*best.theta, 0.01); ; to *= 2 {
		if to > 1e4 {
			return lower, math.Inf(1), nil
		}
		y, err := over(to)
		if err != nil {
			return math.NaN(), math.NaN(), err
		}
		if y < 0 {
			upper, err = crossing(from, to, height, y, over)
			return lower, upper, err
		}
		from, height = to, y
	}
}
