package demo

import "heelcohort/stats"

// StatsMethods are the methods of package stats as the demonstration's plan
// uses them: exact limits of rates and rate ratios, log limits of odds and
// risk ratios, Efron's handling of ties with errors clustered by child, and
// complementary log-log limits of the curve.
func StatsMethods() Methods {
	return Methods{
		Name: "package stats",
		Rate: func(events int, amount float64) (Limits, error) {
			return limitsOf(stats.Rate(events, amount, stats.RateOptions{Level: coverageLevel}))
		},
		RateRatio: func(events int, amount float64, events2 int, amount2 float64) (Limits, error) {
			return limitsOf(stats.RateRatio(events, amount, events2, amount2, stats.RateRatioOptions{Level: coverageLevel}))
		},
		OddsRatio: func(group, reference [2]int) (Limits, error) {
			return limitsOf(stats.OddsRatio(group[0], group[1], reference[0], reference[1], stats.LimitOptions{Level: coverageLevel}))
		},
		RiskRatio: func(group, reference [2]int) (Limits, error) {
			return limitsOf(stats.RiskRatio(group[0], group[1], reference[0], reference[1], stats.LimitOptions{Level: coverageLevel}))
		},
		HazardRatio: hazardRatio,
		Survival: func(rows *Returns, at float64) (Limits, error) {
			curve, err := productLimitCurve(rows)
			if err != nil {
				return Limits{}, err
			}
			p := curve.At(at)
			return Limits{p.Survival, p.Lower, p.Upper}, nil
		},
		Median: func(rows *Returns) (Limits, error) {
			curve, err := productLimitCurve(rows)
			if err != nil {
				return Limits{}, err
			}
			return limitsOf(curve.Quantile(0.5), nil)
		},
	}
}

// limitsOf takes the limits of an estimate.
func limitsOf(e stats.Estimate, err error) (Limits, error) {
	return Limits{e.Value, e.Lower, e.Upper}, err
}

// hazardRatio fits the model of arch type and takes one coefficient.
func hazardRatio(rows *Returns, arch int) (Limits, error) {
	var terms []string
	column := make(map[int]int)
	for a, name := range Arches {
		if name != "normal" {
			column[a] = len(terms)
			terms = append(terms, "arch="+name)
		}
	}
	x := make([][]float64, len(rows.Exit))
	for i := range x {
		x[i] = make([]float64, len(terms))
		if k, ok := column[rows.Arch[i]]; ok {
			x[i][k] = 1
		}
	}
	times := stats.Times{Entry: rows.Entry, Exit: rows.Exit, Status: rows.Event}
	fit, err := stats.FitCox(times, x, terms, stats.CoxOptions{Level: coverageLevel, Cluster: rows.Child})
	if err != nil {
		return Limits{}, err
	}
	return limitsOf(fit.Estimates[column[arch]], nil)
}

// productLimitCurve is the curve of rows that all enter at 0.
func productLimitCurve(rows *Returns) (stats.Curve, error) {
	return stats.KaplanMeier(stats.Times{Exit: rows.Exit, Status: rows.Event}, stats.CurveOptions{Level: coverageLevel})
}
