package expression

import (
	"math"
	"slices"
	"testing"

	"heelcohort/codebook/value"
)

func TestBandLabels(t *testing.T) {
	got := BandLabels([]float64{-4, 0, 2.5, 1e6, 1e21})
	want := []string{"-4 to <0", "0 to <2.5", "2.5 to <1000000", "1000000 to <1000000000000000000000"}
	if !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
	for _, test := range []struct {
		lower, upper float64
		want         string
	}{
		{math.Inf(-1), 6, "<6"},
		{6, 8, "6 to <8"},
		{16, math.Inf(1), "16 or more"},
	} {
		if got := BandLabel(test.lower, test.upper); got != test.want {
			t.Errorf("got %q, want %q", got, test.want)
		}
	}
}

func TestBandLabelsPanic(t *testing.T) {
	for _, bounds := range [][]float64{nil, {1}, {2, 1}, {1, 1}, {math.NaN(), 1}, {1, math.NaN()}, {math.Inf(-1), math.Inf(1)}} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%v: got no panic", bounds)
				}
			}()
			BandLabels(bounds)
		}()
	}
}

func TestBand(t *testing.T) {
	outside := none(value.Text, CodeOutsideBands)
	checkResults(t, []result{
		{"band(age, 6, 8, 10)", value.Str("8 to <10")},
		{"band(8, 6, 8, 10)", value.Str("8 to <10")},
		{"band(7.999, 6, 8, 10)", value.Str("6 to <8")},
		{"band(6, 6, 8, 10)", value.Str("6 to <8")},
		{"band(10, 6, 8, 10)", outside},
		{"band(5.999, 6, 8, 10)", outside},
		{"band(-1, -2, -1, 0.5)", value.Str("-1 to <0.5")},
		{"band(height, 6, 8, 10)", none(value.Text, "NM")},
		{"band(1 / 0, 6, 8, 10)", none(value.Text, value.CodeUndefined)},
		{"coalesce(band(age, 1, 2), 'other')", value.Str("other")},
	})
	p, err := Compile("band(age, 6, 8, 10, 12)", child)
	if err != nil {
		t.Fatal(err)
	}
	if want := BandLabels([]float64{6, 8, 10, 12}); !slices.Equal(p.Words(), want) {
		t.Errorf("got words %q, want %q", p.Words(), want)
	}
	checkRefusals(t, []refusal{
		{"¦band(age, 6)", "found band with 2 arguments, expected band(x, b1, b2, ...)", ""},
		{"band(age, 8, ¦6)", "found the bound 6 after 8, expected ascending bounds", ""},
		{"band(age, 6, ¦6)", "expected ascending bounds", ""},
		{"band(age, 6, ¦height)", "found height (number) as a bound of a band, expected a number", ""},
		{"band(age, 6, ¦'8')", "as a bound of a band", ""},
		{"band(¦sex, 6, 8)", "expected a number", ""},
	})
}
