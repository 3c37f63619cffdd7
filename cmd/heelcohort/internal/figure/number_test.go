package figure

import (
	"math"
	"testing"
)

func TestFixed(t *testing.T) {
	for _, c := range []struct {
		x        float64
		decimals int
		want     string
	}{
		{1.005, 2, "1.00"}, // the double nearest to 1.005 is below it
		{0, 2, "0.00"},
		{0.004, 2, "<0.01"},
		{-0.004, 2, ">−0.01"},
		{-1.5, 2, "−1.50"},
		{1234567, 0, "1,234,567"},
		{999.999, 2, "1,000.00"},
		{123, 0, "123"},
		{3.2e8, 2, "3.2e+08"},
		{math.Inf(1), 2, "∞"},
		{math.Inf(-1), 2, "−∞"},
		{math.NaN(), 2, "–"},
	} {
		if got := fixed(c.x, c.decimals); got != c.want {
			t.Errorf("fixed(%v, %d) = %q, want %q", c.x, c.decimals, got, c.want)
		}
	}
}

func TestPValue(t *testing.T) {
	for p, want := range map[float64]string{
		0: "< 0.001", 0.0009999: "< 0.001", 0.001: "= 0.001", 0.0099: "= 0.010", 0.01: "= 0.01", 0.049: "= 0.05",
		0.994: "= 0.99", 0.996: "> 0.99", 1: "= 1.00",
	} {
		if got := pValue(p); got != want {
			t.Errorf("pValue(%v) = %q, want %q", p, got, want)
		}
	}
}

func TestPercent(t *testing.T) {
	for x, want := range map[float64]string{0.95: "95%", 0.9: "90%", 0.995: "99.5%", 1. / 3: "33.333333%"} {
		if got := percent(x); got != want {
			t.Errorf("percent(%v) = %q, want %q", x, got, want)
		}
	}
}
