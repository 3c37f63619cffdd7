package stats

import (
	"errors"
	"fmt"
	"math"
)

// ErrNotWhole says that a count is not a whole number.
var ErrNotWhole = errors.New("a count is not a whole number")

// FitNegativeBinomial fits the log-linear model of rates to counts that vary
// more than Poisson's: with mean μ = personTime × exp(b0 + x'b) the variance is
// μ + αμ². The coefficients and α are those of greatest likelihood together; α
// is Fit.Overdispersion. Rows, terms, estimates and refusals are FitPoisson's,
// and events must be whole numbers (ErrNotWhole).
//
// SE are from the expected information at α, which estimation of α does not
// change (the two are independent in large samples); with Cluster they are
// robust. NullLogLik is that of the model with only an intercept and its own
// α. Fit.Tests ends with the likelihood ratio test of α = 0 against Poisson
// regression, whose p-value is half of chi-squared's on one degree of freedom
// because 0 is at the border.
//
// Where the counts vary no more than Poisson's, the likelihood is greatest at
// α = 0: the fit is then Poisson's, with the warning no-overdispersion.
// Dispersion does not go with this model; it is the caller's mistake.
//
// References: Lawless JF. Negative binomial and mixed Poisson regression. Can J
// Stat 1987;15:209-225. Self SG, Liang KY. J Am Stat Assoc 1987;82:605-610 (the
// border).
func FitNegativeBinomial(x [][]float64, terms []string, events, personTime []float64, opts GLMOptions) (Fit, error) {
	const model = "negative binomial regression"
	if opts.Dispersion {
		panic("stats: Dispersion with a negative binomial model, which has its own")
	}
	var broken []int
	for i, y := range events {
		if finite(y) && y >= 0 && (y != math.Trunc(y) || y > 1<<31) {
			broken = append(broken, i)
		}
	}
	if broken != nil {
		return Fit{}, fmt.Errorf("%s: %w: %d of %d rows (%s)", model, ErrNotWhole, len(broken), len(events), firstRows(broken))
	}
	m, err := countModel(model, x, terms, events, personTime, opts)
	if err != nil {
		return Fit{}, err
	}
	alpha, plain, err := m.overdispersion()
	if err != nil {
		return Fit{}, err
	}
	null := &glm{model: model, family: poisson{}, x: newMatrix(len(events), 1), y: events, offset: m.offset}
	for i := range null.x {
		null.x[i][0] = 1
	}
	if _, _, err := null.overdispersion(); err != nil {
		return Fit{}, err
	}
	nullAt, err := null.maximise()
	if err != nil {
		return Fit{}, err
	}
	nullLogLik := null.logLik(nullAt.eta)
	m.nullLogLik = &nullLogLik
	f, err := m.fit(opts)
	if err != nil {
		return Fit{}, err
	}
	f.Overdispersion = alpha
	ratio := math.Max(0, 2*(f.LogLik-plain))
	p := chiSquaredTail(ratio, 1) / 2
	if alpha == 0 {
		ratio, p = 0, 1
		f.Warnings = append(f.Warnings, Warning{"no-overdispersion", "The counts vary no more than Poisson counts do: the fit is that of Poisson regression."})
	}
	f.Tests = append(f.Tests, Test{
		Name: "test of overdispersion", Statistic: ratio, DF: 1, P: p, Method: "likelihood ratio against Poisson regression, p halved at the border",
	})
	return f, nil
}

