package stats

import (
	"fmt"
	"math"
)

// FitPoisson fits the log-linear model of rates events ~ Poisson(personTime ×
// exp(b0 + x'b)) by maximum likelihood. x holds one row of covariates for each
// count, terms the names of its columns; the function adds the intercept, the
// log rate of the reference, as the first coefficient. A nil personTime is one
// unit for each row. Newton's method (iteratively reweighted least squares)
// runs until the linear predictors stand still to nine digits.
//
// Estimates are rate ratios exp(b) with Wald limits exp(b ± z SE) and p-values.
// Fit.Tests holds the likelihood ratio and Wald tests that all coefficients but
// the intercept are 0. With Cluster, SE and limits use the robust covariance
// with the factor G/(G−1) for G clusters (Robust has other forms, and Reference
// a t distribution, for few clusters): right for repeated events of a child,
// whatever the variance. With Dispersion the
// model-based covariance is multiplied by Pearson's chi-square over its degrees
// of freedom, for counts that vary by that factor more than Poisson's.
//
// With a count of 0 or 1 for each person and Cluster their number, the ratios
// are risk ratios (Zou G. Am J Epidemiol 2004;159:702-706).
//
// It returns ErrNoData and ErrTooFewRows; ErrNotFinite for covariates or events
// that are not; ErrNegative for events below 0; ErrNoPersonTime for rows
// without positive person-time (leave them out: they hold no information);
// ErrNoEvents; ErrCollinear naming a column that is constant or a combination
// of others; ErrSeparation naming the terms whose coefficients would be
// infinite, such as a level without events; ErrTooFewClusters; ErrNotConverged.
// Doubts are the warnings few-events, few-clusters and overdispersed.
//
// Reference: Breslow NE, Day NE. Statistical Methods in Cancer Research, vol.
// II. IARC Sci Publ 82, 1987, ch. 4. McCullagh P, Nelder JA. Generalized Linear
// Models, 2nd ed. Chapman & Hall, 1989.
func FitPoisson(x [][]float64, terms []string, events, personTime []float64, opts GLMOptions) (Fit, error) {
	m, err := countModel("Poisson regression", x, terms, events, personTime, opts)
	if err != nil {
		return Fit{}, err
	}
	return m.fit(opts)
}

// countModel is a log-linear model of counts that is to be fitted, Poisson's
// until another family is set.
func countModel(model string, x [][]float64, terms []string, events, personTime []float64, opts GLMOptions) (*glm, error) {
	if personTime != nil && len(personTime) != len(events) {
		panic(fmt.Sprintf("stats: %d person-times for %d counts", len(personTime), len(events)))
	}
	offset, total, err := poissonRows(events, personTime)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", model, err)
	}
	m, err := newGLM(model, "rate ratio", poisson{}, x, terms, events, offset, opts)
	if err != nil {
		return nil, err
	}
	if total == 0 {
		return nil, fmt.Errorf("%s: %w in %d rows", model, ErrNoEvents, len(events))
	}
	m.events = int(math.Round(total))
	m.fewest = m.events
	return m, nil
}

// poissonRows returns the log person-times and the sum of the events, and
// refuses rows that hold no count of anything.
func poissonRows(events, personTime []float64) (offset []float64, total float64, err error) {
	var infinite, negative, timeless []int
	offset = make([]float64, len(events))
	for i, y := range events {
		total += y
		if !finite(y) {
			infinite = append(infinite, i)
		}
		if y < 0 {
			negative = append(negative, i)
		}
		if personTime == nil {
			continue
		}
		if t := personTime[i]; !(t > 0) || !finite(t) {
			timeless = append(timeless, i)
		}
		offset[i] = math.Log(personTime[i])
	}
	switch {
	case infinite != nil:
		return nil, 0, fmt.Errorf("events: %w: %d of %d rows (%s)", ErrNotFinite, len(infinite), len(events), firstRows(infinite))
	case negative != nil:
		return nil, 0, fmt.Errorf("events: %w: %d of %d rows (%s)", ErrNegative, len(negative), len(events), firstRows(negative))
	case timeless != nil:
		return nil, 0, fmt.Errorf("%w: %d of %d rows (%s)", ErrNoPersonTime, len(timeless), len(events), firstRows(timeless))
	}
	return offset, total, nil
}

// poisson is the Poisson distribution with its log link.
type poisson struct{}

// null is the log of the crude rate.
func (poisson) null(y, offset []float64) float64 {
	largest := offset[0]
	for _, o := range offset {
		largest = math.Max(largest, o)
	}
	events, time := 0.0, 0.0
	for i, v := range y {
		events += v
		time += math.Exp(offset[i] - largest)
	}
	return math.Log(events/time) - largest
}

func (poisson) mean(y, eta float64) (residual, variance float64) {
	mu := math.Exp(eta)
	return y - mu, mu
}

// deviance is 2 (y log(y/μ) − (y − μ)).
func (poisson) deviance(y, eta float64) float64 {
	mu := math.Exp(eta)
	if y == 0 {
		return 2 * mu
	}
	return 2 * (float64(y*(math.Log(y)-eta)) - (y - mu))
}

func (poisson) logLik(y, eta float64) float64 {
	factorial, _ := math.Lgamma(y + 1)
	return float64(y*eta) - math.Exp(eta) - factorial
}

func (poisson) recedes(y, step, slack float64) bool {
	return step <= slack && (y == 0 || step >= -slack)
}
