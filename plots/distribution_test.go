package plots

import (
	"errors"
	"math"
	"strings"
	"testing"
)

// The pieces of a bar are as wide as their shares, in the order of the levels.
func TestDistributionPieces(t *testing.T) {
	d := sampleDistribution()
	c := draw(t, d).canvas
	zero, hundred := one(t, c, "0").at.X, one(t, c, "100").at.X
	for _, want := range []struct {
		words         string
		before, share float64
	}{{"63%", 4.0 / 97, 61.0 / 97}, {"31%", 65.0 / 97, 30.0 / 97}, {"37%", 1.0 / 54, 20.0 / 54}, {"61%", 21.0 / 54, 33.0 / 54}} {
		x := one(t, c, want.words).at.X
		middle := float64(zero) + (want.before+want.share/2)*float64(hundred-zero)
		if math.Abs(float64(x)-middle) > 0.01 {
			t.Errorf("%s stands at %.2f, want %.2f", want.words, float64(x), middle)
		}
	}
	if len(find(c, "4%")) != 0 {
		t.Error("4% is written in a piece too narrow for it")
	}
	if text := draw(t, d).Text(); !strings.Contains(text, "Football (n = 97): supinated 4 (4%); normal 61 (63%)") || !strings.Contains(text, "Swimming (n = 0): supinated 0;") {
		t.Errorf("text %q", text)
	}
}

func TestDistributionRefused(t *testing.T) {
	for want, spoil := range map[string]func(d *Distribution){
		"counts of 2 groups":   func(d *Distribution) { d.Counts = d.Counts[:2] },
		"has 1 counts for 4":   func(d *Distribution) { d.Counts[0] = d.Counts[0][:1] },
		"count -1, want 0":     func(d *Distribution) { d.Counts[1][2] = -1 },
		"no group has a count": func(d *Distribution) { d.Counts = d.Counts[2:]; d.Groups = d.Groups[2:] },
	} {
		d := sampleDistribution()
		spoil(&d)
		if _, err := d.Draw(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
	}
	d := sampleDistribution()
	d.Counts = [][]int{{0, 0, 0, 0}, {0, 0, 0, 0}, {0, 0, 0, 0}}
	if _, err := d.Draw(); !errors.Is(err, ErrNoData) {
		t.Errorf("no counts: %v", err)
	}
}