// overdispersion finds the α of greatest likelihood, leaves the family of that
// α in m, and returns the log likelihood at α = 0 as well.
func (m *glm) overdispersion() (alpha, plain float64, err error) {
	// slope is the derivative of the profile likelihood by α, but for a
	// positive factor.
	slope := func(alpha float64) float64 {
		if err != nil {
			return math.NaN()
		}
		m.family = familyOf(alpha)
		at, failed := m.maximise()
		if failed != nil {
			err = failed
			return math.NaN()
		}
		var sum Sum
		for i, y := range m.y {
			sum.Add(overdispersionScore(y, math.Exp(at.eta[i]), alpha))
		}
		return sum.Total()
	}
	m.family = poisson{}
	at, err := m.maximise()
	if err != nil {
		return 0, 0, err
	}
	plain = m.logLik(at.eta)
	var excess Sum
	for i, y := range m.y {
		mu := math.Exp(at.eta[i])
		excess.Add((y-mu)*(y-mu) - y)
	}
	const least = 1e-9
	if excess.Total() <= 0 || slope(least) <= 0 {
		m.family = poisson{}
		return 0, plain, err
	}
	high := 1.0
	for slope(high) > 0 && high < 1e9 {
		high *= 4
	}
	low := high / 4
	for slope(low) < 0 && low > least {
		low /= 4
	}
	if err != nil {
		return 0, plain, err
	}
	if high >= 1e9 {
		return 0, plain, fmt.Errorf("%s: %w: the likelihood keeps rising with the overdispersion", m.model, ErrNotConverged)
	}
	// Halving on the log scale to twelve digits.
	a, b := math.Log(low), math.Log(high)
	for b-a > 1e-12*(1+math.Abs(a)) {
		mid := a + (b-a)/2
		if mid == a || mid == b {
			break
		}
		if slope(math.Exp(mid)) > 0 {
			a = mid
		} else {
			b = mid
		}
		if err != nil {
			return 0, plain, err
		}
	}
	alpha = math.Exp(a + (b-a)/2)
	m.family = negativeBinomial{alpha}
	return alpha, plain, nil
}

func familyOf(alpha float64) glmFamily {
	if alpha == 0 {
		return poisson{}
	}
	return negativeBinomial{alpha}
}

// overdispersionScore is a row's derivative of the log likelihood by α:
//
//	(log(1+αμ) − Σ over k < y of α/(1+αk) − α(μ−y)/(1+αμ)) / α²
func overdispersionScore(y, mu, alpha float64) float64 {
	var sum Sum
	sum.Add(math.Log1p(alpha * mu))
	for k := range int(y) {
		sum.Add(-alpha / (1 + alpha*float64(k)))
	}
	sum.Add(-alpha * (mu - y) / (1 + alpha*mu))
	return sum.Total() / alpha / alpha
}

// negativeBinomial is the negative binomial distribution of variance μ + αμ²
// with the log link. The link is not its canonical one: residual and weight are
// those of the score and the expected information, so that Newton's method on
// them is Fisher scoring.
type negativeBinomial struct{ alpha float64 }

func (f negativeBinomial) null(y, offset []float64) float64 { return poisson{}.null(y, offset) }

func (f negativeBinomial) mean(y, eta float64) (residual, variance float64) {
	mu := math.Exp(eta)
	return (y - mu) / (1 + f.alpha*mu), mu / (1 + f.alpha*mu)
}

// deviance is 2 (y log(y/μ) − (y+1/α) log((1+αy)/(1+αμ))).
func (f negativeBinomial) deviance(y, eta float64) float64 {
	mu := math.Exp(eta)
	d := -(y + 1/f.alpha) * math.Log1p(f.alpha*(y-mu)/(1+f.alpha*mu))
	if y > 0 {
		d += y * (math.Log(y) - eta)
	}
	return 2 * d
}

func (f negativeBinomial) logLik(y, eta float64) float64 {
	factorial, _ := math.Lgamma(y + 1)
	log := float64(y*eta) - (y+1/f.alpha)*math.Log1p(f.alpha*math.Exp(eta)) - factorial
	for k := range int(y) {
		log += math.Log1p(f.alpha * float64(k))
	}
	return log
}

func (negativeBinomial) recedes(y, step, slack float64) bool {
	return poisson{}.recedes(y, step, slack)
}
