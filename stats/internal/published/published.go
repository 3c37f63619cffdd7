// Package published reads the printed values that tests check against.
//
// A check is a folder testdata/published/AUTHOR-YEAR at the top of the module
// holding SOURCE.md (citation, table or page, what was retyped and from what),
// want.csv and, where the figures were computed from rows, data.csv.
//
// want.csv has the columns quantity, printed, tolerance and where. The printed
// text is kept as it stands in the source: its value is that text read as a
// number, and its tolerance half a unit of its last digit. A tolerance that is
// written out replaces the half unit; SOURCE.md then says why.
//
// A test that loads a folder must ask for every quantity in it, or it fails: a
// figure that nobody compares protects nothing.
package published

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// A Set is one folder of printed values.
type Set struct {
	t      testing.TB
	dir    string
	order  []string
	wants  map[string]want
	asked  map[string]bool
	header []string
	rows   [][]string
}

type want struct {
	value, tolerance float64
	where            string
}

// Load reads the folder testdata/published/name. When the test ends it fails
// if any quantity was never asked for.
func Load(t testing.TB, name string) *Set {
	t.Helper()
	root, err := moduleRoot()
	if err != nil {
		t.Fatal(err)
	}
	s, err := read(filepath.Join(root, "testdata", "published", name))
	if err != nil {
		t.Fatal(err)
	}
	s.t = t
	t.Cleanup(func() {
		for _, q := range s.unasked() {
			t.Errorf("published %s: quantity %q was never checked", name, q)
		}
	})
	return s
}

// Want returns a printed value and its tolerance.
func (s *Set) Want(quantity string) (value, tolerance float64) {
	s.t.Helper()
	w, ok := s.wants[quantity]
	if !ok {
		s.t.Fatalf("published %s: no quantity %q; it has %s",
			filepath.Base(s.dir), quantity, strings.Join(s.order, ", "))
	}
	s.asked[quantity] = true
	return w.value, w.tolerance
}

// Check compares got with the printed value of a quantity.
func (s *Set) Check(quantity string, got float64) {
	s.t.Helper()
	value, tolerance := s.Want(quantity)
	if !within(got, value, tolerance) {
		s.t.Errorf("%s of %s (%s): got %.17g, printed %v, tolerance %v",
			quantity, filepath.Base(s.dir), s.wants[quantity].where, got, value, tolerance)
	}
}

// Text returns a column of data.csv as it is written.
func (s *Set) Text(column string) []string {
	s.t.Helper()
	for j, h := range s.header {
		if h == column {
			out := make([]string, len(s.rows))
			for i, r := range s.rows {
				out[i] = r[j]
			}
			return out
		}
	}
	s.t.Fatalf("published %s: no column %q in data.csv; it has %s",
		filepath.Base(s.dir), column, strings.Join(s.header, ", "))
	return nil
}

// Floats returns a column of data.csv as numbers; an empty cell is NaN.
func (s *Set) Floats(column string) []float64 {
	s.t.Helper()
	text := s.Text(column)
	out := make([]float64, len(text))
	for i, x := range text {
		if x == "" {
			out[i] = math.NaN()
			continue
		}
		v, err := strconv.ParseFloat(x, 64)
		if err != nil {
			s.t.Fatalf("published %s: data.csv:%d: column %s: %q is not a number",
				filepath.Base(s.dir), i+2, column, x)
		}
		out[i] = v
	}
	return out
}

// Ints returns a column of data.csv as whole numbers.
func (s *Set) Ints(column string) []int {
	s.t.Helper()
	text := s.Text(column)
	out := make([]int, len(text))
	for i, x := range text {
		v, err := strconv.Atoi(x)
		if err != nil {
			s.t.Fatalf("published %s: data.csv:%d: column %s: %q is not a whole number",
				filepath.Base(s.dir), i+2, column, x)
		}
		out[i] = v
	}
	return out
}

func (s *Set) unasked() []string {
	var out []string
	for _, q := range s.order {
		if !s.asked[q] {
			out = append(out, q)
		}
	}
	return out
}

// within reports whether got lies within tolerance of value. The bound is
// widened by a few roundings so that a printed 0.5 meets 0.45 and 0.55.
func within(got, value, tolerance float64) bool {
	if math.IsNaN(got) {
		return false
	}
	slack := 4 * 0x1p-52 * math.Abs(value)
	return math.Abs(got-value) <= tolerance+slack
}

func moduleRoot() (string, error) {
	dir, err := os.Getwd()
	if err != nil {
		return "", err
	}
	for {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			return dir, nil
		}
		up := filepath.Dir(dir)
		if up == dir {
			return "", fmt.Errorf("published: no go.mod above the working directory")
		}
		dir = up
	}
}

func read(dir string) (*Set, error) {
	s := &Set{dir: dir, wants: map[string]want{}, asked: map[string]bool{}}
	if _, err := os.Stat(filepath.Join(dir, "SOURCE.md")); err != nil {
		return nil, fmt.Errorf("published: every folder names its source: %w", err)
	}
	header, rows, err := readCSV(filepath.Join(dir, "want.csv"))
	if err != nil {
		return nil, err
	}
	if got := strings.Join(header, ","); got != "quantity,printed,tolerance,where" {
		return nil, fmt.Errorf("%s/want.csv:1: found header %q, expected %q",
			dir, got, "quantity,printed,tolerance,where")
	}
	for i, r := range rows {
		w, err := parseWant(r[1], r[2])
		if err != nil {
			return nil, fmt.Errorf("%s/want.csv:%d: %w", dir, i+2, err)
		}
		if _, twice := s.wants[r[0]]; twice {
			return nil, fmt.Errorf("%s/want.csv:%d: quantity %q appears twice", dir, i+2, r[0])
		}
		w.where = r[3]
		s.wants[r[0]] = w
		s.order = append(s.order, r[0])
	}
	data := filepath.Join(dir, "data.csv")
	if _, err := os.Stat(data); err == nil {
		if s.header, s.rows, err = readCSV(data); err != nil {
			return nil, err
		}
	}
	return s, nil
}

func parseWant(printed, tolerance string) (want, error) {
	var w want
	var err error
	if w.value, err = strconv.ParseFloat(printed, 64); err != nil {
		return w, fmt.Errorf("%q is not a number", printed)
	}
	if tolerance == "" {
		w.tolerance = halfUnit(printed)
		return w, nil
	}
	if w.tolerance, err = strconv.ParseFloat(tolerance, 64); err != nil || !(w.tolerance > 0) {
		return w, fmt.Errorf("tolerance %q is not a positive number", tolerance)
	}
	return w, nil
}

// halfUnit returns half a unit of the last digit of a printed number: 0.005
// for "3.69", 0.5 for "4", 5e-07 for "1.2e-5".
func halfUnit(printed string) float64 {
	mantissa, exponent := strings.ToLower(printed), 0
	if i := strings.IndexByte(mantissa, 'e'); i >= 0 {
		exponent, _ = strconv.Atoi(mantissa[i+1:])
		mantissa = mantissa[:i]
	}
	if i := strings.IndexByte(mantissa, '.'); i >= 0 {
		exponent -= len(mantissa) - i - 1
	}
	half, _ := strconv.ParseFloat("5e"+strconv.Itoa(exponent-1), 64)
	return half
}

func readCSV(name string) (header []string, rows [][]string, err error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, nil, err
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil {
		return nil, nil, fmt.Errorf("%s: %w", name, err)
	}
	if len(all) == 0 {
		return nil, nil, fmt.Errorf("%s: the file is empty, expected a header", name)
	}
	return all[0], all[1:], nil
}
