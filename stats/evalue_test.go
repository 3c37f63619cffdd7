package stats

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"heelcohort/stats/internal/published"
)

func ExampleEValue() {
	e, err := EValue(RiskRatioScale, 3.9, 1.8, 8.7)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f, of the limit nearer 1 %.1f\n", e.Value, e.Limit)
	// Output: 7.26, of the limit nearer 1 3.0
}

func TestEValuePublished(t *testing.T) {
	want := published.Load(t, "vanderweele-ding-2017")
	lower, upper := want.Floats("lower"), want.Floats("upper")
	for i, x := range want.Floats("value") {
		e, err := EValue(RareOddsRatio, x, lower[i], upper[i])
		must(t, err)
		want.Check(fmt.Sprintf("value_%d", i+1), e.Value)
		want.Check(fmt.Sprintf("limit_%d", i+1), e.Limit)
	}
}

// By hand: an odds ratio of 4 is a risk ratio of 2, with 2 + √2. A hazard ratio
// of 4 is (1 − 1/4)/(1 − 1/√2) and its inverse gives the same E-value. A
// difference of ln 2/0.91 is a ratio of 2.
func TestEValueByHand(t *testing.T) {
	hazard := 0.75 / (1 - math.Sqrt(0.5))
	for _, one := range []struct {
		scale              EValueScale
		value, ratio, want float64
	}{
		{RiskRatioScale, 1, 1, 1},
		{RareHazardRatio, 0.5, 0.5, 2 + math.Sqrt2},
		{CommonOddsRatio, 4, 2, 2 + math.Sqrt2},
		{CommonOddsRatio, 0.25, 0.5, 2 + math.Sqrt2},
		{CommonHazardRatio, 4, hazard, hazard + math.Sqrt(hazard*(hazard-1))},
		{CommonHazardRatio, 0.25, 1 / hazard, hazard + math.Sqrt(hazard*(hazard-1))},
		{StandardisedDifference, -math.Ln2 / 0.91, 0.5, 2 + math.Sqrt2},
	} {
		e, err := EValue(one.scale, one.value, math.NaN(), math.NaN())
		must(t, err)
		if !near(e.Ratio, one.ratio, 1e-14) || !near(e.Value, one.want, 1e-14) || !math.IsNaN(e.Limit) {
			t.Errorf("%v: got %+v, want %v and %v", one.value, e, one.ratio, one.want)
		}
		// A confounder with the E-value on both sides just explains it away.
		away := math.Max(e.Ratio, 1/e.Ratio)
		if !near(BoundingFactor(e.Value, e.Value), away, 1e-12) {
			t.Errorf("%v: bounding factor %v of the E-value, want %v", one.value, BoundingFactor(e.Value, e.Value), away)
		}
	}
	for _, one := range []struct{ value, lower, upper, want float64 }{
		{2, 0.9, 4, 1},
		{2, 1, 4, 1},
		{0.25, 0, 0.5, 2 + math.Sqrt2},
		{4, 2, math.Inf(1), 2 + math.Sqrt2},
		{4, math.NaN(), 9, math.NaN()},
	} {
		e, err := EValue(RiskRatioScale, one.value, one.lower, one.upper)
		must(t, err)
		if !near(e.Limit, one.want, 1e-14) {
			t.Errorf("%v (%v to %v): limit %v, want %v", one.value, one.lower, one.upper, e.Limit, one.want)
		}
	}
}

// The bound holds in tables made with a confounder: with risks 0.02 and
// 0.02·outcome by its level, had by shares p1 and p0 of the exposed and the
// unexposed, the ratio without any effect is at most the bounding factor.
func TestBoundingFactorHolds(t *testing.T) {
	for _, outcome := range []float64{1, 1.5, 4, 20} {
		for p1 := 0.05; p1 < 1; p1 += 0.1 {
			for p0 := 0.05; p0 <= p1; p0 += 0.1 {
				exposure := p1 / p0
				ratio := (1 + p1*(outcome-1)) / (1 + p0*(outcome-1))
				if bound := BoundingFactor(outcome, exposure); ratio > bound*(1+1e-12) {
					t.Errorf("a ratio of %v exceeds its bound %v (%v, %v)", ratio, bound, outcome, exposure)
				}
			}
		}
	}
	// At p1 = 1 it is met: 20·2/(20+2−1).
	if got := (1 + 19.0) / (1 + 0.5*19); !near(got, BoundingFactor(20, 2), 1e-14) {
		t.Errorf("got %v, want %v", BoundingFactor(20, 2), got)
	}
}

func TestEValueRefuses(t *testing.T) {
	if _, err := EValue(RiskRatioScale, 0, 0, 1); !errors.Is(err, ErrZeroCell) {
		t.Errorf("a ratio of 0: %v", err)
	}
	if _, err := EValue(RiskRatioScale, math.NaN(), 0, 1); !errors.Is(err, ErrNotFinite) {
		t.Errorf("no ratio: %v", err)
	}
	panics(t, "do not hold", func() { _, _ = EValue(RiskRatioScale, 2, 3, 4) })
	panics(t, "expected 0 or more", func() { _, _ = EValue(CommonOddsRatio, -1, -2, 4) })
	panics(t, "unknown EValueScale", func() { _, _ = EValue(77, 1, 1, 1) })
	panics(t, "ratios of 1 or more", func() { BoundingFactor(0.5, 2) })
}
