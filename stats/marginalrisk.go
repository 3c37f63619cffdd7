package stats

import (
	"fmt"
	"math"
)

// MarginalRisk is the risk that a fitted logistic model (FitLogistic, FitFirth,
// FitGEE of the binomial family) predicts for everybody were their covariates x,
// averaged over the rows:
//
//	m = mean of 1/(1 + exp(−b0 − x[i]'b))
//
// x holds one row of covariates for each row of the data, in the columns of the
// fit, usually with the exposure set to one level in all rows and the others as
// observed: standardisation over the study's own covariates. With π the
// predicted risks, the gradient of m is the mean of π(1−π)(1, x[i]), and with the
// covariance of the fit, whatever it is made of, SE is that of logit m; limits
// are symmetric there, by Student's t where the fit has degrees of freedom.
//
// The covariates are taken as given, not as a sample; the model must hold, and
// the risks compare groups free of confounding by the covariates in it only. In
// a model with a coefficient for every combination of levels it is the directly
// standardised risk. It returns ErrNoData without rows and ErrNotFinite; rows
// that do not fit the model's columns are the caller's mistake.
//
// References: Lane PW, Nelder JA. Biometrics 1982;38:613-621. Greenland S.
// Model-based estimation of relative risks and other epidemiologic measures. Am
// J Epidemiol 2004;160:301-305.
func MarginalRisk(f Fit, x [][]float64, opts MarginalOptions) (Estimate, error) {
	m, gradient, err := marginalRisk(f, x)
	if err != nil {
		return Estimate{}, fmt.Errorf("marginal risk: %w", err)
	}
	for j := range gradient {
		gradient[j] /= m * (1 - m)
	}
	e := f.marginal("marginal risk", math.Log(m/(1-m)), gradient, opts, false)
	e.Value, e.Lower, e.Upper = m, 1/(1+math.Exp(-e.Lower)), 1/(1+math.Exp(-e.Upper))
	e.P = math.NaN()
	return e, nil
}

// MarginalRiskRatio is the ratio of the marginal risks with covariates one and
// zero, with limits on the log scale and the p-value of a log ratio of 0. SE is
// of the log ratio. See MarginalRisk.
func MarginalRiskRatio(f Fit, one, zero [][]float64, opts MarginalOptions) (Estimate, error) {
	a, left, b, right, err := twoMarginalRisks(f, one, zero)
	if err != nil {
		return Estimate{}, fmt.Errorf("marginal risk ratio: %w", err)
	}
	gradient := make([]float64, len(left))
	for j := range gradient {
		gradient[j] = left[j]/a - right[j]/b
	}
	return f.marginal("marginal risk ratio", math.Log(a/b), gradient, opts, true), nil
}

// MarginalRiskDifference is the difference of the marginal risks with
// covariates one and zero, with limits d ± z SE and the p-value of no
// difference. See MarginalRisk.
func MarginalRiskDifference(f Fit, one, zero [][]float64, opts MarginalOptions) (Estimate, error) {
	a, left, b, right, err := twoMarginalRisks(f, one, zero)
	if err != nil {
		return Estimate{}, fmt.Errorf("marginal risk difference: %w", err)
	}
	gradient := make([]float64, len(left))
	for j := range gradient {
		gradient[j] = left[j] - right[j]
	}
	return f.marginal("marginal risk difference", a-b, gradient, opts, false), nil
}

func twoMarginalRisks(f Fit, one, zero [][]float64) (a float64, left []float64, b float64, right []float64, err error) {
	if a, left, err = marginalRisk(f, one); err != nil {
		return a, left, b, right, err
	}
	b, right, err = marginalRisk(f, zero)
	return a, left, b, right, err
}

// marginalRisk is the mean predicted risk and its gradient.
func marginalRisk(f Fit, x [][]float64) (mean float64, gradient []float64, err error) {
	p := len(f.Coefficients)
	if len(x) == 0 {
		return 0, nil, ErrNoData
	}
	var total Sum
	sums := make([]Sum, p)
	var broken []int
	for i, row := range x {
		if len(row) != p-1 {
			panic(fmt.Sprintf("stats: row %d has %d covariates, expected %d", i+1, len(row), p-1))
		}
		eta := f.Coefficients[0] + dot(row, f.Coefficients[1:])
		if !finite(eta) {
			broken = append(broken, i)
			continue
		}
		_, variance := logistic{}.mean(0, eta)
		total.Add(1 / (1 + math.Exp(-eta)))
		sums[0].Add(variance)
		for j, v := range row {
			sums[j+1].Add(variance * v)
		}
	}
	if broken != nil {
		return 0, nil, fmt.Errorf("%w: %d of %d rows (%s)", ErrNotFinite, len(broken), len(x), firstRows(broken))
	}
	n := float64(len(x))
	gradient = make([]float64, p)
	for j := range gradient {
		gradient[j] = sums[j].Total() / n
	}
	return total.Total() / n, gradient, nil
}
