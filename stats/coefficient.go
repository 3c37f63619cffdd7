package stats

// Coefficient is the coefficient with the given index of f.Terms, on the
// linear predictor's scale, with Wald limits b ± z SE and the two-sided p-value
// of b/SE. A level of 0 means 0.95.
func (f Fit) Coefficient(i int, level float64) Estimate {
	level = confidenceLevel(level)
	b, se := f.Coefficients[i], f.SE[i]
	half := criticalZ(level) * se
	method := "Wald limits"
	if f.Robust != "" {
		method += ", " + f.Robust
	}
	return Estimate{
		Measure: "coefficient", Term: f.Terms[i], Value: b, Lower: b - half, Upper: b + half, SE: se,
		Level: level, P: twoSidedNormalP(b / se), Method: f.Model + ", " + method,
	}
}
