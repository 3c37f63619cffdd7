package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"github.com/xuri/excelize/v2"
)

// compared is what the tests read of --json.
type compared struct {
	Counts     struct{ Same, Rounding, Differs, Explained, Open, Unconfirmed int } `json:"counts"`
	Comparison struct {
		Cells []struct {
			Cell         string                               `json:"cell"`
			Text         string                               `json:"text"`
			Numbers      []struct{ Verdict, Rounding string } `json:"numbers"`
			Explanations []struct{ Kind, Text string }        `json:"explanations"`
		} `json:"cells"`
	} `json:"comparison"`
}

// comparedFile runs compare and reads what it wrote.
func comparedFile(t *testing.T, args ...string) (compared, int) {
	t.Helper()
	out := filepath.Join(t.TempDir(), "out.json")
	var stdout, stderr bytes.Buffer
	code := command(context.Background(), append([]string{"compare", "--json", out}, args...), &stdout, &stderr)
	var c compared
	text, err := os.ReadFile(out)
	if err != nil {
		t.Fatalf("%v: %s%s", err, stdout.String(), stderr.String())
	}
	if err := json.Unmarshal(text, &c); err != nil {
		t.Fatal(err)
	}
	return c, code
}

// ran is a copy of a folder's study with its results.
func copyRan(t *testing.T, source string) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "study")
	if err := os.CopyFS(dir, os.DirFS(source)); err != nil {
		t.Fatal(err)
	}
	var stdout, stderr bytes.Buffer
	if code := command(context.Background(), []string{"run", dir}, &stdout, &stderr); code != exitDone {
		t.Fatalf("exit status %d: %s%s", code, stdout.String(), stderr.String())
	}
	return dir
}

// differ are the printed numbers that published tables give otherwise than
// their data do; see SOURCE.md of each folder.
var differ = map[string]map[string]string{
	"freireich-1963":       {"19.26": "differs", "10.74": "rounding"}, // 10.7495
	"hosmer-lemeshow-2000": {"-53.67656": "differs"},
}

// TestPublishedTables lays published values out as tables, as csv and as xlsx,
// and wants each of their numbers answered rightly.
func TestPublishedTables(t *testing.T) {
	tables, err := filepath.Glob("../../testdata/printed/*/table.csv")
	if err != nil || len(tables) < 6 {
		t.Fatalf("%d tables, %v", len(tables), err)
	}
	total, right := 0, 0
	for _, table := range tables {
		folder := filepath.Dir(table)
		name := filepath.Base(folder)
		if _, err := os.Stat(filepath.Join(folder, "SOURCE.md")); err != nil {
			t.Error(err)
		}
		dir := copyRan(t, filepath.Join("../../testdata/studies", name))
		for _, file := range []string{table, asWorkbook(t, table)} {
			got, code := comparedFile(t, dir, "--printed", file, "--map", filepath.Join(folder, "map.csv"))
			want := exitDone
			if len(differ[name]) > 0 {
				want = exitReport
			}
			if code != want || got.Counts.Open+got.Counts.Unconfirmed > 0 {
				t.Errorf("%s: exit status %d, %+v", file, code, got.Counts)
			}
			for _, c := range got.Comparison.Cells {
				want, ok := "same", true
				if other := differ[name][c.Text]; other != "" {
					want = other
				}
				for _, n := range c.Numbers {
					ok = ok && n.Verdict == want
				}
				if total++; ok && len(c.Explanations) == 0 {
					right++
				} else {
					t.Errorf("%s, %s: %q: %+v, want %s", name, c.Cell, c.Text, c, want)
				}
			}
		}
	}
	t.Logf("%d of %d printed cells answered rightly, half of them as csv, half as xlsx", right, total)
	if total < 2*60 {
		t.Errorf("%d printed cells, want 60 in either form", total)
	}
}

// asWorkbook writes a CSV file as a workbook of texts.
func asWorkbook(t *testing.T, name string) string {
	t.Helper()
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	records, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	book := excelize.NewFile()
	for i, record := range records {
		for j, cell := range record {
			at, err := excelize.CoordinatesToCellName(j+1, i+1)
			if err == nil {
				err = book.SetCellStr("Sheet1", at, cell)
			}
			if err != nil {
				t.Fatal(err)
			}
		}
	}
	file := filepath.Join(t.TempDir(), "table.xlsx")
	if err := book.SaveAs(file); err != nil {
		t.Fatal(err)
	}
	return file
}
