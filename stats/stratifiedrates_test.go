package stats

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"heelcohort/stats/internal/published"
)

func ExampleMantelHaenszelRateRatio() {
	e, err := MantelHaenszelRateRatio([]RateStratum{
		{Events1: 8, PersonTime1: 900, Events0: 10, PersonTime0: 2100}, // 8 to 10 years
		{Events1: 14, PersonTime1: 1500, Events0: 6, PersonTime0: 1300},
	}, LimitOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f (%.2f to %.2f), p = %.3f\n", e.Value, e.Lower, e.Upper, e.P)
	// Output: 1.95 (1.00 to 3.80), p = 0.047
}

func dollHill(want *published.Set) []RateStratum {
	deaths, years := want.Ints("deaths"), want.Floats("years")
	var strata []RateStratum
	for i := range 5 {
		strata = append(strata, RateStratum{deaths[i], years[i], deaths[i+5], years[i+5]})
	}
	return strata
}

func TestStratifiedRatesDollHill(t *testing.T) {
	want := published.Load(t, "doll-hill-1966-strata")
	ages := want.Text("age")
	strata := dollHill(want)
	var all RateStratum
	var smokers, others, years1, years0 []float64
	for i, s := range strata {
		e, err := RateRatio(s.Events1, s.PersonTime1, s.Events0, s.PersonTime0, RateRatioOptions{})
		must(t, err)
		want.Check("ratio_"+ages[i], e.Value)
		all.Events1 += s.Events1
		all.Events0 += s.Events0
		all.PersonTime1 += s.PersonTime1
		all.PersonTime0 += s.PersonTime0
		smokers = append(smokers, float64(s.Events1)/s.PersonTime1)
		others = append(others, float64(s.Events0)/s.PersonTime0)
		years1, years0 = append(years1, s.PersonTime1), append(years0, s.PersonTime0)
	}
	crude, err := RateRatio(all.Events1, all.PersonTime1, all.Events0, all.PersonTime0, RateRatioOptions{})
	must(t, err)
	want.Check("crude", crude.Value)
	pooled, err := MantelHaenszelRateRatio(strata, LimitOptions{})
	must(t, err)
	want.Check("pooled", pooled.Value)
	want.Check("pooled_lower", pooled.Lower)
	want.Check("pooled_upper", pooled.Upper)
	homogeneity, err := RateRatioHomogeneity(strata)
	must(t, err)
	want.Check("homogeneity", homogeneity.Statistic)
	want.Check("homogeneity_p", homogeneity.P)
	if homogeneity.DF != 4 {
		t.Errorf("%v degrees of freedom, want 4", homogeneity.DF)
	}
	// Standardised to the smokers: their deaths over those expected of them.
	indirect, err := IndirectStandardisation(all.Events1, years1, others, RateOptions{})
	must(t, err)
	want.Check("standardised_to_smokers", indirect.Value)
	// Standardised to the others: two directly standardised rates.
	direct := func(rate []float64) float64 {
		var counts []int
		var time []float64
		for i, s := range strata {
			if rate[i] == smokers[i] {
				counts, time = append(counts, s.Events1), append(time, s.PersonTime1)
			} else {
				counts, time = append(counts, s.Events0), append(time, s.PersonTime0)
			}
		}
		e, err := DirectStandardisation(counts, time, years0, StandardOptions{})
		must(t, err)
		return e.Value
	}
	want.Check("standardised_to_nonsmokers", direct(smokers)/direct(others))
	for quantity, weights := range map[string][]float64{"standardised_to_smokers": years1, "standardised_to_nonsmokers": years0} {
		e, err := StandardisedRateRatio(strata, weights, LimitOptions{})
		must(t, err)
		want.Check(quantity, e.Value)
	}
}

// With one stratum the pooled ratio and difference are the plain ones, and so
// are their errors and limits.
func TestStratifiedRatesOfOneStratum(t *testing.T) {
	s := RateStratum{9, 400, 5, 700}
	ratio, err := MantelHaenszelRateRatio([]RateStratum{s}, LimitOptions{})
	must(t, err)
	plain, err := RateRatio(s.Events1, s.PersonTime1, s.Events0, s.PersonTime0, RateRatioOptions{Method: RatioLog})
	must(t, err)
	score, err := RateRatio(s.Events1, s.PersonTime1, s.Events0, s.PersonTime0, RateRatioOptions{Method: RatioScore})
	must(t, err)
	if !near(ratio.Value, plain.Value, 1e-14) || !near(ratio.SE, plain.SE, 1e-14) || !near(ratio.P, score.P, 1e-12) {
		t.Errorf("pooled %+v, plain %+v, score %+v", ratio, plain, score)
	}
	difference, err := MantelHaenszelRateDifference([]RateStratum{s}, RateOptions{Per: 1000})
	must(t, err)
	normal, err := RateDifference(s.Events1, s.PersonTime1, s.Events0, s.PersonTime0, RateDifferenceOptions{Per: 1000})
	must(t, err)
	if !near(difference.Value, normal.Value, 1e-12) || !near(difference.Lower, normal.Lower, 1e-12) || !near(difference.P, normal.P, 1e-12) {
		t.Errorf("pooled %+v, plain %+v", difference, normal)
	}
	if _, err := RateRatioHomogeneity([]RateStratum{s}); !errors.Is(err, ErrNoVariance) {
		t.Errorf("homogeneity of one stratum: %v", err)
	}
}

// Strata with the very same rates agree perfectly; a stratum with one group
// alone changes nothing but a warning.
func TestStratifiedRatesStrata(t *testing.T) {
	strata := []RateStratum{{4, 100, 2, 100}, {8, 200, 2, 100}, {12, 100, 12, 200}}
	test, err := RateRatioHomogeneity(strata)
	must(t, err)
	if test.Statistic > 1e-25 || test.DF != 2 || !near(test.P, 1, 1e-12) {
		t.Errorf("equal ratios: %+v", test)
	}
	a, err := MantelHaenszelRateRatio(strata, LimitOptions{})
	must(t, err)
	b, err := MantelHaenszelRateRatio(append(strata, RateStratum{5, 50, 0, 0}), LimitOptions{})
	must(t, err)
	if a.Value != b.Value || a.SE != b.SE || !warned(b.Warnings, "one-sided-strata") || len(a.Warnings) > 0 {
		t.Errorf("got %+v and %+v", a, b)
	}
	// Given their total, 3 and 1 events at equal person-times under R = 2:
	// π = 2/3; by hand (3 − 8/3)²/(8/9) = 1/8.
	sparse := []RateStratum{{3, 1, 1, 1}, {1, 1, 0, 1}, {0, 1, 1, 1}}
	test, err = RateRatioHomogeneity(sparse)
	must(t, err)
	if want := 1.0/8 + 1.0/2 + 2; !near(test.Statistic, want, 1e-12) || test.DF != 2 {
		t.Errorf("strata with no events in a group: %+v, want %v", test, want)
	}
}

func TestStratifiedRatesRefuse(t *testing.T) {
	for _, c := range []struct {
		strata []RateStratum
		want   error
	}{
		{nil, ErrNoData},
		{[]RateStratum{{1, 2, 0, 0}}, ErrNoData},
		{[]RateStratum{{0, 2, 0, 3}}, ErrNoEvents},
		{[]RateStratum{{0, 2, 4, 3}}, ErrZeroCell},
	} {
		if e, err := MantelHaenszelRateRatio(c.strata, LimitOptions{}); !errors.Is(err, c.want) {
			t.Errorf("%v: got %+v, %v, want %v", c.strata, e, err, c.want)
		}
	}
	panics(t, "stratum 0", func() { _, _ = MantelHaenszelRateRatio([]RateStratum{{-1, 2, 4, 3}}, LimitOptions{}) })
	panics(t, "stratum 0", func() { _, _ = MantelHaenszelRateRatio([]RateStratum{{1, math.NaN(), 4, 3}}, LimitOptions{}) })
}
