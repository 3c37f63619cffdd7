package published

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

func TestHalfUnit(t *testing.T) {
	for _, c := range []struct {
		printed string
		want    float64
	}{
		{"4", 0.5},
		{"3.69", 0.005},
		{".0000749", 5e-8},
		{"-0.342", 0.0005},
		{"1.2e-5", 5e-7},
		{"0.0", 0.05},
	} {
		if got := halfUnit(c.printed); got != c.want {
			t.Errorf("halfUnit(%q) = %v, want %v", c.printed, got, c.want)
		}
	}
}

func TestWithin(t *testing.T) {
	for _, c := range []struct {
		got, value, tolerance float64
		want                  bool
	}{
		{3.6888, 3.69, 0.005, true},
		{3.6851, 3.69, 0.005, true},
		{3.684, 3.69, 0.005, false},
		{3.696, 3.69, 0.005, false},
		{3.685, 3.69, 0.005, true},
	} {
		if got := within(c.got, c.value, c.tolerance); got != c.want {
			t.Errorf("within(%v, %v, %v) = %v, want %v", c.got, c.value, c.tolerance, got, c.want)
		}
	}
}

func folder(t *testing.T, files map[string]string) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range files {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

func TestReadReportsWhatWasNeverAsked(t *testing.T) {
	dir := folder(t, map[string]string{
		"SOURCE.md": "invented\n",
		"want.csv":  "quantity,printed,tolerance,where\na,1.50,,table 1\nb,2,0.25,table 1\n",
		"data.csv":  "x,y\n1,\n2,3.5\n",
	})
	s, err := read(dir)
	if err != nil {
		t.Fatal(err)
	}
	s.t = t
	if v, tol := s.Want("b"); v != 2 || tol != 0.25 {
		t.Errorf("Want(b) = %v, %v; want 2, 0.25", v, tol)
	}
	if got := s.unasked(); !slices.Equal(got, []string{"a"}) {
		t.Errorf("unasked = %v, want [a]", got)
	}
	s.Check("a", 1.4961)
	if got := s.unasked(); len(got) != 0 {
		t.Errorf("unasked = %v, want none", got)
	}
	if got := s.Floats("y"); got[0] == got[0] || got[1] != 3.5 {
		t.Errorf("Floats(y) = %v, want [NaN 3.5]", got)
	}
	if got := s.Ints("x"); !slices.Equal(got, []int{1, 2}) {
		t.Errorf("Ints(x) = %v, want [1 2]", got)
	}
}

func TestReadRefuses(t *testing.T) {
	const header = "quantity,printed,tolerance,where\n"
	for _, c := range []struct{ name, want, file string }{
		{"number", `"x" is not a number`, header + "a,x,,\n"},
		{"tolerance", `tolerance "0" is not a positive number`, header + "a,1,0,\n"},
		{"twice", `quantity "a" appears twice`, header + "a,1,,\na,1,,\n"},
		{"header", "found header", "quantity,printed\n"},
		{"empty", "the file is empty", ""},
	} {
		_, err := read(folder(t, map[string]string{"SOURCE.md": "invented\n", "want.csv": c.file}))
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want it to contain %q", c.name, err, c.want)
		}
	}
	if _, err := read(folder(t, map[string]string{"want.csv": header})); err == nil {
		t.Error("a folder without SOURCE.md was accepted")
	}
}

// Every folder on disk is readable and names at least one quantity.
func TestFolders(t *testing.T) {
	root, err := moduleRoot()
	if err != nil {
		t.Fatal(err)
	}
	dirs, err := os.ReadDir(filepath.Join(root, "testdata", "published"))
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range dirs {
		if !d.IsDir() {
			continue
		}
		s, err := read(filepath.Join(root, "testdata", "published", d.Name()))
		if err != nil {
			t.Error(err)
			continue
		}
		if len(s.order) == 0 {
			t.Errorf("%s: want.csv holds no quantity", d.Name())
		}
	}
}
