package report

import (
	"math"
	"testing"

	"heelcohort/cmd/heelcohort/internal/printed"
)

func TestPercent(t *testing.T) {
	for _, test := range []struct {
		x, whole float64
		want     string
	}{
		{100. * 12 / 350, 350, "3.4%"},
		{100. * 12 / 35, 35, "34%"}, // without decimals under 100
		{100. * 50 / 99, 99, "51%"}, // 50.505
		{50, 100, "50.0%"},          // with one from 100 on
		{0, 350, "0%"},
		{100, 350, "100%"},
		{100. * 1 / 5000, 5000, "<0.1%"}, // 0.02
		{100. * 4999 / 5000, 5000, ">99.9%"},
		{99.6, 99, ">99%"},
		{math.NaN(), 10, "–"},
	} {
		if got := percent(test.x, test.whole); got != test.want {
			t.Errorf("percent(%v, %v) = %q, want %q", test.x, test.whole, got, test.want)
		}
	}
}

func TestCountsAndAmounts(t *testing.T) {
	for _, test := range []struct{ got, want string }{
		{count(0), "0"},
		{count(999), "999"},
		{count(1190), "1,190"},
		{count(1234567), "1,234,567"},
		{count(-12), "−12"},
		{count(1.5), "1.5"},
		{count(math.NaN()), "–"},
		{amount(12310.5), "12,310"},
		{amount(4011), "4,011"},
		{amount(512.25), "512.2"},
		{amount(3.14159), "3.14"},
		{plain(30.5), "30.5"},
		{plain(-2), "−2"},
		{plain(1e-9), "1e−09"},
		{printed.Level(0.95), "95% CI"},
		{printed.Level(0.999), "99.9% CI"},
		{printed.Level(0.9), "90% CI"},
	} {
		if test.got != test.want {
			t.Errorf("%q, want %q", test.got, test.want)
		}
	}
}

func TestDecimals(t *testing.T) {
	for _, test := range []struct {
		rates []float64
		want  int
	}{
		{[]float64{1.21, 0.6, 1.65}, 2},
		{[]float64{1.21, 0.023}, 3},             // two digits of the smallest
		{[]float64{123.4, 98}, 0},               // three of the largest, two of the smallest
		{[]float64{0.0012, 0}, 5},               // three digits of the largest; 0 asks for none
		{[]float64{0, math.NaN()}, 0},           //
		{[]float64{1e-12, math.Inf(1)}, 6},      // never more than 6
		{[]float64{99.95, math.Inf(1), 9.9}, 1}, //
	} {
		if got := rateDecimals(test.rates); got != test.want {
			t.Errorf("rates %v: %d decimals, want %d", test.rates, got, test.want)
		}
	}
	for _, test := range []struct {
		sd   float64
		want int
	}{{250, 0}, {12.3, 1}, {2.1, 1}, {0.51, 2}, {0.052, 3}, {1e-12, 6}, {0, 1}, {math.NaN(), 1}} {
		if got := printed.SpreadDecimals(test.sd); got != test.want {
			t.Errorf("standard deviation %v: %d decimals, want %d", test.sd, got, test.want)
		}
	}
	if got := neededDecimals([]float64{4, 3, math.NaN()}, 2); got != 0 {
		t.Errorf("whole numbers: %d decimals, want 0", got)
	}
	if got := neededDecimals([]float64{4, 3.25, 0.1 + 0.2}, 2); got != 2 {
		t.Errorf("fractions: %d decimals, want 2", got)
	}
}

func TestMarkName(t *testing.T) {
	for i, want := range map[int]string{0: "a", 25: "z", 26: "aa", 27: "ab", 51: "az", 52: "ba", 701: "zz", 702: "aaa"} {
		if got := markName(i); got != want {
			t.Errorf("mark %d is %q, want %q", i, got, want)
		}
	}
}
