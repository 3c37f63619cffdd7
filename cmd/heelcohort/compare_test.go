package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"heelcohort/cmd/heelcohort/internal/printedtable"
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

// TestFalseExplanationsOfDemo prints rows of the demonstration's results, makes
// one number of each cell wrong at random, and wants few to be explained.
func TestFalseExplanationsOfDemo(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "demo")
	var stdout, stderr bytes.Buffer
	for _, args := range [][]string{{"demo", dir}, {"run", dir}} {
		if code := command(context.Background(), args, &stdout, &stderr); code != exitDone {
			t.Fatalf("exit status %d: %s%s", code, stdout.String(), stderr.String())
		}
	}
	r := rand.New(rand.NewPCG(11, 12))
	table, addresses := [][]string{{"Row", "Printed"}}, [][]string{{"row", "column", "number", "address", "part"}}
	for i, row := range readResults(t, dir).Rows {
		if !row.Lower.Present() || !row.Upper.Present() || math.IsInf(float64(row.Lower+row.Upper), 0) || i%2 == 0 {
			continue
		}
		decimals := 1 + r.IntN(3)
		x := []float64{float64(row.Estimate), float64(row.Lower), float64(row.Upper)}
		at := r.IntN(3)
		right := strconv.FormatFloat(x[at], 'f', decimals, 64)
		switch unit := math.Pow10(-decimals); r.IntN(2) {
		case 0:
			x[at] += float64(r.IntN(19)-9) * unit
		case 1:
			x[at] *= 0.25 + 3.75*r.Float64()
		}
		if strconv.FormatFloat(x[at], 'f', decimals, 64) == right {
			continue
		}
		text := func(x float64) string { return strconv.FormatFloat(x, 'f', decimals, 64) }
		table = append(table, []string{"Row " + strconv.Itoa(i), text(x[0]) + " (" + text(x[1]) + " to " + text(x[2]) + ")"})
		for n, part := range []string{"value", "lower", "upper"} {
			addresses = append(addresses, []string{strconv.Itoa(len(table)), "B", strconv.Itoa(n + 1), row.ID, part})
		}
	}
	write := func(name string, records [][]string) string {
		path := filepath.Join(t.TempDir(), name)
		var b bytes.Buffer
		if err := csv.NewWriter(&b).WriteAll(records); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
		return path
	}
	got, _ := comparedFile(t, dir, "--printed", write("table.csv", table), "--map", write("map.csv", addresses))
	cells, differ, explained := 0, 0, 0
	for _, c := range got.Comparison.Cells {
		cells++
		if len(c.Explanations) > 0 {
			explained++
			t.Logf("%s: %+v", c.Text, c.Explanations)
		}
		for _, n := range c.Numbers {
			if n.Verdict == "differs" {
				differ++
				break
			}
		}
	}
	t.Logf("%d wrong cells, %d found different, %d explained (%.1f%%)", cells, differ, explained, 100*float64(explained)/float64(cells))
	if cells < 300 || 20*explained >= cells {
		t.Errorf("%d of %d wrong cells explained, want below 5%%", explained, cells)
	}
}

// TestProposals: of the numbers of the published tables most are proposed as
// they were addressed by hand, and nothing is confirmed.
func TestProposals(t *testing.T) {
	tables, err := filepath.Glob("../../testdata/printed/*/table.csv")
	if err != nil {
		t.Fatal(err)
	}
	total, right, wrong := 0, 0, 0
	for _, table := range tables {
		folder := filepath.Dir(table)
		dir := copyRan(t, filepath.Join("../../testdata/studies", filepath.Base(folder)))
		out := filepath.Join(t.TempDir(), "map.csv")
		var stdout, stderr bytes.Buffer
		if code := command(context.Background(), []string{"compare", dir, "--printed", table, "--propose", out}, &stdout, &stderr); code != exitDone {
			t.Fatalf("exit status %d: %s", code, stderr.String())
		}
		byHand, err := printedtable.ReadAddresses(context.Background(), filepath.Join(folder, "map.csv"))
		if err != nil {
			t.Fatal(err)
		}
		proposed, err := printedtable.ReadAddresses(context.Background(), out)
		if err != nil {
			t.Fatal(err)
		}
		find := map[[3]int]printedtable.Address{}
		for _, a := range proposed {
			find[[3]int{a.Row, a.Column, a.Number}] = a
			if a.Confirmed {
				t.Errorf("%s: %+v is confirmed", table, a)
			}
		}
		for _, a := range byHand {
			total++
			switch got := find[[3]int{a.Row, a.Column, a.Number}]; {
			case rest(got.Result) == rest(a.Result) && got.Part == a.Part:
				right++ // two analyses of a study may hold the same row
			case got.Result != "":
				wrong++
				t.Logf("%s: %q: %s, %s (%s), by hand %s, %s", table, a.Printed, got.Result, got.Part, got.Because, a.Result, a.Part)
			default:
				t.Logf("%s: %q: open, by hand %s, %s", table, a.Printed, a.Result, a.Part)
			}
		}
	}
	t.Logf("%d numbers: %d proposed as by hand, %d otherwise, %d left open", total, right, wrong, total-right-wrong)
	if 10*right < 7*total {
		t.Errorf("%d of %d proposed as by hand, want 7 of 10", right, total)
	}
}

// rest is an address without its analysis.
func rest(address string) string {
	_, rest, _ := strings.Cut(address, "/")
	return rest
}

// A workbook's stored number has lost the zeros that were printed: a whole one
// counts where the result is whole, any other is refused with its cell.
func TestStoredNumbers(t *testing.T) {
	dir := copyRan(t, "../../testdata/studies/freireich-1963")
	for _, c := range []struct {
		value   any
		address string
		part    string
		want    string
	}{
		{15, "curves/at/group=6-MP/survival@10", "n", ""},
		{0.7529, "curves/at/group=6-MP/survival@10", "value", `sheet "Sheet1", B2: found the number 0.7529 stored as such, expected text`},
		{1, "curves/at/group=6-MP/survival@10", "value", "found the number 1 stored as such"},
	} {
		book := excelize.NewFile()
		for cell, v := range map[string]any{"A1": "Weeks", "B1": "At risk", "A2": "Week 10", "B2": c.value} {
			if err := book.SetCellValue("Sheet1", cell, v); err != nil {
				t.Fatal(err)
			}
		}
		folder := t.TempDir()
		table, addresses := filepath.Join(folder, "t.xlsx"), filepath.Join(folder, "m.csv")
		if err := book.SaveAs(table); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(addresses, []byte("row,column,address,part\n2,B,"+c.address+","+c.part+"\n"), 0o644); err != nil {
			t.Fatal(err)
		}
		var stdout, stderr bytes.Buffer
		code := command(context.Background(), []string{"compare", dir, "--printed", table, "--map", addresses}, &stdout, &stderr)
		if c.want == "" && code != exitDone || c.want != "" && (code != exitNotDone || !strings.Contains(stderr.String(), c.want)) {
			t.Errorf("%v: exit status %d: %s%s", c.value, code, stdout.String(), stderr.String())
		}
	}
}
