package plots

import (
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// sampleAgreement has whole numbers, so that some pairs are at one place.
func sampleAgreement() Agreement {
	r := rand.New(rand.NewPCG(6, 6))
	a := Agreement{
		Title: "Foot posture index by two raters", XLabel: "Mean of both ratings", YLabel: "Difference (first less second)", BandName: "95% CI of each",
		Bias: est(0.4, 0.1, 0.7), Lower: est(-2.6, -3.2, -2.1), Upper: est(3.4, 2.9, 4.0),
	}
	for range 120 {
		first := math.Round(3.5 + 3*r.NormFloat64())
		second := first - math.Round(0.4+1.5*r.NormFloat64())
		a.Points = append(a.Points, AgreementPoint{first/2 + second/2, first - second})
	}
	return a
}

// sampleAgreementCells counts the same pairs in cells of 2 by 1.
func sampleAgreementCells() Agreement {
	a := sampleAgreement()
	counts := map[[2]int]int{}
	for _, p := range a.Points {
		counts[[2]int{int(math.Floor(p.Mean / 2)), int(p.Difference)}]++
	}
	a.Points = nil
	for x := -10; x < 10; x++ {
		for y := -10; y < 10; y++ {
			if n := counts[[2]int{x, y}]; n >= 3 {
				a.Cells = append(a.Cells, AgreementCell{float64(2 * x), float64(2*x + 2), float64(y), float64(y + 1), n})
			}
		}
	}
	a.Note = "31 of 120 pairs are in cells of fewer than 3 and not drawn."
	return a
}

// Pairs at one place are one ring, whose area is that of so many.
func TestAgreementRings(t *testing.T) {
	a := sampleAgreement()
	a.Points = []AgreementPoint{{1, 2}, {3, 0}, {1, 2}, {1, 2}, {1, 2}}
	places, counts := a.places()
	if len(places) != 2 || counts[0] != 4 || counts[1] != 1 || ringRadius(4) != 2*ringRadius(1) {
		t.Errorf("places %v, counts %v", places, counts)
	}
	one(t, draw(t, a).canvas, "4 pairs at one place")
}

// The lines stand where the axis has their values, the mean difference between
// the limits of agreement, and a band reaches from limit to limit.
func TestAgreementLines(t *testing.T) {
	a := sampleAgreement()
	c := draw(t, a).canvas
	solid, dashed := 0, 0
	for _, m := range c.marks {
		if m.width == lineWidth && m.color == black {
			if m.dash == nil {
				solid++
			} else {
				dashed++
			}
		}
	}
	if solid != 2 || dashed != 3 { // with their keys
		t.Errorf("%d whole and %d dashed lines, want 2 and 3", solid, dashed)
	}
	bands := 0
	for _, m := range rects(c) {
		if m.color == bandColour() {
			bands++
		}
	}
	if bands != 4 {
		t.Errorf("%d bands, want 3 and their key", bands)
	}
	a.Upper.Upper = 1000
	if text := draw(t, a).canvas; len(find(text, cutNote)) != 1 {
		t.Error("a band that is cut is not told")
	}
}

func TestAgreementText(t *testing.T) {
	text := draw(t, sampleAgreementCells()).Text()
	for _, part := range []string{"Mean difference: 0.4 (0.1 to 0.7).", "Lower limit of agreement: -2.6 (-3.2 to -2.1).", "31 of 120 pairs"} {
		if !strings.Contains(text, part) {
			t.Errorf("text lacks %q: %s", part, text)
		}
	}
	if text := draw(t, sampleAgreement()).Text(); !strings.Contains(text, "120 pairs as points.") {
		t.Errorf("text: %s", text)
	}
}

func TestAgreementRefused(t *testing.T) {
	for name, c := range map[string]struct {
		spoil func(a *Agreement)
		is    error
		says  string
	}{
		"no pairs": {func(a *Agreement) { a.Points = nil }, ErrNoData, "no point and no cell"},
		"no bias":  {func(a *Agreement) { a.Bias.Value = nan }, ErrNoData, "the mean difference is not estimable"},
		"crossed":  {func(a *Agreement) { a.Lower, a.Upper = a.Upper, a.Lower }, nil, "want ascending"},
		"limits":   {func(a *Agreement) { a.Bias.Lower = 9 }, nil, "lower limit 9 is above"},
		"infinite": {func(a *Agreement) { a.Points[3].Mean = inf }, nil, "point 4"},
		"upon":     {func(a *Agreement) { a.Cells = []AgreementCell{{0, 2, 0, 1, 3}, {2, 4, 0, 1, 3}, {1, 3, 0, 1, 3}} }, nil, "cell 3 lies upon another"},
		"empty":    {func(a *Agreement) { a.Cells = []AgreementCell{{0, 1, 0, 1, 0}} }, nil, "cell 1 of 0 pairs"},
	} {
		a := sampleAgreement()
		c.spoil(&a)
		_, err := a.Draw()
		if err == nil || c.is != nil && !errors.Is(err, c.is) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want %v with %q", name, err, c.is, c.says)
		}
	}
}

func TestAnyAgreement(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		number := rapid.OneOf(rapid.SampledFrom([]float64{0, 1, -1, 1e-7, 1e6, 1e-90, -1e90, nan, inf}), rapid.Float64Range(-50, 50))
		line := func(v float64) (value, lower, upper float64) {
			return v, v - rapid.SampledFrom([]float64{0, 1, 1e9, inf, nan}).Draw(t, "below"), v + rapid.SampledFrom([]float64{0, 1, 1e9, inf, nan}).Draw(t, "above")
		}
		middle, half := number.Draw(t, "bias"), rapid.SampledFrom([]float64{0.1, 1, 5, 1e5}).Draw(t, "half")
		a := Agreement{
			Title: anyWords(t, "title"), XLabel: anyWords(t, "x"), YLabel: anyWords(t, "y"), Note: anyWords(t, "note"), BandName: anyWords(t, "band"), Size: anySize.Draw(t, "size"),
			Bias: est(line(middle)), Lower: est(line(middle - half)), Upper: est(line(middle + half)),
		}
		for range rapid.IntRange(0, 9).Draw(t, "points") {
			a.Points = append(a.Points, AgreementPoint{number.Draw(t, "mean"), number.Draw(t, "difference")})
		}
		for i := range rapid.IntRange(0, 9).Draw(t, "cells") {
			x, y := 7+half*float64(i/3), middle+half*float64(rapid.IntRange(-2, 2).Draw(t, "row"))/2
			a.Cells = append(a.Cells, AgreementCell{x, x + half, y, y + half/2, rapid.IntRange(1, 12345).Draw(t, "count")})
		}
		drawnWhole(t, a, a.Size)
	})
}
