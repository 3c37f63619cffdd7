package stats

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"heelcohort/stats/internal/published"
)

func ExampleICC() {
	// Six targets, four judges.
	ratings := [][]float64{{9, 2, 5, 8}, {6, 1, 3, 2}, {8, 4, 6, 8}, {7, 1, 2, 6}, {10, 5, 6, 9}, {6, 2, 4, 7}}
	for _, model := range []ICCModel{OneWay, TwoWayAgreement, TwoWayConsistency} {
		r, err := ICC(ratings, model, LimitOptions{})
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("%v: %.2f, of the mean %.2f\n", model, r.Single.Value, r.Average.Value)
	}
	// Output:
	// one-way: 0.17, of the mean 0.44
	// two-way agreement: 0.29, of the mean 0.62
	// two-way consistency: 0.71, of the mean 0.91
}

func TestICCShroutFleiss(t *testing.T) {
	want := published.Load(t, "shrout-fleiss-1979")
	var ratings [][]float64
	for j := range 4 {
		for i, x := range want.Floats(fmt.Sprintf("judge%d", j+1)) {
			if j == 0 {
				ratings = append(ratings, nil)
			}
			ratings[i] = append(ratings[i], x)
		}
	}
	for _, model := range []ICCModel{OneWay, TwoWayAgreement, TwoWayConsistency} {
		r, err := ICC(ratings, model, LimitOptions{})
		must(t, err)
		want.Check(fmt.Sprintf("icc_%d_1", model), r.Single.Value)
		want.Check(fmt.Sprintf("icc_%d_k", model), r.Average.Value)
		if model == OneWay {
			want.Check("between", r.Between)
			want.Check("within", r.Within)
			want.Check("judges", r.Columns)
			want.Check("residue", r.Residue)
		}
	}
}

// By hand: two raters, the second higher by 2 with noise. Ratings 1 3 / 3 5 /
// 5 6 / 7 10: means 2, 4, 5.5, 8.5 about 5; B = 2(9+1+1/4+49/4)/3 = 15;
// raters 4 and 6: C = 8; within 2·(1+1+1/4+9/4) = 9 over 4; E = (9−8)/3 = 1/3.
// Consistency (15−1/3)/(15+1/3) = 22/23; agreement (44/3)/(15+1/3+2·(23/3)/4);
// one-way (15−9/4)/(15+9/4). Errors of measurement: 3/2, √(1/3+23/12), √(1/3).
func TestICCByHand(t *testing.T) {
	ratings := [][]float64{{1, 3}, {3, 5}, {5, 6}, {7, 10}}
	for model, want := range map[ICCModel][2]float64{
		OneWay:            {51.0 / 69, 1.5},
		TwoWayAgreement:   {44.0 / 3 / (46.0/3 + 23.0/6), math.Sqrt(1.0/3 + 23.0/12)},
		TwoWayConsistency: {22.0 / 23, math.Sqrt(1.0 / 3)},
	} {
		r, err := ICC(ratings, model, LimitOptions{})
		must(t, err)
		if !near(r.Single.Value, want[0], 1e-14) || !near(r.SEM, want[1], 1e-14) || !near(r.Detectable, 1.959963984540054*math.Sqrt2*want[1], 1e-14) {
			t.Errorf("%v: got %v, error of measurement %v, want %v", model, r.Single.Value, r.SEM, want)
		}
		if average := 2 * want[0] / (1 + want[0]); !near(r.Average.Value, average, 1e-14) {
			t.Errorf("%v: average %v, want %v", model, r.Average.Value, average)
		}
	}
}

// Location and scale do not matter, nor does the order of subjects and raters;
// consistency does not see a shift of one rater.
func TestICCProperties(t *testing.T) {
	r := rand.New(rand.NewPCG(19, 96))
	for range 200 {
		c := randomMeasurement(r)
		var moved, shifted [][]float64
		for i := range c.Ratings {
			row := c.Ratings[len(c.Ratings)-1-i]
			var a, b []float64
			for j, x := range row {
				a = append(a, 1e4-3*x)
				b = append(b, x+float64(10*j))
			}
			a[0], a[1] = a[1], a[0]
			moved, shifted = append(moved, a), append(shifted, b)
		}
		for _, model := range []ICCModel{OneWay, TwoWayAgreement, TwoWayConsistency} {
			one, err := ICC(c.Ratings, model, LimitOptions{})
			must(t, err)
			two, err := ICC(moved, model, LimitOptions{})
			must(t, err)
			if !near(one.Single.Value, two.Single.Value, 1e-8) || !near(one.Single.Lower, two.Single.Lower, 1e-8) || !near(3*one.SEM, two.SEM, 1e-8) {
				t.Errorf("%v: %+v, moved %+v", model, one, two)
			}
			if e := one.Single; !(e.Lower <= e.Value && e.Value <= e.Upper && e.Upper <= 1) {
				t.Errorf("%v: limits %v to %v about %v", model, e.Lower, e.Upper, e.Value)
			}
			if model == TwoWayConsistency {
				three, err := ICC(shifted, model, LimitOptions{})
				must(t, err)
				if !near(one.Single.Value, three.Single.Value, 1e-8) {
					t.Errorf("consistency %v, with a shift %v", one.Single.Value, three.Single.Value)
				}
			}
		}
	}
}

func TestICCEdges(t *testing.T) {
	for _, one := range []struct {
		ratings [][]float64
		want    error
	}{
		{nil, ErrTooFewRows},
		{[][]float64{{1, 2}}, ErrTooFewRows},
		{[][]float64{{1}, {2}}, ErrTooFewRows},
		{[][]float64{{4, 4}, {4, 4}}, ErrNoVariance},
		{[][]float64{{1, math.NaN()}, {4, 4}}, ErrNotFinite},
	} {
		if _, err := ICC(one.ratings, OneWay, LimitOptions{}); !errors.Is(err, one.want) {
			t.Errorf("%v: error %v, want %v", one.ratings, err, one.want)
		}
	}
	if _, err := ICC([][]float64{{1, 2}, {1, 2}, {1, 2}}, TwoWayConsistency, LimitOptions{}); !errors.Is(err, ErrNoVariance) {
		t.Errorf("subjects do not differ: %v", err)
	}
	// A shift and nothing else: consistency is complete, without limits;
	// agreement has both.
	shifted := [][]float64{{1.1, 2.1}, {2.2, 3.2}, {5.7, 6.7}, {3.3, 4.3}}
	r, err := ICC(shifted, TwoWayConsistency, LimitOptions{})
	must(t, err)
	if r.Single.Value != 1 || !math.IsNaN(r.Single.Lower) || !warned(r.Single.Warnings, "limit-not-estimable") || r.Single.P != 0 {
		t.Errorf("consistency: %+v", r)
	}
	r, err = ICC(shifted, TwoWayAgreement, LimitOptions{})
	must(t, err)
	if e := r.Single; !(e.Lower < e.Value && e.Value < e.Upper && e.Upper < 1) {
		t.Errorf("agreement: %+v", e)
	}
	r, err = ICC([][]float64{{1, 3}, {3, 1}}, OneWay, LimitOptions{})
	must(t, err)
	if r.Single.Value != -1 || !math.IsNaN(r.Average.Value) || !warned(r.Average.Warnings, "not-estimable") || !warned(r.Single.Warnings, "negative-icc") {
		t.Errorf("subjects with one mean: %+v", r)
	}
	panics(t, "ICCModel(0)", func() { _, _ = ICC(shifted, 0, LimitOptions{}) })
}
