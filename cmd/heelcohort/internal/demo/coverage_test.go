package demo

import (
	"context"
	"os"
	"testing"
)

// TestCoverage runs the simulation of coverage, which takes minutes, where
// HEELCOHORT_COVERAGE=1 asks for it, and compares with the stored report.
func TestCoverage(t *testing.T) {
	if os.Getenv("HEELCOHORT_COVERAGE") != "1" {
		t.Skip("set HEELCOHORT_COVERAGE=1 to simulate 2000 registries")
	}
	report, err := Coverage(context.Background(), 2000, 1)
	if err != nil {
		t.Fatal(err)
	}
	const file = "testdata/coverage.txt"
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, []byte(report.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if got := report.String(); got != string(want) {
		t.Errorf("got:\n%s\nwant:\n%s", got, want)
	}
	for _, c := range report.Rows {
		// The standard error of a share of 95 % of 2,000 is 0.5 %.
		if share := c.Share(); share < 0.93 || share > 0.97 {
			t.Errorf("%s: limits cover the truth in %.1f %% of %d registries, want 93 to 97", c.Name, 100*share, c.N)
		}
	}
}
