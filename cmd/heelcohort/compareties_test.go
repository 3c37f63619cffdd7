package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"heelcohort/cmd/heelcohort/internal/verdict"
)

// The coefficient of 6-MP against placebo as it is printed for each handling of
// ties (testdata/published/freireich-1963, check P-COX-1) is explained by that
// handling where the plan has another one.
func TestCompareTies(t *testing.T) {
	dir := copyRan(t, filepath.Join("../../testdata/studies", "freireich-1963"))
	folder := t.TempDir()
	table, addresses := filepath.Join(folder, "table.csv"), filepath.Join(folder, "map.csv")
	rows := []struct{ printed, address, ties string }{
		{"1.572", "breslow/model/group:placebo/coefficient", "efron"},
		{"1.628", "breslow/model/group:placebo/coefficient", "exact"},
		{"1.628", "curves/model/group:placebo/coefficient", "exact"},
		{"1.509", "curves/model/group:placebo/coefficient", "breslow"},
	}
	csv, list := "Model,Coefficient\n", "sheet,row,column,number,printed,address,part,times,confirmed\n"
	for i, r := range rows {
		csv += "m" + string(rune('1'+i)) + "," + r.printed + "\n"
		list += "," + string(rune('2'+i)) + ",B,1," + r.printed + "," + r.address + ",value,,yes\n"
	}
	for file, text := range map[string]string{table: csv, addresses: list} {
		if err := os.WriteFile(file, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	got, code := comparedFile(t, dir, "--printed", table, "--map", addresses, "--decimal", "point")
	if code != exitReport || len(got.Comparison.Cells) != len(rows) {
		t.Fatalf("exit status %d, %+v", code, got.Comparison)
	}
	for i, c := range got.Comparison.Cells {
		if len(c.Explanations) == 0 || c.Explanations[0].Kind != verdict.KindTies || !strings.Contains(c.Explanations[0].Text, rows[i].ties) {
			t.Errorf("%s at %s: %+v", c.Text, rows[i].address, c.Explanations)
		}
	}
}
