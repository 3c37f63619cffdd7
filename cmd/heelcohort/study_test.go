package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"heelcohort/cmd/heelcohort/internal/result"
)

// TestPublishedStudies runs the studies of published data and looks for their
// printed values in results.json. Each folder's SOURCE.md names the source; the
// tolerance is half a unit of the last printed digit.
func TestPublishedStudies(t *testing.T) {
	folders, err := filepath.Glob("../../testdata/studies/*/study.yaml")
	if err != nil || len(folders) < 3 {
		t.Fatalf("%d studies, %v; want at least 3", len(folders), err)
	}
	for _, plan := range folders {
		source := filepath.Dir(plan)
		t.Run(filepath.Base(source), func(t *testing.T) {
			t.Parallel()
			if _, err := os.Stat(filepath.Join(source, "SOURCE.md")); err != nil {
				t.Error(err)
			}
			dir := filepath.Join(t.TempDir(), "study")
			if err := os.CopyFS(dir, os.DirFS(source)); err != nil {
				t.Fatal(err)
			}
			var stdout, stderr bytes.Buffer
			if code := command(context.Background(), []string{"run", dir}, &stdout, &stderr); code != exitDone {
				t.Fatalf("exit status %d: %s%s", code, stdout.String(), stderr.String())
			}
			checkPrinted(t, source, readResults(t, dir))
		})
	}
}

func readResults(t *testing.T, dir string) *result.Results {
	t.Helper()
	f, err := os.Open(filepath.Join(dir, "results", "results.json"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	res, err := result.ReadJSON(f)
	if err != nil {
		t.Fatal(err)
	}
	return res
}

func checkPrinted(t *testing.T, source string, res *result.Results) {
	t.Helper()
	rows := map[string]result.Row{}
	for _, r := range res.Rows {
		rows[r.ID] = r
	}
	f, err := os.Open(filepath.Join(source, "want.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	wanted, err := csv.NewReader(f).ReadAll()
	if err != nil || len(wanted) < 2 {
		t.Fatalf("want.csv: %d lines, %v", len(wanted), err)
	}
	for _, w := range wanted[1:] {
		id, field, printed := w[0], w[1], w[3]
		r, ok := rows[id]
		if !ok {
			t.Errorf("no row %s", id)
			continue
		}
		got := map[string]result.Number{
			"estimate": r.Estimate, "se": r.SE, "n": r.N, "events": r.Events, "statistic": r.Statistic, "df": r.DF,
			"lower": r.Lower, "upper": r.Upper, "p": r.P,
		}
		x, known := got[field]
		if !known {
			t.Fatalf("want.csv: unknown field %q", field)
		}
		scale, err := strconv.ParseFloat(w[2], 64)
		if err != nil {
			t.Fatal(err)
		}
		want, err := strconv.ParseFloat(printed, 64)
		if err != nil {
			t.Fatal(err)
		}
		_, decimals, _ := strings.Cut(printed, ".")
		tolerance := 0.5 * math.Pow(10, -float64(len(decimals))) * (1 + 1e-9)
		if value := float64(x) * scale; !(math.Abs(value-want) <= tolerance) {
			t.Errorf("%s: %s is %v, printed %s", id, field, value, printed)
		}
	}
}
