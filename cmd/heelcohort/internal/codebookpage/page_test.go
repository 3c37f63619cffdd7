package codebookpage

import (
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// Each variable of the invented children, counted by hand.
func TestVariables(t *testing.T) {
	in := study(t)
	lines := func(v variableView) (out []string) {
		out = append(out, v.Present+" "+v.Missing+" "+v.Invalid)
		for _, w := range v.Words {
			out = append(out, strings.Join([]string{w.Value, w.Label, w.N, w.Share, w.Width}, "|"))
		}
		for _, w := range v.Codes {
			out = append(out, strings.Join([]string{w.Value, w.Label, w.N, w.Share}, "|"))
		}
		for _, f := range v.Numbers {
			out = append(out, f.Name+": "+f.Value)
		}
		if v.Histogram != nil {
			out = append(out, v.Histogram.Alt)
		}
		return append(out, v.Notes...)
	}
	secret := "its cells are counted and nothing of them is shown."
	for name, want := range map[string][]string{
		"id":     {"40 0 0", "An identifier: " + secret},
		"remark": {"40 0 0", "Free text: " + secret},
		"street": {"40 0 0", "A text without categories: its values are not shown."},
		// x has 2 of 36, and m is hidden with it: 36-22-12 would tell.
		"sex": {
			"36 3 1", "f|female|22|61%|100.0", "m|male|hidden|–|", "x|other|<5|–|", "empty cell|not asked|0|0%", "NM|not known|3|8%",
			"One count is hidden because a smaller one could be told from it and the total.",
		},
		// 20 to 58 and 70: the mean is (39·39 + 70)/40 = 39.775, the variance (4940 + 39·0.775² + 30.225²)/39 = 150.69,
		// the quartiles lie at 9.75, 19.5 and 29.25 of 0 to 39.
		"weight": {
			"40 0 0", "Mean (SD): 39.8 (12.3)", "Minimum: 20", "Lower quartile: 29.8", "Median: 39.5", "Upper quartile: 49.2", "Maximum: 70",
			"Histogram of Weight in kg: 11 intervals of width 5 from 20 to 75; most values, 5, lie from 20 to below 25.",
		},
		// 100 to 139: the quartiles 109.75, 119.5 and 129.25 lie next to 112, 119 and 126 weeks' days. Weeks begin at 98:
		// 5, 7, 7, 7, 7, 7 and none left over.
		"onset": {
			"40 0 0", "Mean (SD): 119.5 (11.7)", "Lower quartile: 112", "Median: 119", "Upper quartile: 126",
			"Histogram of onset in day: 6 intervals of width 7 from 98 to 140; most values, 7, lie from 105 to below 112.",
			"Days are shown to the nearest week (7 days), without the first and the last.",
		},
		"seen": {
			"40 0 0", "Lower quartile: 2023-01", "Median: 2023-02", "Upper quartile: 2023-03",
			"Of dates the month is shown, without the first and the last.",
		},
		"limps": {"40 0 0", "true||30|75%|100.0", "false||10|25%|33.3"},
	} {
		if diff := cmp.Diff(want, lines(variableNamed(t, in, name))); diff != "" {
			t.Errorf("%s: %s", name, diff)
		}
	}
}

// Asked for, all is shown.
func TestShowAll(t *testing.T) {
	in := study(t)
	in.Small = 0
	text := pageOf(t, in)
	for _, want := range []string{
		"<td>12</td><td>33%</td>", "<td>2</td><td>6%</td>", "2023-01-07", "2023-04-07", "single children may be told",
		"<th scope=\"row\">Minimum</th><td>100</td>", "<th scope=\"row\">Maximum</th><td>139</td>",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
}

// What the page may not hold, and what it must.
func TestPage(t *testing.T) {
	in := study(t)
	text := pageOf(t, in)
	for _, secret := range []string{"secret", "2023-01-07", "<b>Sex", "139<", "<script", "http://127"} {
		if strings.Contains(text, secret) {
			t.Errorf("the page holds %q", secret)
		}
	}
	for _, want := range []string{
		"This page stays within the study.", "Careful.", "&lt;b&gt;Sex&lt;/b&gt;", "The child is heavy.", "must hold: weight &lt; 60",
		"friend → children.id</td><td>1</td>", "<td class=\"text\">warning</td><td>1</td>", "a number of at least 10 kg", "2 errors, 1 warning",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	if again := pageOf(t, in); again != text {
		t.Error("the same input gives another page")
	}
}

// Without data there is no number of cells, and the page says so.
func TestWithoutData(t *testing.T) {
	in := study(t)
	in.Data, in.Findings = nil, nil
	text := pageOf(t, in)
	for _, secret := range []string{"secret", "Present", "Rows that break it", "<svg", "stays within the study"} {
		if strings.Contains(text, secret) {
			t.Errorf("the page holds %q", secret)
		}
	}
	for _, want := range []string{"Without data.", "female", "not asked", "The child is heavy.", "a number of at least 10 kg", "Careful."} {
		if !strings.Contains(text, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
}

// Few values are not described, and up to twenty have no extremes.
func TestSmallGroups(t *testing.T) {
	values := []float64{3, 9, 4, 7}
	var v variableView
	v.numbers(values, false, 5)
	v.months(values, 5)
	if len(v.Numbers) != 0 || v.Histogram != nil || len(v.Notes) != 2 {
		t.Errorf("four values are described: %+v", v)
	}
	v = variableView{}
	v.numbers(append(values, 5), false, 5)
	if len(v.Numbers) != 4 || v.Histogram != nil || len(v.Notes) != 1 {
		t.Errorf("five values: %+v", v)
	}
	v = variableView{}
	v.numbers(make([]float64, 20), false, 5)
	if len(v.Numbers) != 6 || v.Histogram != nil {
		t.Errorf("twenty equal values: %+v", v)
	}
}

func TestHide(t *testing.T) {
	for _, c := range []struct {
		counts []int
		want   []showing
	}{
		{[]int{10, 20, 0}, []showing{shown, shown, shown}},
		{[]int{10, 2, 20}, []showing{withIt, few, shown}},
		{[]int{10, 2, 2, 20}, []showing{withIt, few, few, shown}}, // 4 in all
		{[]int{10, 2, 3, 20}, []showing{shown, few, few, shown}},  // 5 in all
		{[]int{3}, []showing{few}},
		{[]int{3, 0}, []showing{few, shown}},
		{[]int{5, 4}, []showing{withIt, few}},
		{nil, []showing{}},
	} {
		if diff := cmp.Diff(c.want, hide(c.counts, 5)); diff != "" {
			t.Errorf("%v: %s", c.counts, diff)
		}
		for i, s := range hide(c.counts, 0) {
			if s != shown {
				t.Errorf("%v: count %d is hidden though nothing is small", c.counts, i)
			}
		}
	}
}

// No hidden count can be told from those shown and their total: another table
// with the same marks has another count there.
func TestHideRandom(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		counts := rapid.SliceOfN(rapid.IntRange(0, 12), 2, 6).Draw(t, "counts")
		out := hide(counts, 5)
		hidden, left, positive := 0, 0, 0
		for i, s := range out {
			if s != shown {
				hidden, left = hidden+1, left+counts[i]
			}
			if counts[i] > 0 {
				positive++
			}
			if s == shown && counts[i] > 0 && counts[i] < 5 {
				t.Fatalf("%v: %d is shown", counts, counts[i])
			}
		}
		if hidden > 0 && positive > hidden && (hidden < 2 || left < 5) {
			t.Fatalf("%v: %d hidden counts of %d in all", counts, hidden, left)
		}
	})
}

// Bars hold every value once, in intervals of equal width, against a plain
// count; ends drawn together hold the threshold.
func TestHistogramRandom(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		days := rapid.Bool().Draw(t, "days")
		values := rapid.SliceOfN(rapid.Float64Range(-300, 2000), 20, 200).Draw(t, "values")
		if days {
			for i := range values {
				values[i] = math.Trunc(values[i])
			}
		}
		b := binsOf(values, days)
		if len(b.counts) == 0 {
			return
		}
		if len(b.counts) > mostBars+1 {
			t.Fatalf("%d bars", len(b.counts))
		}
		for i, n := range b.counts {
			plain := 0
			for _, x := range values {
				if k := math.Floor((x - b.low) / b.width); k == float64(i) || i == 0 && k < 0 || i == len(b.counts)-1 && k > float64(i) {
					plain++
				}
			}
			if plain != n {
				t.Fatalf("bar %d holds %d, want %d", i, n, plain)
			}
		}
		if days && math.Mod(b.width, 7) != 0 {
			t.Fatalf("days in intervals of %v", b.width)
		}
		b.tails(5)
		sum := 0
		for _, n := range b.counts {
			sum += n
		}
		if sum != len(values) {
			t.Fatalf("%d values of %d", sum, len(values))
		}
		if n := len(b.counts); n > 1 && (b.counts[0] < 5 || b.counts[n-1] < 5) {
			t.Fatalf("the ends hold %d and %d", b.counts[0], b.counts[n-1])
		}
	})
}
