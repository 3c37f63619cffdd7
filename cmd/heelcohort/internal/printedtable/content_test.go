package printedtable

import (
	"strings"
	"testing"
)

// The wanted forms and digits are read off the texts by eye.
func TestParse(t *testing.T) {
	for _, c := range []struct {
		text  string
		style Style
		form  Form
		want  string // digits, relation before, % after
	}{
		{"12", Point, One, "12"},
		{"1,234", Point, One, "1234"},
		{"1\u00a0234", Point, One, "1234"},
		{"1,234.50", Point, One, "1234.50"},
		{"1.234,50", Comma, One, "1234.50"},
		{".8571", Point, One, "0.8571"},
		{"−0.54", Point, One, "-0.54"},
		{"-6.41", Point, One, "-6.41"},
		{"45.2%", Point, One, "45.2%"},
		{"45.2 %", Point, One, "45.2%"},
		{"<0.001", Point, One, "<0.001"},
		{"P < 0.001", Point, One, "<0.001"},
		{"p=0.03", Point, One, "0.03"},
		{"= 0.03", Point, One, "0.03"},
		{"≥0.99", Point, One, "≥0.99"},
		{"0,03*", Comma, One, "0.03"},
		{"12 (45.2%)", Point, Pair, "12 45.2%"},
		{"12 (45.2)a", Point, Pair, "12 45.2"},
		{"12 (45.2%)†", Point, Pair, "12 45.2%"},
		{"12 (45.2)", Point, Pair, "12 45.2"},
		{"1,045 (45.2)", Point, Pair, "1045 45.2"},
		{"10.3 (2.2)", Point, Pair, "10.3 2.2"},
		{"10.3 ± 2.2", Point, Pair, "10.3 2.2"},
		{"10.3 (SD 2.2)", Point, Pair, "10.3 2.2"},
		{"12/45", Point, Fraction, "12 45"},
		{"12/45 (26.7%)", Point, Share, "12 45 26.7%"},
		{"1.20 (0.80 to 1.90)", Point, Limits, "1.20 0.80 1.90"},
		{"1.20 (0.80, 1.90)", Point, Limits, "1.20 0.80 1.90"},
		{"1.20 (0.80,1.90)", Point, Limits, "1.20 0.80 1.90"},
		{"1.20 [0.80; 1.90]", Point, Limits, "1.20 0.80 1.90"},
		{"1,20 (0,80; 1,90)", Comma, Limits, "1.20 0.80 1.90"},
		{"1,20 (0,80, 1,90)", Comma, Limits, "1.20 0.80 1.90"},
		{"1.20 (95% CI 0.80 to 1.90)", Point, Limits, "1.20 0.80 1.90"},
		{"1.20 (95% CI: 0.80–1.90)", Point, Limits, "1.20 0.80 1.90"},
		{"−1.2 (−2.1 to −0.3)", Point, Limits, "-1.2 -2.1 -0.3"},
		{"−1.2 (−2.1–−0.3)", Point, Limits, "-1.2 -2.1 -0.3"},
		{"-1.2 (-2.1, -0.3)", Point, Limits, "-1.2 -2.1 -0.3"},
		{"10.2 (8.6-11.9)", Point, Limits, "10.2 8.6 11.9"},
		{"10.2 (8.6 – 11.9)", Point, Limits, "10.2 8.6 11.9"},
		{"10.2 (IQR 8.6-11.9)", Point, Limits, "10.2 8.6 11.9"},
		{"20.0% (12.1% to 29.5%)", Point, Limits, "20.0% 12.1% 29.5%"},
		{"1.2 (0.8 to 1.9), P = 0.03", Point, LimitsP, "1.2 0.8 1.9 0.03"},
		{"1.2 (0.8 to 1.9; p<0.001)", Point, LimitsP, "1.2 0.8 1.9 <0.001"},
		{"0.8 to 1.9", Point, Spread, "0.8 1.9"},
		{"(0.8 to 1.9)", Point, Spread, "0.8 1.9"},
		{"–", Point, Nothing, ""},
		{"n/a", Point, Nothing, ""},
		{"Reference", Point, Nothing, ""},
		{"1.00 (reference)", Point, Nothing, ""},
		{"(n = 45)", Point, Words, ""},
		{"Boys", Point, Words, ""},
		{"Arch type, n (%)", Point, Words, ""},
		{"10 to 12 years", Point, Words, ""},
	} {
		got, err := Parse(c.text, c.style)
		if err != nil {
			t.Errorf("%q: %v", c.text, err)
			continue
		}
		var parts []string
		for _, n := range got.Numbers {
			text := string(n.Relation) + n.Digits
			if n.Percent {
				text += "%"
			}
			parts = append(parts, text)
		}
		if text := strings.Join(parts, " "); got.Form != c.form || text != c.want {
			t.Errorf("%q: %s, %s, want %s, %s", c.text, got.Form, text, c.form, c.want)
		}
	}
}

func TestParseRefuses(t *testing.T) {
	for _, text := range []string{"12 13", "1 234", "1.2.3", "1.2 (0.8", "5 < 6 < 7", "--4", "3 (4) (5)", "1e5", "<"} {
		if c, err := Parse(text, Point); err == nil && c.Form != Words {
			t.Errorf("%q was read as %s: %v", text, c.Form, c.Numbers)
		}
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"1,2 (0,8; 1,9)", "−1.2 (−2.1–−0.3)", "<0.001", "12/45 (26.7%)", "1\u2009234"} {
		f.Add(s, true)
	}
	f.Fuzz(func(t *testing.T, text string, comma bool) {
		style := Point
		if comma {
			style = Comma
		}
		c, err := Parse(text, style)
		if err != nil {
			return
		}
		for _, n := range c.Numbers {
			low, high := n.Range()
			if v := n.Value(); v.Cmp(low) <= 0 || v.Cmp(high) >= 0 {
				t.Fatalf("%q: %v outside of its range", text, n)
			}
		}
	})
}
