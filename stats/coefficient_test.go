package stats

import "testing"

// Hosmer and Lemeshow's age and coronary disease: the z values of Table 1.3
// are b/SE; here b = 2, SE = 1 has limits 2 ± 1.959964 and P 0.0455 (any table
// of the normal distribution, six and four digits).
func TestFitCoefficient(t *testing.T) {
	f := Fit{Model: "logistic regression", Terms: []string{"x"}, Coefficients: []float64{2}, SE: []float64{1}}
	e := f.Coefficient(0, 0)
	if !near(e.Lower, 2-1.959964, 5e-7) {
		t.Errorf("lower of %+v", e)
	}
	if !near(e.Upper, 2+1.959964, 5e-7) {
		t.Errorf("upper of %+v", e)
	}
	if !near(e.P, 0.0455, 5e-5) {
		t.Errorf("P of %+v", e)
	}
}
