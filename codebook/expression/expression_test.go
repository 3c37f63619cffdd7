package expression

import (
	"math"
	"slices"
	"strings"
	"sync"
	"testing"

	"heelcohort/codebook/value"
)

func TestVariables(t *testing.T) {
	for _, test := range []struct {
		source string
		want   []string
	}{
		{"1", nil},
		{"age", []string{"age"}},
		{"weight / age + weight", []string{"weight", "age"}},
		{"limp ? age : height", []string{"limp", "age", "height"}},
		{"participants.site == 'S1' and sex == 'male' and participants.site != 'S2'", []string{"participants.site", "sex"}},
		{"1 < age < height", []string{"age", "height"}},
		{"height < age < weight", []string{"height", "age", "weight"}},
		{"band(age, 1, 2) == '1 to <2'", []string{"age"}},
		{"sex in ['male'] or is_missing(heel)", []string{"sex", "heel"}},
	} {
		p, err := Compile(test.source, child)
		if err != nil {
			t.Errorf("%s: %v", test.source, err)
			continue
		}
		var got []string
		for _, v := range p.Variables() {
			name := v.Name
			if v.Table != "" {
				name = v.Table + "." + name
			}
			got = append(got, name)
			if want, _ := child.Resolve(v.Table, v.Name); want.Slot != v.Slot || want.Kind != v.Kind {
				t.Errorf("%s: got variable %+v, want %+v", test.source, v, want)
			}
		}
		if !slices.Equal(got, test.want) {
			t.Errorf("%s: got %q, want %q", test.source, got, test.want)
		}
	}
}

func TestWords(t *testing.T) {
	for _, test := range []struct {
		source string
		want   string // joined by spaces, "" for nil
	}{
		{"sex", "female male"},
		{"note", ""},
		{"age", ""},
		{"limp", ""},
		{"'b'", "b"},
		{"limp ? 'b' : 'a'", "b a"},
		{"limp ? 'a' : 'a'", "a"},
		{"limp ? sex : 'unknown'", "female male unknown"},
		{"limp ? 'male' : sex", "male female"},
		{"limp ? sex : note", ""},
		{"age < 8 ? 'young' : age < 12 ? 'middle' : 'old'", "young middle old"},
		{"coalesce(end_type, 'unknown')", "returned gave_up_sport lost unknown"},
		{"coalesce(end_type, note, 'unknown')", ""},
		{"missing_code(sex)", ""},
		{"foot_posture_class(age)", "highly_supinated supinated normal pronated highly_pronated"},
		{"foot_posture_class(age, 'five')", "highly_supinated supinated normal pronated highly_pronated"},
		{"foot_posture_class(age, 'three')", "supinated normal pronated"},
	} {
		p, err := Compile(test.source, child)
		if err != nil {
			t.Errorf("%s: %v", test.source, err)
			continue
		}
		if got := strings.Join(p.Words(), " "); got != test.want || test.want == "" && p.Words() != nil {
			t.Errorf("%s: got %q, want %q", test.source, got, test.want)
		}
	}
}

// A scope that gives an empty list of words means an open variable.
func TestEmptyWordsAreOpen(t *testing.T) {
	p, err := Compile("a == 'x'", study{{"", "a", 0, value.Text, []string{}}})
	if err != nil {
		t.Fatal(err)
	}
	if got := p.Eval(values{value.Str("x")}); got != yes() {
		t.Errorf("got %+v, want true", got)
	}
}

func TestNilScope(t *testing.T) {
	p, err := Compile("1 + 1", nil)
	if err != nil {
		t.Fatal(err)
	}
	if got := p.Eval(nil); got != num(2) {
		t.Errorf("got %+v, want 2", got)
	}
	if p.Source() != "1 + 1" {
		t.Errorf("got source %q", p.Source())
	}
	if _, err := Compile("a", nil); err == nil {
		t.Error("got no error for a variable without a scope")
	}
}

// A row that breaks the scope's promise leads to a missing value, never to a
// zero that looks like one.
func TestRowOfAnotherKind(t *testing.T) {
	for _, source := range []string{"age", "sex", "limp", "seen"} {
		p, err := Compile(source, child)
		if err != nil {
			t.Fatal(err)
		}
		wrong := make(values, len(child))
		for i := range wrong {
			wrong[i] = value.Num(1)
			if source == "age" {
				wrong[i] = value.Str("9")
			}
		}
		if got := p.Eval(wrong); !got.Missing || got.Code != CodeWrongKind || got.Kind != p.Kind() {
			t.Errorf("%s: got %+v, want missing with code %q", source, got, CodeWrongKind)
		}
	}
}

func TestErrorText(t *testing.T) {
	for _, test := range []struct {
		e    Error
		want string
	}{
		{Error{2, 3, "found x, expected y", ""}, "2:3: found x, expected y"},
		{Error{1, 1, "found agee", "age"}, "1:1: found agee (did you mean age?)"},
	} {
		if got := test.e.Error(); got != test.want {
			t.Errorf("got %q, want %q", got, test.want)
		}
	}
}

func TestConcurrentUse(t *testing.T) {
	p, err := Compile("band(age, 6, 8, 10) == '8 to <10' and sum(age, 1, 2) > round(age, 1)", child)
	if err != nil {
		t.Fatal(err)
	}
	var wait sync.WaitGroup
	for range 4 {
		wait.Go(func() {
			for range 100 {
				if got := p.Eval(childRow); got != yes() {
					t.Errorf("got %+v, want true", got)
				}
				if _, err := Compile("max(age, 1) > mean(age, 2)", child); err != nil {
					t.Error(err)
				}
			}
		})
	}
	wait.Wait()
}

// A number that is not finite counts as missing, and -0 as 0.
func TestRowNotFinite(t *testing.T) {
	p, err := Compile("age", child)
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		if got := p.Eval(values{{Kind: value.Number, Number: x}}); got != none(value.Number, value.CodeUndefined) {
			t.Errorf("%v: got %+v, want undefined", x, got)
		}
	}
	if got := p.Eval(values{num(math.Copysign(0, -1))}).String(); got != "0" {
		t.Errorf("-0: got %s, want 0", got)
	}
}
