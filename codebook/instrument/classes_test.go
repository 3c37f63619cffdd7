package instrument

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// The reference bands in adults, each total in its class (Redmond 2006, user
// guide of 2005, from memory): every total belongs to exactly one.
func TestAdultPosture(t *testing.T) {
	seen := 0
	for _, band := range []struct {
		from, to float64
		class    string
	}{
		{-12, -5, "highly_supinated"},
		{-4, -1, "supinated"},
		{0, 5, "normal"},
		{6, 9, "pronated"},
		{10, 12, "highly_pronated"},
	} {
		for total := band.from; total <= band.to; total++ {
			got, err := PostureClass(total, AdultPosture())
			if err != nil || got != band.class {
				t.Errorf("%v: %q, %v, want %s", total, got, err, band.class)
			}
			seen++
		}
	}
	if seen != 25 {
		t.Errorf("%d totals, want 25", seen)
	}
	for _, total := range []float64{-13, 13, 5.5, math.NaN(), math.Inf(1)} {
		if class, err := PostureClass(total, AdultPosture()); !errors.Is(err, ErrIllegal) {
			t.Errorf("%v: %q, %v, want ErrIllegal", total, class, err)
		}
	}
	if err := AdultPosture().Check(PostureTotal); err != nil {
		t.Error(err)
	}
}

func TestBandsCheck(t *testing.T) {
	for _, c := range []struct {
		bands Bands
		want  string
	}{
		{Bands{}, "expected at least one upper end"},
		{Bands{[]float64{5}, []string{"low"}}, "one label more"},
		{Bands{[]float64{5, 5}, []string{"a", "b", "c"}}, "ascending"},
		{Bands{[]float64{5, 4}, []string{"a", "b", "c"}}, "ascending"},
		{Bands{[]float64{5.5}, []string{"a", "b"}}, "no whole number"},
		{Bands{[]float64{12}, []string{"a", "b"}}, "a class without values"},
		{Bands{[]float64{-13}, []string{"a", "b"}}, "a class without values"},
		{Bands{[]float64{5}, []string{"a", "a"}}, "stands twice"},
		{Bands{[]float64{5}, []string{"a", ""}}, "empty"},
		{Bands{[]float64{-12}, []string{"a", "b"}}, ""},
		{Bands{[]float64{11}, []string{"a", "b"}}, ""},
	} {
		err := c.bands.Check(PostureTotal)
		if (err == nil) != (c.want == "") || err != nil && !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v: %v, want %q", c.bands, err, c.want)
		}
	}
}

// Six items by hand, and their refusals.
func TestPostureSum(t *testing.T) {
	for _, c := range []struct {
		items []float64
		want  float64
	}{
		{[]float64{-2, -2, -2, -2, -2, -2}, -12},
		{[]float64{2, 2, 2, 2, 2, 2}, 12},
		{[]float64{1, 0, -1, 2, 1, 0}, 3},
	} {
		if got, err := PostureSum(c.items); err != nil || got != c.want {
			t.Errorf("%v: %v, %v, want %v", c.items, got, err, c.want)
		}
	}
	for _, items := range [][]float64{{1, 1, 1, 1, 1}, {1, 1, 1, 1, 1, 3}, {1, 1, 1, 1, 1, 0.5}, {1, 1, 1, 1, 1, math.NaN()}, nil} {
		if got, err := PostureSum(items); !errors.Is(err, ErrIllegal) {
			t.Errorf("%v: %v, %v, want ErrIllegal", items, got, err)
		}
	}
}

// A total's class never falls as an item rises.
func TestPostureRises(t *testing.T) {
	bands := AdultPosture()
	rank := map[string]int{}
	for i, l := range bands.Labels {
		rank[l] = i
	}
	rapid.Check(t, func(t *rapid.T) {
		items := make([]float64, PostureItems)
		for i := range items {
			items[i] = float64(rapid.IntRange(-2, 2).Draw(t, "item"))
		}
		low, err := PostureSum(items)
		if err != nil {
			t.Fatal(err)
		}
		k := rapid.IntRange(0, PostureItems-1).Draw(t, "k")
		if items[k] == 2 {
			return
		}
		items[k]++
		high, err := PostureSum(items)
		if err != nil || high != low+1 {
			t.Fatalf("%v after %v: %v", high, low, err)
		}
		if rank[bands.Class(high)] < rank[bands.Class(low)] {
			t.Fatalf("%v is %s, %v is %s", low, bands.Class(low), high, bands.Class(high))
		}
	})
}

