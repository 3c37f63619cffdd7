package stats

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"heelcohort/stats/internal/published"
)

func ExampleProportionTrend() {
	// Children with an episode by hours of training a week.
	test, err := ProportionTrend([]int{8, 15, 21}, []int{60, 70, 65}, []float64{2, 4, 7}, TrendOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f, p = %.3f\n", test.Statistic, test.P)
	// Output: 6.50, p = 0.011
}

func TestProportionTrendGraubardKorn(t *testing.T) {
	want := published.Load(t, "graubard-korn-1987")
	score, events, n := want.Floats("score"), want.Ints("malformed"), want.Ints("n")
	var table [][]int
	all := 0
	for i, k := range events {
		table = append(table, []int{k, n[i] - k})
		all += n[i]
	}
	small, err := ProportionTrend(events, n, score, TrendOptions{SmallSample: true})
	must(t, err)
	want.Check("M2", small.Statistic)
	want.Check("p", small.P)
	want.Check("r", math.Sqrt(small.Statistic/float64(all-1)))
	plain, err := ProportionTrend(events, n, score, TrendOptions{})
	must(t, err)
	want.Check("z", math.Sqrt(plain.Statistic))
	chi, err := ChiSquare(table)
	must(t, err)
	want.Check("pearson", chi.Statistic)
	g, err := LikelihoodRatio(table)
	must(t, err)
	want.Check("deviance", g.Statistic)
}

// By hand: 0, 1 and 2 of 2 at the scores 0, 1, 2 add up to 2 above what is
// expected, with variance 1, or 6/5. Of the C(6,3) choices 2 are like that and 2
// as far on the other side. With the score 0 1 3 and 2, 1, 1 persons, of whom
// the last has the outcome alone, the sum is 3; its mean is 1, so that only 3 is
// as far: 1/4.
func TestProportionTrendByHand(t *testing.T) {
	events, n, score := []int{0, 1, 2}, []int{2, 2, 2}, []float64{0, 1, 2}
	for _, c := range []struct {
		small bool
		want  float64
	}{{false, 4}, {true, 10.0 / 3}} {
		test, err := ProportionTrend(events, n, score, TrendOptions{c.small})
		must(t, err)
		if !near(test.Statistic, c.want, 1e-14) || !near(test.P, math.Erfc(math.Sqrt(c.want/2)), 1e-13) || !warned(test.Warnings, "few-expected") {
			t.Errorf("small sample %v: %+v, want %v", c.small, test, c.want)
		}
	}
	linear, err := LinearByLinear([][]int{{0, 2}, {1, 1}, {2, 0}}, score, []float64{1, 0})
	must(t, err)
	if !near(linear.Statistic, 10.0/3, 1e-14) {
		t.Errorf("linear by linear: %+v", linear)
	}
	exact, err := ProportionTrendExact(events, n, score)
	must(t, err)
	if !near(exact.P, 0.2, 1e-14) {
		t.Errorf("exact: %+v", exact)
	}
	exact, err = ProportionTrendExact([]int{0, 0, 1}, []int{2, 1, 1}, []float64{0, 1, 3})
	must(t, err)
	if !near(exact.P, 0.25, 1e-14) {
		t.Errorf("exact: %+v", exact)
	}
}

func ExampleTrendDeparture() {
	// Episodes are most frequent in the middle.
	test, err := TrendDeparture([]int{2, 9, 3}, []int{20, 20, 20}, []float64{9, 11, 13})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f on %.0f degree of freedom, p = %.3f\n", test.Statistic, test.DF, test.P)
	// Output: 7.87 on 1 degree of freedom, p = 0.005
}

// By hand: 0, 1, 2 of 2 lie on a line; 0, 2, 0 of 2 have no trend, and
// ((2/3)² + (4/3)² + (2/3)²)/(4/9) = 6.
func TestTrendDepartureByHand(t *testing.T) {
	for _, c := range []struct {
		events []int
		want   float64
	}{{[]int{0, 1, 2}, 0}, {[]int{0, 2, 0}, 6}} {
		test, err := TrendDeparture(c.events, []int{2, 2, 2}, []float64{0, 1, 2})
		must(t, err)
		if !near(test.Statistic, c.want, 1e-13) || test.DF != 1 || !near(test.P, math.Erfc(math.Sqrt(c.want/2)), 1e-6) {
			t.Errorf("%v: %+v, want %v", c.events, test, c.want)
		}
	}
	if _, err := TrendDeparture([]int{1, 2}, []int{4, 4}, []float64{0, 1}); !errors.Is(err, ErrNoVariance) {
		t.Errorf("two groups: error %v", err)
	}
}

// Shifting, scaling and turning the scores changes nothing, nor does exchanging
// outcomes; two groups have Pearson's chi-square and, exactly, Fisher's test
// where both groups are of one size.
func TestProportionTrendProperties(t *testing.T) {
	r := rand.New(rand.NewPCG(55, 375))
	for range 300 {
		k := 2 + r.IntN(4)
		events, n, without, score, other := make([]int, k), make([]int, k), make([]int, k), make([]float64, k), make([]float64, k)
		var table [][]int
		for i := range k {
			n[i] = 1 + r.IntN(30)
			if k == 2 && i == 1 {
				n[1] = n[0]
			}
			events[i] = r.IntN(n[i] + 1)
			without[i] = n[i] - events[i]
			score[i] = float64(r.IntN(12)) + float64(i)*1.25
			other[i] = 3 - 0.7*score[i]
			table = append(table, []int{events[i], without[i]})
		}
		plain, err := ProportionTrend(events, n, score, TrendOptions{})
		if err != nil {
			continue
		}
		exact, err := ProportionTrendExact(events, n, score)
		must(t, err)
		for _, c := range []struct {
			events []int
			score  []float64
		}{{events, other}, {without, score}} {
			again, err := ProportionTrend(c.events, n, c.score, TrendOptions{})
			must(t, err)
			precise, err := ProportionTrendExact(c.events, n, c.score)
			must(t, err)
			if !near(again.Statistic, plain.Statistic, 1e-10) || !nearRelative(precise.P, exact.P, 1e-9) {
				t.Errorf("%v of %v at %v: %v, exact %v, otherwise %v, %v", events, n, score, plain.Statistic, exact.P, again.Statistic, precise.P)
			}
		}
		if k == 2 {
			chi, err := ChiSquare(table)
			must(t, err)
			fisher, err := Fisher(table)
			must(t, err)
			if !near(chi.Statistic, plain.Statistic, 1e-10) || !nearRelative(fisher.P, exact.P, 1e-9) {
				t.Errorf("%v: trend %v, %v, Pearson %v, Fisher %v", table, plain.Statistic, exact.P, chi.Statistic, fisher.P)
			}
		}
	}
}

func TestProportionTrendRefuses(t *testing.T) {
	for _, c := range []struct {
		name      string
		events, n []int
		score     []float64
		want      error
	}{
		{"one group", []int{1}, []int{2}, []float64{1}, ErrNoVariance},
		{"an empty group", []int{1, 0}, []int{2, 0}, []float64{1, 2}, ErrNoData},
		{"nobody", []int{0, 0}, []int{2, 4}, []float64{1, 2}, ErrNoEvents},
		{"everybody", []int{2, 4}, []int{2, 4}, []float64{1, 2}, ErrNoVariance},
		{"one score", []int{1, 2}, []int{2, 4}, []float64{3, 3}, ErrNoVariance},
	} {
		if _, err := ProportionTrend(c.events, c.n, c.score, TrendOptions{}); !errors.Is(err, c.want) {
			t.Errorf("%s: error %v, want %v", c.name, err, c.want)
		}
		if _, err := ProportionTrendExact(c.events, c.n, c.score); !errors.Is(err, c.want) {
			t.Errorf("%s, exact: error %v, want %v", c.name, err, c.want)
		}
	}
	// Irrational scores of many persons have a sum for each choice.
	events, n, score := make([]int, 40), make([]int, 40), make([]float64, 40)
	for i := range n {
		events[i], n[i], score[i] = 5, 10, math.Sqrt(float64(i)+0.5)
	}
	if _, err := ProportionTrendExact(events, n, score); !errors.Is(err, ErrTooLarge) {
		t.Errorf("too many sums: error %v", err)
	}
	panics(t, "3 of 2 persons", func() { _, _ = ProportionTrend([]int{3, 1}, []int{2, 2}, []float64{0, 1}, TrendOptions{}) })
	panics(t, "score NaN", func() { _, _ = ProportionTrend([]int{1, 1}, []int{2, 2}, []float64{0, math.NaN()}, TrendOptions{}) })
}
