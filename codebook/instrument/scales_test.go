package instrument

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// The permitted scores of the revised faces pain scale (Hicks 2001, from
// memory): faces 1 to 6 are 0, 2, 4, 6, 8, 10, and no odd score is one.
func TestFaces(t *testing.T) {
	for i, want := range []float64{0, 2, 4, 6, 8, 10} {
		got, err := FaceScore(float64(i + 1))
		if err != nil || got != want {
			t.Errorf("face %d: %v, %v, want %v", i+1, got, err, want)
		}
		if _, err := PainScore(ScaleFaces, want); err != nil {
			t.Errorf("score %v: %v", want, err)
		}
	}
	for _, x := range []float64{0, 7, 1.5, math.NaN()} {
		if got, err := FaceScore(x); !errors.Is(err, ErrIllegal) {
			t.Errorf("face %v: %v, %v, want ErrIllegal", x, got, err)
		}
	}
	for _, x := range []float64{1, 3, 5, 7, 9, 11, 12, -2, 2.5} {
		if _, err := PainScore(ScaleFaces, x); !errors.Is(err, ErrIllegal) {
			t.Errorf("score %v: %v, want ErrIllegal", x, err)
		}
	}
}

func TestPainScales(t *testing.T) {
	for _, c := range []struct {
		scale PainScale
		x     float64
		legal bool
	}{
		{ScaleVAS, 0, true},
		{ScaleVAS, 99, true},
		{ScaleVAS, 100, true},
		{ScaleVAS, 45.5, true},
		{ScaleVAS, 100.5, false},
		{ScaleVAS, -1, false},
		{ScaleNRS, 0, true},
		{ScaleNRS, 10, true},
		{ScaleNRS, 3.5, false},
		{ScaleNRS, 11, false},
	} {
		if got, err := PainScore(c.scale, c.x); (err == nil) != c.legal || err == nil && got != c.x {
			t.Errorf("%v: %v, %v", c, got, err)
		}
	}
	for _, c := range []struct {
		x    []float64
		want bool
	}{
		{nil, false}, {[]float64{3, 10, 0}, false}, {[]float64{3.5, 10}, true}, {[]float64{3.5, 10.5}, false}, {[]float64{3.5, 45}, false},
	} {
		if got := LikelyCentimetres(c.x); got != c.want {
			t.Errorf("%v: %v", c.x, got)
		}
	}
}

// The domain scores of an invented child, by hand: 14/24, 13/16, 15/16, 2/4.
func TestOxfordScore(t *testing.T) {
	none := math.NaN()
	for _, c := range []struct {
		items []float64
		rule  MissingRule
		want  float64
	}{
		{[]float64{4, 3, 2, 4, 1, 0}, AnyMissing, 1400.0 / 24},
		{[]float64{2, 3, 4, 4}, AnyMissing, 81.25},
		{[]float64{4, 4, 3, 4}, AnyMissing, 93.75},
		{[]float64{2}, AnyMissing, 50},
		{[]float64{4, 4, 4, 4}, AnyMissing, 100},
		{[]float64{0, 0, 0, 0}, AnyMissing, 0},
		{[]float64{4, none, 2, none}, HalfAnswered, 75},
		{[]float64{4, 3, none, 2, none, none}, HalfAnswered, 75},
		{[]float64{2}, HalfAnswered, 50},
	} {
		if got, err := OxfordScore(c.items, c.rule); err != nil || math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%v: %v, %v, want %v", c.items, got, err, c.want)
		}
	}
	for _, c := range []struct {
		items []float64
		rule  MissingRule
		want  error
	}{
		{[]float64{4, none, 2, 3}, AnyMissing, ErrTooFewItems},
		{[]float64{4, none, none, none}, HalfAnswered, ErrTooFewItems},
		{[]float64{none}, HalfAnswered, ErrTooFewItems},
		{nil, HalfAnswered, ErrTooFewItems},
		{nil, AnyMissing, ErrTooFewItems},
		{[]float64{4, 5, 2, 3}, AnyMissing, ErrIllegal},
		{[]float64{4, -1, 2, 3}, AnyMissing, ErrIllegal},
		{[]float64{4, 1.5, 2, 3}, HalfAnswered, ErrIllegal},
	} {
		if got, err := OxfordScore(c.items, c.rule); !errors.Is(err, c.want) {
			t.Errorf("%v: %v, %v, want %v", c.items, got, err, c.want)
		}
	}
	total := 0
	for _, d := range OxfordDomains() {
		total += d.Items
	}
	if total != 15 {
		t.Errorf("%d items, want 15", total)
	}
}

// With every item answered the rules agree.
func TestOxfordRulesAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		items := make([]float64, rapid.IntRange(1, 6).Draw(t, "n"))
		for i := range items {
			items[i] = float64(rapid.IntRange(0, 4).Draw(t, "item"))
		}
		one, err := OxfordScore(items, AnyMissing)
		if err != nil {
			t.Fatal(err)
		}
		other, err := OxfordScore(items, HalfAnswered)
		if err != nil || one != other || one < 0 || one > 100 {
			t.Fatalf("%v, %v, %v", one, other, err)
		}
	})
}

func TestLegalString(t *testing.T) {
	for _, c := range []struct {
		legal Legal
		want  string
	}{
		{PostureItem, "a whole number from -2 to 2"},
		{FacesScore, "one of 0, 2, 4, 6, 8, 10"},
		{VAS, "a number from 0 to 100"},
		{Area, "a number of at least 0"},
	} {
		if got := c.legal.String(); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}

// Every instrument has sources in full and says what rights there are.
func TestRegistry(t *testing.T) {
	seen := map[string]bool{}
	for _, i := range List() {
		if seen[i.Name] || i.Name == "" || i.Rights == "" || i.Rights[len(i.Rights)-1] != '.' {
			t.Errorf("%+v", i)
		}
		seen[i.Name] = true
		for _, s := range i.Sources {
			if s.Key == "" || len(s.Text) < 40 {
				t.Errorf("%s: %+v", i.Name, s)
			}
		}
		if got := Find(i.Name); got.Name != i.Name {
			t.Errorf("%s finds %s", i.Name, got.Name)
		}
	}
	defer func() {
		if recover() == nil {
			t.Error("an unknown instrument is found")
		}
	}()
	Find("shoe-size")
}
