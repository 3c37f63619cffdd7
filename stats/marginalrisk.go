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
// or the mean of exp(b0 + x[i]'b) for a model of log risks (FitLogBinomial,
// FitModifiedPoisson).
//
// x holds one row of covariates for each row of the data, in the columns of the
// fit, usually with the exposure set to one level in all rows and the others as
// observed: standardisation over the study's own covariates. With π the
// predicted risks, the gradient of m is the mean of π(1−π)(1, x[i]), for log
// risks that of π(1, x[i]), and with the covariance of the fit, whatever it is
// made of, SE is that of logit m; limits are symmetric there, by Student's t
// where the fit has degrees of freedom.
//
// The covariates are taken as given, not as a sample; the model must hold, and
// the risks compare groups free of confounding by the covariates in it only. In
// a model with a coefficient for every combination of levels it is the directly
// standardised risk. It returns ErrNoData without rows, ErrNotFinite, and
// ErrBoundary where a model of log risks predicts a risk of 1 or more for a row;
// rows that do not fit the model's columns, and a fit of another model, are the
// caller's mistake.
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
	if f.risk == "" {
		panic("stats: a marginal risk of a fit that is not a model of risks")
	}
	var total Sum
	sums := make([]Sum, p)
	var broken, certain []int
	for i, row := range x {
		if len(row) != p-1 {
			panic(fmt.Sprintf("stats: row %d has %d covariates, expected %d", i+1, len(row), p-1))
		}
		eta := f.Coefficients[0] + dot(row, f.Coefficients[1:])
		if !finite(eta) {
			broken = append(broken, i)
			continue
		}
		risk, slope := f.risk.at(eta)
		if f.risk == logRisk && risk >= 1 {
			certain = append(certain, i)
		}
		total.Add(risk)
		sums[0].Add(slope)
		for j, v := range row {
			sums[j+1].Add(slope * v)
		}
	}
	if broken != nil {
		return 0, nil, fmt.Errorf("%w: %d of %d rows (%s)", ErrNotFinite, len(broken), len(x), firstRows(broken))
	}
	if certain != nil {
		return 0, nil, fmt.Errorf("%w in %d of %d rows (%s)", ErrBoundary, len(certain), len(x), firstRows(certain))
	}
	n := float64(len(x))
	gradient = make([]float64, p)
	for j := range gradient {
		gradient[j] = sums[j].Total() / n
	}
	return total.Total() / n, gradient, nil
}

// A riskLink is the scale on which a model of risks is linear.
type riskLink string

const (
	logitRisk riskLink = "logit"
	logRisk   riskLink = "log"
)

// riskLinkOf a family; "" of one that has no risks.
func riskLinkOf(family glmFamily) riskLink {
	switch family.(type) {
	case logistic:
		return logitRisk
	case logBinomial:
		return logRisk
	}
	return ""
}

// at is the risk at a linear predictor, and its derivative.
func (l riskLink) at(eta float64) (risk, slope float64) {
	if l == logRisk {
		risk = math.Exp(eta)
		return risk, risk
	}
	_, slope = logistic{}.mean(0, eta)
	return 1 / (1 + math.Exp(-eta)), slope
}
