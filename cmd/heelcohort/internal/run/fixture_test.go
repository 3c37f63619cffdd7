package run

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"heelcohort/cmd/heelcohort/internal/result"
)

// A folder is a study folder of a test: texts by file name.
type folder map[string]string

// write writes the folder's files.
func (f folder) write(t testing.TB) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range f {
		path := filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// compute reads and computes the folder's study.
func (f folder) compute(t testing.TB) *result.Results {
	t.Helper()
	s, err := Read(f.write(t))
	if err != nil {
		t.Fatal(err)
	}
	o, err := s.Compute(context.Background(), "heelcohort test", Watch{})
	if err != nil {
		t.Fatal(err)
	}
	if o.Faulty() {
		t.Fatalf("the data have errors: %v", o.Findings)
	}
	return o.Results
}

// row finds the row with an id.
func row(t testing.TB, res *result.Results, id string) result.Row {
	t.Helper()
	for _, r := range res.Rows {
		if r.ID == id {
			return r
		}
	}
	var near []string
	for _, r := range res.Rows {
		near = append(near, r.ID)
	}
	t.Fatalf("no row %s among\n%s", id, strings.Join(near, "\n"))
	return result.Row{}
}

// near fails unless got is want to 1e-9 of it, absent numbers being equal.
func near(t testing.TB, what string, got result.Number, want float64) {
	t.Helper()
	if !closeTo(float64(got), want) {
		t.Errorf("%s is %v, want %v", what, got, want)
	}
}

// closeTo compares to 1e-9: both sides add up at most some hundreds of doubles
// of like size, each right to about 1e-16.
func closeTo(got, want float64) bool {
	if math.IsNaN(want) || math.IsInf(want, 0) {
		return math.IsNaN(got) && math.IsNaN(want) || got == want
	}
	return math.Abs(got-want) <= 1e-9*math.Max(1, math.Abs(want))
}

// removedUnder is what the accounting of the only analysis removes of a thing,
// for one reason or, with "", for all.
func removedUnder(res *result.Results, what, reason string) float64 {
	sum := 0.0
	for _, r := range res.Analyses[0].Accounting {
		if r.What == what && (reason == "" || r.Reason == reason) {
			sum += float64(r.N)
		}
	}
	return sum
}

// lines writes a table as CSV.
func lines(head string, rows [][]string) string {
	var b strings.Builder
	b.WriteString(head + "\n")
	for _, r := range rows {
		b.WriteString(strings.Join(r, ",") + "\n")
	}
	return b.String()
}

func digits(x float64) string {
	if math.IsNaN(x) {
		return ""
	}
	return strconv.FormatFloat(x, 'g', -1, 64)
}

func parsed(t testing.TB, text string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}
