package stats

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// profileReach is how many standard errors from the estimate a limit is looked
// for before it counts as unbounded.
const profileReach = 1e4

// profiled is exp(b) with the limits at which twice the fall of a profile log
// likelihood is the chi-squared quantile, and the p-value of its fall at 0.
// profile gives the log likelihood with the coefficient held at a value, at most
// largest at the estimate b. A limit at which the equation could not be met is
// NaN, with the warning limit-not-estimable.
func profiled(b, se, largest, level float64, profile func(b float64) (float64, error)) (Estimate, error) {
	z := criticalZ(level)
	e := Estimate{Value: math.Exp(b), SE: se, Level: level}
	at0, err := profile(0)
	if err != nil {
		return e, err
	}
	e.P = chiSquaredTail(math.Max(0, 2*(largest-at0)), 1)
	limit := func(sign float64) (float64, error) {
		fall := func(x float64) (float64, error) {
			l, err := profile(x)
			return 2*(largest-l) - z*z, err
		}
		inside, step := b, z*se
		for {
			outside := b + sign*step
			f, err := fall(outside)
			switch {
			case err != nil:
				return 0, err
			case f >= 0:
				return fallRoot(fall, inside, outside)
			case step > profileReach*se:
				return math.Inf(int(sign)), nil
			}
			inside = outside
			step *= 2
		}
	}
	// A limit that could not be held against its equation is none.
	end := func(sign float64) (float64, error) {
		x, err := limit(sign)
		if errors.Is(err, ErrNotConverged) {
			e.Warnings = append(e.Warnings, Warning{"limit-not-estimable", fmt.Sprintf("A profile limit is not estimable: %v.", err)})
			return math.NaN(), nil
		}
		return math.Exp(x), err
	}
	if e.Lower, err = end(-1); err != nil {
		return e, err
	}
	e.Upper, err = end(1)
	return e, err
}

// fallRoot finds where a function turns from below to above 0, to ten digits, by
// the Illinois method. Where the function is not 0 there but jumps, it returns
// ErrNotConverged.
func fallRoot(f func(float64) (float64, error), below, above float64) (float64, error) {
	low, err := f(below)
	if err != nil {
		return 0, err
	}
	high, err := f(above)
	if err != nil {
		return 0, err
	}
	side := 0
	for range 200 {
		if math.Abs(above-below) <= 1e-11*(1+math.Abs(above)) {
			break
		}
		x := (below*high - above*low) / (high - low)
		y, err := f(x)
		if err != nil {
			return 0, err
		}
		switch {
		case math.Abs(y) < 1e-12:
			return x, nil
		case y < 0:
			below, low = x, y
			if side == -1 {
				high /= 2
			}
			side = -1
		default:
			above, high = x, y
			if side == 1 {
				low /= 2
			}
			side = 1
		}
	}
	if math.Abs(low) < 1e-6 {
		return below, nil
	}
	if math.Abs(high) < 1e-6 {
		return above, nil
	}
	x := (below + above) / 2
	y, err := f(x)
	if err == nil && !(math.Abs(y) < 1e-6) {
		err = fmt.Errorf("%w: the function jumps from %g to %g at %g", ErrNotConverged, low, high, x)
	}
	return x, err
}

// LogisticProfile gives the odds ratios of FitLogistic with profile likelihood
// limits: the values of a coefficient at which twice the fall of the log
// likelihood, maximised over the other coefficients, is the chi-squared quantile
// with one degree of freedom; P is of the likelihood ratio at 0. They follow the
// likelihood where Wald's do not, in small tables and near separation. Rows are
// taken to be independent: opts.Cluster and opts.Dispersion, for which this
// likelihood is not that of the data, are the caller's mistake.
//
// It returns the errors of FitLogistic. A limit that lies in no finite place is
// unbounded.
//
// Venzon DJ, Moolgavkar SH. A method for computing profile-likelihood-based
// confidence intervals. Appl Stat 1988;37:87-94.
func LogisticProfile(x [][]float64, terms []string, y []bool, opts GLMOptions) ([]Estimate, error) {
	if opts.Cluster != nil || opts.Dispersion {
		panic("stats: profile likelihood limits with clusters or dispersion")
	}
	return logisticLimits(x, terms, y, opts, "profile limits", "profile likelihood limits", func(_ Fit, _ int, at glmMaximum) float64 { return -at.deviance / 2 })
}

// logisticLimits are the odds ratios of FitLogistic with the limits at which
// twice the fall of a function of a coefficient, of which it is told the fit of
// the others, is the chi-squared quantile.
func logisticLimits(x [][]float64, terms []string, y []bool, opts GLMOptions, name, method string, function func(f Fit, coefficient int, at glmMaximum) float64) ([]Estimate, error) {
	f, err := FitLogistic(x, terms, y, opts)
	if err != nil {
		return nil, err
	}
	level := confidenceLevel(opts.Level)
	var list []Estimate
	for j, term := range terms {
		held := holdLogistic(x, terms, y, j)
		of := func(b float64) (float64, error) {
			at, err := held(b)
			if err != nil {
				return 0, err
			}
			return function(f, j+1, at), nil
		}
		e, err := profiled(f.Coefficients[j+1], f.SE[j+1], f.LogLik, level, of)
		if err != nil {
			return nil, fmt.Errorf("%s of %q: %w", name, term, err)
		}
		e.Measure, e.Term, e.Method = "odds ratio", term, method
		list = append(list, e)
	}
	return list, nil
}

// holdLogistic returns the fit of the other coefficients with coefficient j held
// at a value.
func holdLogistic(x [][]float64, terms []string, y []bool, j int) func(b float64) (glmMaximum, error) {
	outcome, _ := zeroOne(y)
	others := slices.Delete(slices.Clone(terms), j, j+1)
	rest := make([][]float64, len(x))
	for i, row := range x {
		rest[i] = slices.Delete(slices.Clone(row), j, j+1)
	}
	return func(b float64) (glmMaximum, error) {
		offset := make([]float64, len(x))
		for i, row := range x {
			offset[i] = b * (row[j] - x[0][j])
		}
		m, err := newGLM("logistic regression", "odds ratio", logistic{}, rest, others, outcome, offset, GLMOptions{})
		if err != nil {
			return glmMaximum{}, err
		}
		return m.maximise()
	}
}
