package stats

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

func ExampleCorrectMisclassification() {
	// Foot posture rated with sensitivity 0.9 and specificity 0.8 in everybody.
	rating := Classification{Sensitivity: 0.9, Specificity: 0.8}
	c, err := CorrectMisclassification(62, 90, 38, 210, Misclassification{Cases: rating, Others: rating})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.1f %.1f / %.1f %.1f, odds ratio %.2f\n", c.A, c.B, c.C, c.D, c.OddsRatio)
	// Output: 60.0 42.9 / 40.0 257.1, odds ratio 9.00
}

// By hand: 60 of 100 cases and 40 of 200 others exposed, rated with Se 9/10 and
// Sp 4/5 among cases, Se 4/5 and Sp 9/10 among others, give 62 and 38, and 48 and
// 152. The odds ratio is 60·160/(40·40) = 6, the risk ratio (60/100)/(40/200) = 3,
// and of 62 rated exposed 54 are.
func TestCorrectMisclassificationByHand(t *testing.T) {
	c, err := CorrectMisclassification(62, 48, 38, 152, Misclassification{Classification{0.9, 0.8}, Classification{0.8, 0.9}})
	must(t, err)
	for _, one := range []struct{ got, want float64 }{
		{c.A, 60},
		{c.B, 40},
		{c.C, 40},
		{c.D, 160},
		{c.OddsRatio, 6},
		{c.RiskRatio, 3},
		{c.PositiveCases, 54.0 / 62},
		{c.NegativeCases, 32.0 / 38},
		{c.PositiveOthers, 32.0 / 48},
		{c.NegativeOthers, 144.0 / 152},
	} {
		if !near(one.got, one.want, 1e-13) {
			t.Errorf("got %v, want %v", one.got, one.want)
		}
	}
}

// Multiplied by the matrix of classification the corrected counts are those
// rated; without error nothing changes; as many are exposed as the predictive
// values say.
func TestCorrectMisclassificationProperties(t *testing.T) {
	r := rand.New(rand.NewPCG(19, 77))
	corrected := 0
	for range 2000 {
		n := [4]int{1 + r.IntN(90), 1 + r.IntN(90), 1 + r.IntN(90), 1 + r.IntN(90)}
		m := Misclassification{Classification{0.7 + 0.3*r.Float64(), 0.7 + 0.3*r.Float64()}, Classification{0.7 + 0.3*r.Float64(), 0.7 + 0.3*r.Float64()}}
		c, err := CorrectMisclassification(n[0], n[1], n[2], n[3], m)
		if errors.Is(err, ErrNegative) {
			continue
		}
		must(t, err)
		corrected++
		a := m.Cases.Sensitivity*c.A + (1-m.Cases.Specificity)*c.C
		b := m.Others.Sensitivity*c.B + (1-m.Others.Specificity)*c.D
		exposed := c.PositiveCases*float64(n[0]) + (1-c.NegativeCases)*float64(n[2])
		if !near(a, float64(n[0]), 1e-10) || !near(b, float64(n[1]), 1e-10) || !near(c.A+c.C, float64(n[0]+n[2]), 1e-10) || !near(exposed, c.A, 1e-10) {
			t.Errorf("%v with %+v: %+v", n, m, c)
		}
		whole, err := CorrectMisclassification(n[0], n[1], n[2], n[3], Misclassification{Classification{1, 1}, Classification{1, 1}})
		must(t, err)
		plain, err := OddsRatio(n[0], n[1], n[2], n[3], LimitOptions{})
		must(t, err)
		if !near(whole.OddsRatio, plain.Value, 1e-13) {
			t.Errorf("without error %v, odds ratio %v", whole.OddsRatio, plain.Value)
		}
	}
	if corrected < 1000 {
		t.Errorf("only %d of 2000 tables could be corrected", corrected)
	}
}

func TestCorrectMisclassificationRefuses(t *testing.T) {
	good := Classification{0.9, 0.9}
	for _, one := range []struct {
		n    [4]int
		m    Misclassification
		want error
	}{
		{[4]int{5, 9, 95, 90}, Misclassification{good, good}, ErrNegative},
		{[4]int{5, 9, 5, 9}, Misclassification{Classification{0.5, 0.5}, good}, ErrUninformative},
		{[4]int{5, 9, 5, 9}, Misclassification{good, Classification{0.2, 0.7}}, ErrUninformative},
		{[4]int{0, 9, 0, 9}, Misclassification{good, good}, ErrNoData},
		{[4]int{9, 0, 9, 0}, Misclassification{good, good}, ErrNoData},
	} {
		if _, err := CorrectMisclassification(one.n[0], one.n[1], one.n[2], one.n[3], one.m); !errors.Is(err, one.want) {
			t.Errorf("%v with %+v: error %v, want %v", one.n, one.m, err, one.want)
		}
	}
	edge, err := CorrectMisclassification(10, 30, 90, 70, Misclassification{good, good})
	must(t, err)
	if edge.A != 0 || edge.OddsRatio != 0 || !math.IsInf(1/edge.OddsRatio, 1) {
		t.Errorf("nobody exposed among cases: %+v", edge)
	}
	panics(t, "sensitivity 90", func() { _, _ = CorrectMisclassification(1, 2, 3, 4, Misclassification{Classification{90, 80}, good}) })
}
