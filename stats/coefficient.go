package stats

// Coefficient is the coefficient with the given index of f.Terms, on the
// linear predictor's scale, with Wald limits b ± z SE and the two-sided p-value
// of b/SE, by the t distribution where the fit has RobustDF. A level of 0 means
// 0.95.
func (f Fit) Coefficient(i int, level float64) Estimate {
	level = confidenceLevel(level)
	b, se := f.Coefficients[i], f.SE[i]
	half := f.critical(i, level) * se
	method := "Wald limits"
	if f.Robust != "" {
		method += ", " + f.Robust + f.reference
	}
	return Estimate{
		Measure: "coefficient", Term: f.Terms[i], Value: b, Lower: b - half, Upper: b + half, SE: se,
		Level: level, P: f.tail(i, b/se), Method: f.Model + ", " + method,
	}
}

// critical is the quantile that the limits of a coefficient are made with.
func (f Fit) critical(i int, level float64) float64 {
	if f.RobustDF == nil {
		return criticalZ(level)
	}
	return criticalT(level, f.RobustDF[i])
}

// tail is the two-sided p-value of a coefficient over its error.
func (f Fit) tail(i int, z float64) float64 {
	if f.RobustDF == nil {
		return twoSidedNormalP(z)
	}
	return studentTail(z, f.RobustDF[i])
}
