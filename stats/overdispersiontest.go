package stats

import (
	"fmt"
	"math"
)

// OverdispersionTests tests whether counts vary more than Poisson's about the
// rates of a log-linear model, fitted by FitPoisson to the same arguments. With
// its fitted means μ and leverages h (the diagonal of W^½X(X'WX)⁻¹X'W^½, with
// W of the means) the tests are
//
//   - Dean's score test against the variance μ + αμ² of the negative binomial,
//     adjusted for the estimated means: Σ((y−μ)² − y + hμ) / sqrt(2 Σ μ²);
//   - Cameron and Trivedi's regressions, without intercept, of
//     ((y−μ)² − y)/μ on μ (against μ + αμ²) and on 1 (against μ + αμ):
//     coefficient over error.
//
// Statistics are standard normal in large samples under Poisson's variance; P is
// one-sided, the upper tail, small where counts vary more. Rows must be of what
// varies: a child's counts, not sums over children. They are independent of
// each other, as in the model.
//
// It returns FitPoisson's errors, and ErrTooFewRows when no row is left beside
// the coefficients. A regression without residual variation has the statistic
// NaN.
//
// References: Dean CB. Testing for overdispersion in Poisson and binomial
// regression models. J Am Stat Assoc 1992;87:451-457. Cameron AC, Trivedi PK.
// Regression-based tests for overdispersion in the Poisson model. J Econom
// 1990;46:347-364.
func OverdispersionTests(x [][]float64, terms []string, events, personTime []float64) ([]Test, error) {
	m, err := countModel("Poisson regression", x, terms, events, personTime, GLMOptions{})
	if err != nil {
		return nil, err
	}
	at, err := m.maximise()
	if err != nil {
		return nil, err
	}
	n, p := len(events), len(at.beta)
	if n <= p {
		return nil, fmt.Errorf("test of overdispersion: %w: %d leave none beside %d coefficients", ErrTooFewRows, n, p)
	}
	var score, squares Sum
	second, first := make([]float64, n), make([]float64, n)
	means := make([]float64, n)
	for i, y := range events {
		mu := math.Exp(at.eta[i])
		leverage := 0.0
		for j, v := range m.x[i] {
			leverage += float64(v * dot(at.covariance[j], m.x[i]))
		}
		leverage *= mu
		excess := (y-mu)*(y-mu) - y
		score.Add(excess)
		score.Add(leverage * mu)
		squares.Add(mu * mu)
		means[i], second[i], first[i] = mu, excess/mu, 1
	}
	tests := []Test{{
		Name: "score test of overdispersion", Statistic: score.Total() / math.Sqrt(2*squares.Total()),
		Method: "Dean, against the variance μ + αμ², adjusted for estimated means; one-sided",
	}}
	for _, t := range []struct {
		name, against string
		on            []float64
	}{
		{"regression test of overdispersion, quadratic", "μ + αμ²", means},
		{"regression test of overdispersion, linear", "μ + αμ", first},
	} {
		tests = append(tests, Test{
			Name: t.name, Statistic: throughOrigin(t.on, second),
			Method: "Cameron and Trivedi, against the variance " + t.against + "; one-sided",
		})
	}
	for i := range tests {
		tests[i].DF = math.NaN()
		tests[i].P = upperNormalTail(tests[i].Statistic)
	}
	return tests, nil
}

// throughOrigin is the t statistic of the regression of y on x without an
// intercept: NaN without residual variation.
func throughOrigin(x, y []float64) float64 {
	var xy, xx Sum
	for i := range x {
		xy.Add(x[i] * y[i])
		xx.Add(x[i] * x[i])
	}
	b := xy.Total() / xx.Total()
	var residual Sum
	scale := 0.0
	for i := range x {
		r := y[i] - b*x[i]
		residual.Add(r * r)
		scale = math.Max(scale, math.Abs(y[i]))
	}
	s2 := residual.Total() / float64(len(x)-1)
	if !(s2 > 1e-20*scale*scale) {
		return math.NaN()
	}
	return b / math.Sqrt(s2/xx.Total())
}

// upperNormalTail is P(Z >= z).
func upperNormalTail(z float64) float64 { return math.Erfc(z/math.Sqrt2) / 2 }
