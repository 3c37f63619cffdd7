package ooxml

import "testing"

func TestShortest(t *testing.T) {
	for in, want := range map[string]string{
		"1": "1", "-12": "-12", "007": "7", "9.0999999999999996": "9.1", "1E+20": "100000000000000000000",
		"1.0": "1", "1e-7": "1e-07", "0.000001": "0.000001", "": "", "x": "x", "123456789012345": "123456789012345",
		"0.30000000000000004": "0.30000000000000004", "5.0000000000000003E-2": "0.05", "-": "-", "1e999": "1e999",
	} {
		if got := Shortest(in); got != want {
			t.Errorf("%q gives %q, want %q", in, got, want)
		}
	}
}
