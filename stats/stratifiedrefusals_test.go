package stats

import (
	"errors"
	"math"
	"testing"
)

// What no stratum or one bears, method by method.
func TestStratifiedRefuses(t *testing.T) {
	type outcome map[string]error
	estimate := func(_ Estimate, err error) error { return err }
	test := func(_ Test, err error) error { return err }
	methods := map[string]func([]TableStratum) error{
		"odds": func(s []TableStratum) error { return estimate(MantelHaenszelOddsRatio(s, LimitOptions{})) },
		"risk": func(s []TableStratum) error { return estimate(MantelHaenszelRiskRatio(s, LimitOptions{})) },
		"sato": func(s []TableStratum) error {
			return estimate(MantelHaenszelRiskDifference(s, PooledDifferenceOptions{}))
		},
		"exact": func(s []TableStratum) error { return estimate(CommonOddsRatioExact(s, ExactOptions{})) },
		"cmh":   func(s []TableStratum) error { return test(CochranMantelHaenszel(s, CMHOptions{})) },
		"indep": func(s []TableStratum) error { return test(ConditionalIndependenceExact(s)) },
		"zelen": func(s []TableStratum) error { return test(HomogeneityExact(s)) },
		"bd":    func(s []TableStratum) error { return test(OddsRatioHomogeneity(s, HomogeneityOptions{})) },
		"rrhom": func(s []TableStratum) error { return test(RiskRatioHomogeneity(s)) },
		"rdhom": func(s []TableStratum) error { return test(RiskDifferenceHomogeneity(s)) },
	}
	all := func(err error) outcome {
		o := outcome{}
		for name := range methods {
			o[name] = err
		}
		return o
	}
	one := outcome{"zelen": ErrNoVariance, "bd": ErrNoVariance, "rrhom": ErrNoVariance, "rdhom": ErrNoVariance}
	events := all(ErrNoVariance)
	events["risk"], events["rrhom"] = ErrNoEvents, ErrNoEvents
	for _, c := range []struct {
		name   string
		strata []TableStratum
		want   outcome // nil where an answer is expected
	}{
		{"no strata", nil, all(ErrNoData)},
		{"empty strata", []TableStratum{{}, {}}, all(ErrNoData)},
		{"a group a stratum", []TableStratum{{3, 4, 0, 0}, {0, 0, 3, 3}}, all(ErrNoData)},
		{"nobody has the outcome", []TableStratum{{0, 4, 0, 2}, {0, 3, 0, 3}}, events},
		{"everybody has the outcome", []TableStratum{{4, 0, 2, 0}, {3, 0, 3, 0}}, all(ErrNoVariance)},
		{"one stratum", []TableStratum{{3, 4, 2, 5}}, one},
		{"one that counts", []TableStratum{{3, 4, 2, 5}, {0, 0, 2, 2}}, one},
		{"none among the reference", []TableStratum{{3, 4, 0, 5}, {2, 2, 0, 1}}, outcome{
			"odds": ErrZeroCell, "risk": ErrZeroCell, "bd": ErrZeroCell, "rrhom": ErrZeroCell,
		}},
		{"all exposed and no others", []TableStratum{{3, 0, 0, 5}, {2, 0, 0, 1}}, outcome{
			"odds": ErrZeroCell, "risk": ErrZeroCell, "bd": ErrZeroCell, "rrhom": ErrZeroCell, "sato": ErrNoVariance, "rdhom": ErrNoVariance,
		}},
		{"a zero in one stratum", []TableStratum{{3, 4, 0, 5}, {2, 2, 1, 1}}, outcome{"rrhom": ErrZeroCell}},
		{"a stratum without an outcome", []TableStratum{{3, 4, 1, 5}, {2, 2, 1, 1}, {0, 3, 0, 3}}, outcome{"rdhom": ErrNoVariance}},
	} {
		for name, method := range methods {
			if err := method(c.strata); !errors.Is(err, c.want[name]) || c.want[name] == nil && err != nil {
				t.Errorf("%s, %s: error %v, want %v", c.name, name, err, c.want[name])
			}
		}
	}
	panics(t, "expected counts of 0 or more", func() { _, _ = CochranMantelHaenszel([]TableStratum{{-1, 2, 2, 2}}, CMHOptions{}) })
	panics(t, "unknown RiskDifferenceVariance 7", func() {
		_, _ = MantelHaenszelRiskDifference([]TableStratum{{1, 2, 2, 2}}, PooledDifferenceOptions{Variance: 7})
	})
}

// Where the sum of a is at an end the exact limits are 0 or unbounded, and too
// large a product is refused.
func TestStratifiedExactEdges(t *testing.T) {
	for _, midP := range []bool{false, true} {
		e, err := CommonOddsRatioExact([]TableStratum{{3, 4, 0, 5}, {2, 2, 0, 1}}, ExactOptions{MidP: midP})
		must(t, err)
		if !math.IsInf(e.Value, 1) || !math.IsInf(e.Upper, 1) || !(e.Lower > 0 && e.Lower < math.Inf(1)) {
			t.Errorf("none among the reference: %+v", e)
		}
		e, err = CommonOddsRatioExact([]TableStratum{{0, 4, 3, 5}, {0, 2, 1, 1}}, ExactOptions{MidP: midP})
		must(t, err)
		if e.Value != 0 || e.Lower != 0 || !(e.Upper > 0 && e.Upper < math.Inf(1)) {
			t.Errorf("none among the exposed: %+v", e)
		}
	}
	large := TableStratum{30_000, 20_000, 20_000, 30_000}
	if _, err := CommonOddsRatioExact([]TableStratum{large, large}, ExactOptions{}); !errors.Is(err, ErrTooLarge) {
		t.Errorf("common odds ratio of 200,000: error %v", err)
	}
	if _, err := HomogeneityExact([]TableStratum{large, large}); !errors.Is(err, ErrTooLarge) {
		t.Errorf("homogeneity of 200,000: error %v", err)
	}
}
