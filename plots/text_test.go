package plots

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	stdfont "golang.org/x/image/font"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/font/liberation"
	"gonum.org/v1/plot/vg"
)

// Widths agree with those of the plot library's own font faces.
func TestWidthAgainstLibrary(t *testing.T) {
	cache := font.NewCache(liberation.Collection())
	for _, st := range []style{plain, bold, title} {
		f := font.Font{Variant: "Sans"}
		if st.bold {
			f.Weight = stdfont.WeightBold
		}
		face := cache.Lookup(f, st.size)
		for _, s := range []string{"", "i", "AVAVA To", "Größe – ≤ 3", "1,234.5"} {
			if got, want := st.width(s), face.Width(s); math.Abs(float64(got-want)) > 1e-9 {
				t.Errorf("width of %q is %v, library %v", s, got, want)
			}
		}
	}
}

// subpaths counts the closed outlines of a text.
func subpaths(s string) int {
	n := 0
	for _, c := range plain.outline(s, vg.Point{}, false) {
		if c.Type == vg.CloseComp {
			n++
		}
	}
	return n
}

// Characters beyond ASCII are drawn as themselves: an o has an outer and an
// inner outline, its umlaut two dots more, a dash one bar, ≤ a chevron and a
// bar. A character that the font lacks is its empty box, two outlines.
func TestOutlinesOfCharacters(t *testing.T) {
	for s, want := range map[string]int{
		"": 0, " ": 0, "l": 1, "o": 2, "ö": 4, "o\u0308": 4, "–": 1, "≤": 2, "∞": 3, "é": 3, "日": 2, "oo": 4, "a b": 4,
	} {
		if got := subpaths(clean(s)); got != want {
			t.Errorf("%q has %d outlines, want %d", s, got, want)
		}
	}
}

func TestOutlineStaysInItsBox(t *testing.T) {
	at := vg.Point{X: 100, Y: 100}
	for _, vertical := range []bool{false, true} {
		box := text{s: "Ägypten (≤ 5)", at: at, style: plain, vertical: vertical}.box()
		for _, c := range plain.outline("Ägypten (≤ 5)", at, vertical) {
			if c.Type == vg.CloseComp {
				continue
			}
			if c.Pos.X < box.Min.X-2 || c.Pos.X > box.Max.X+2 || c.Pos.Y < box.Min.Y-2 || c.Pos.Y > box.Max.Y+2 {
				t.Errorf("vertical %v: point %v outside %v", vertical, c.Pos, box)
			}
		}
	}
}

func TestClean(t *testing.T) {
	for in, want := range map[string]string{
		"  two\n words\t": "two words", "o\u0308": "ö", "a\xffb": "a\uFFFDb", "a\x00b": "a b",
		"soft\u00ADhyphen": "softhyphen", "1\u00A0000": "1\u00A0000",
	} {
		if got := clean(in); got != want {
			t.Errorf("clean(%q) = %q, want %q", in, got, want)
		}
	}
}

func TestWrap(t *testing.T) {
	em := plain.width("m")
	for _, c := range []struct {
		s     string
		limit vg.Length
		want  []string
	}{
		{"", 50, nil},
		{"m m m", 100 * em, []string{"m m m"}},
		{"mm mm", 2.5 * em, []string{"mm", "mm"}},
		{"mmmm", 2.5 * em, []string{"mm", "mm"}},
		{"mm-mm", 3.5 * em, []string{"mm-", "mm"}},
		{"mmm", 0, []string{"m", "m", "m"}},
		{"m\u00A0m m", 3.2 * em, []string{"m\u00A0m", "m"}},
	} {
		if got := plain.wrap(c.s, c.limit); !slices.Equal(got, c.want) {
			t.Errorf("wrap(%q, %v) = %q, want %q", c.s, c.limit, got, c.want)
		}
	}
}

// No character is lost in wrapping, and no line is too wide unless it is one
// character.
func TestWrapProperties(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	alphabet := []rune("abc ö–≤-/  WMil日")
	for range 500 {
		runes := make([]rune, rng.IntN(40))
		for i := range runes {
			runes[i] = alphabet[rng.IntN(len(alphabet))]
		}
		s, limit := string(runes), vg.Length(rng.Float64()*60)
		lines := plain.wrap(s, limit)
		squash := func(s string) string { return strings.ReplaceAll(s, " ", "") }
		if got, want := squash(strings.Join(lines, "")), squash(clean(s)); got != want {
			t.Fatalf("wrap(%q) kept %q", s, got)
		}
		for _, l := range lines {
			if plain.width(l) > limit && len([]rune(l)) > 1 {
				t.Fatalf("wrap(%q, %v): line %q is %v wide", s, limit, l, plain.width(l))
			}
		}
	}
}
