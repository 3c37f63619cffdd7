package expression

import (
	"testing"

	"heelcohort/codebook/value"
)

// The printed bands, each total in its class (reference bands of the foot
// posture index, from memory of the user guide of 2005).
func TestFootPosture(t *testing.T) {
	scope := study{{"", "total", 0, value.Number, nil}}
	five, err := Compile("foot_posture_class(total)", scope)
	if err != nil {
		t.Fatal(err)
	}
	three, err := Compile("foot_posture_class(total, 'three')", scope)
	if err != nil {
		t.Fatal(err)
	}
	seen := 0
	for _, class := range []struct {
		from, to    int
		five, three string
	}{
		{-12, -5, "highly_supinated", "supinated"},
		{-4, -1, "supinated", "supinated"},
		{0, 5, "normal", "normal"},
		{6, 9, "pronated", "pronated"},
		{10, 12, "highly_pronated", "pronated"},
	} {
		for total := class.from; total <= class.to; total++ {
			row := values{num(float64(total))}
			if got := five.Eval(row); got != value.Str(class.five) {
				t.Errorf("%d: got %v, want %s", total, got, class.five)
			}
			if got := three.Eval(row); got != value.Str(class.three) {
				t.Errorf("%d: got %v, want %s", total, got, class.three)
			}
			seen++
		}
	}
	if seen != 25 {
		t.Errorf("got %d totals, want 25", seen)
	}
	for _, x := range []float64{-13, 13, 5.5, -4.5, 1e9} {
		if got := five.Eval(values{num(x)}); got != none(value.Text, value.CodeUndefined) {
			t.Errorf("%v: got %+v, want undefined", x, got)
		}
	}
	if got := five.Eval(values{none(value.Number, "NM")}); got != none(value.Text, "NM") {
		t.Errorf("missing total: got %+v", got)
	}
	checkRefusals(t, []refusal{
		{"foot_posture_class(¦sex)", "expected a number", ""},
		{"foot_posture_class(age, ¦'tree')", `expected "three" or "five"`, "three"},
		{"foot_posture_class(age, ¦3)", `expected "three" or "five"`, ""},
		{"foot_posture_class(age, ¦note)", `expected "three" or "five"`, ""},
		{"foot_posture_class(age) == ¦'pronatd'", "can hold", "pronated"},
	})
}