// The areas of three invented footprints, fractions by hand: 18/90, 26/94,
// 35/101; classes by the quartiles of Cavanagh and Rodgers 1987.
func TestArch(t *testing.T) {
	for _, c := range []struct {
		areas [3]float64
		index float64
		class string
	}{
		{[3]float64{40, 18, 32}, 0.2, ArchHigh},
		{[3]float64{38, 26, 30}, 26.0 / 94, ArchFlat},
		{[3]float64{36, 35, 30}, 35.0 / 101, ArchFlat},
		{[3]float64{40, 22, 32}, 22.0 / 94, ArchNormal},
		{[3]float64{0, 0, 1}, 0, ArchHigh},
		{[3]float64{0, 1, 0}, 1, ArchFlat},
	} {
		index, err := ArchIndex(c.areas[0], c.areas[1], c.areas[2])
		if err != nil || math.Abs(index-c.index) > 1e-15 {
			t.Errorf("%v: %v, %v, want %v", c.areas, index, err, c.index)
		}
		if class, err := ArchClass(index, CavanaghHigh, CavanaghFlat); err != nil || class != c.class {
			t.Errorf("%v: %q, %v, want %s", index, class, err, c.class)
		}
	}
	for _, c := range []struct {
		index float64
		class string
	}{{0.21, ArchHigh}, {math.Nextafter(0.21, 1), ArchNormal}, {math.Nextafter(0.26, 0), ArchNormal}, {0.26, ArchFlat}} {
		if class, err := ArchClass(c.index, CavanaghHigh, CavanaghFlat); err != nil || class != c.class {
			t.Errorf("%v: %q, %v, want %s", c.index, class, err, c.class)
		}
	}
	for _, areas := range [][3]float64{{-1, 2, 3}, {0, 0, 0}, {math.NaN(), 1, 1}, {math.Inf(1), 1, 1}, {math.MaxFloat64, math.MaxFloat64, 1}} {
		if index, err := ArchIndex(areas[0], areas[1], areas[2]); !errors.Is(err, ErrIllegal) {
			t.Errorf("%v: %v, %v, want ErrIllegal", areas, index, err)
		}
	}
	for _, index := range []float64{-0.1, 1.1, math.NaN()} {
		if class, err := ArchClass(index, CavanaghHigh, CavanaghFlat); !errors.Is(err, ErrIllegal) {
			t.Errorf("%v: %q, %v, want ErrIllegal", index, class, err)
		}
	}
	defer func() {
		if recover() == nil {
			t.Error("boundaries that do not ascend are accepted")
		}
	}()
	_, _ = ArchClass(0.2, 0.3, 0.3)
}

// The index does not depend on the unit of the areas, and grows with the
// middle third.
func TestArchScale(t *testing.T) {
	area := rapid.Float64Range(0.1, 100)
	rapid.Check(t, func(t *rapid.T) {
		f, m, h := area.Draw(t, "f"), area.Draw(t, "m"), area.Draw(t, "h")
		one, err := ArchIndex(f, m, h)
		if err != nil {
			t.Fatal(err)
		}
		hundred, err := ArchIndex(100*f, 100*m, 100*h)
		if err != nil || math.Abs(one-hundred) > 1e-14 {
			t.Fatalf("%v in cm2, %v in mm2, %v", one, hundred, err)
		}
		if wider, _ := ArchIndex(f, m+1, h); wider <= one {
			t.Fatalf("%v, with a wider middle third %v", one, wider)
		}
	})
}

func TestNavicularDrop(t *testing.T) {
	for _, c := range []struct{ sitting, standing, want float64 }{{42, 34, 8}, {34, 36, -2}, {40, 40, 0}} {
		if got, err := NavicularDrop(c.sitting, c.standing); err != nil || got != c.want {
			t.Errorf("%v: %v, %v", c, got, err)
		}
	}
	for _, c := range [][2]float64{{-1, 3}, {3, -1}, {math.NaN(), 3}} {
		if got, err := NavicularDrop(c[0], c[1]); !errors.Is(err, ErrIllegal) {
			t.Errorf("%v: %v, %v, want ErrIllegal", c, got, err)
		}
	}
}

func TestRearfootValgus(t *testing.T) {
	for _, c := range []struct {
		angle float64
		varus bool
		want  float64
	}{{5, false, 5}, {5, true, -5}, {-5, true, 5}, {0, true, 0}} {
		got, err := RearfootValgus(c.angle, c.varus)
		if err != nil || got != c.want || math.Signbit(got) != math.Signbit(c.want) {
			t.Errorf("%v: %v, %v", c, got, err)
		}
	}
	if _, err := RearfootValgus(91, false); !errors.Is(err, ErrIllegal) {
		t.Errorf("91 degrees: %v", err)
	}
}

// TestBoundariesOnPaper measures in tenths, as studies do: a drop of 10.0 is 10
// and an index on a boundary belongs to its class, whatever binary fractions do.
func TestBoundariesOnPaper(t *testing.T) {
	tenth := func(n int) float64 { return float64(n) / 10 }
	off := 0
	for n := range 500 {
		got, err := NavicularDrop(tenth(n+100), tenth(n))
		if err != nil || got != 10 {
			t.Errorf("%v less %v: %v, %v, want 10", tenth(n+100), tenth(n), got, err)
		}
		if tenth(n+100)-tenth(n) != 10 {
			off++
		}
	}
	if off == 0 {
		t.Error("no difference in tenths is off 10 in binary fractions: the test shows nothing")
	}
	if got := FootMean(0.1, 0.2); got != 0.15 {
		t.Errorf("the mean of 0.1 and 0.2 is %v", got)
	}
	seen := map[string]int{}
	for whole := 100; whole <= 1000; whole += 100 {
		for part, want := range map[int]string{21: ArchHigh, 26: ArchFlat, 22: ArchNormal, 25: ArchNormal} {
			mid := whole * part / 100
			for front := 1; front < whole-mid; front += 7 {
				index, err := ArchIndex(tenth(front), tenth(mid), tenth(whole-mid-front))
				if err != nil {
					t.Fatal(err)
				}
				if class, err := ArchClass(index, CavanaghHigh, CavanaghFlat); err != nil || class != want {
					t.Errorf("%d of %d tenths: %v is %s, %v, want %s", mid, whole, index, class, err, want)
				}
				seen[want]++
			}
		}
	}
	if len(seen) != 3 {
		t.Errorf("classes seen: %v", seen)
	}
}
