package codebookpage

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"

	"heelcohort/cmd/heelcohort/internal/demo"
	"heelcohort/codebook"
	"heelcohort/dataset"
)

// Numbers of the demonstration's page, counted again from the workbook's cells
// as they lie there, without codebook, typing or package stats.
func TestDemoAgainstCells(t *testing.T) {
	dir := t.TempDir()
	if err := demo.Write(context.Background(), dir, demo.WriteOptions{}); err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(filepath.Join(dir, "codebook.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	pkg, err := codebook.Decode("codebook.yaml", text)
	if err != nil {
		t.Fatal(err)
	}
	data, findings, err := dataset.Open(context.Background(), dir, pkg, dataset.Options{})
	if err != nil {
		t.Fatal(err)
	}
	in := Input{Package: pkg, Data: data, Findings: findings, Small: DefaultSmall}

	g, err := dataset.OpenGrid(dir, "data/registry.xlsx")
	if err != nil {
		t.Fatal(err)
	}
	defer g.Close()
	columns := map[string][]string{}
	var names []string
	for row, err := range g.Rows(context.Background(), slices.Index(g.Sheets, "participants")) {
		if err != nil {
			t.Fatal(err)
		}
		for i, c := range row.Cells {
			if row.Number == 1 {
				names = append(names, c.Text)
				continue
			}
			columns[names[i]] = append(columns[names[i]], c.Text)
		}
	}
	for _, name := range []string{"height_cm", "weight_kg", "arch_index_r", "fpi_l3"} {
		v := variableNamed(t, in, name)
		codes := map[string]int{}
		var values []float64
		sum := 0.0
		for _, text := range columns[name] {
			x, err := strconv.ParseFloat(text, 64)
			if err != nil || x == 999 {
				codes[text]++
				continue
			}
			values, sum = append(values, x), sum+x
		}
		slices.Sort(values)
		if v.Present != number(len(values)) || len(values) < 900 {
			t.Errorf("%s: %s present, want %d", name, v.Present, len(values))
		}
		for _, c := range v.Codes {
			if c.N != number(codes[c.Value]) {
				t.Errorf("%s: %s cells of %s, want %d", name, c.N, c.Value, codes[c.Value])
			}
		}
		for _, want := range []struct {
			name string
			x    float64
		}{
			{"Minimum", values[0]},
			{"Maximum", values[len(values)-1]},
			{"Mean (SD)", sum / float64(len(values))},
			{"Median", (values[(len(values)-1)/2] + values[len(values)/2]) / 2},
		} {
			for _, f := range v.Numbers {
				var got float64
				if f.Name != want.name {
					continue
				}
				shown := f.Value
				if r := []rune(shown); string(r[0]) == "−" {
					shown = "-" + string(r[1:])
				}
				if _, err := fmt.Sscan(shown, &got); err != nil {
					t.Fatal(err)
				}
				if d := got - want.x; d > 0.0501 || d < -0.0501 { // one decimal is printed, or more
					t.Errorf("%s: %s is %s, want %v", name, f.Name, f.Value, want.x)
				}
			}
		}
	}
	for _, w := range variableNamed(t, in, "main_sport").Words {
		n := 0
		for _, text := range columns["main_sport"] {
			if text == w.Value {
				n++
			}
		}
		if w.N != number(n) {
			t.Errorf("%s in %s cells, want %d", w.Value, w.N, n)
		}
	}
}
