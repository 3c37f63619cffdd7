package verdict

import (
	"encoding/csv"
	"os"
	"strings"
	"testing"

	"heelcohort/cmd/heelcohort/internal/printedtable"
	"heelcohort/dataset"
)

// bindings reads what a planted cell stands for: address;part;times for each
// of its numbers.
func bindings(t testing.TB, ix *index, printed, text string) []bound {
	t.Helper()
	content, err := printedtable.Parse(printed, printedtable.Point)
	if err != nil {
		t.Fatal(err)
	}
	var cell []bound
	for i, one := range strings.Split(text, " | ") {
		f := strings.Split(one, ";")
		b, err := ix.bind(dataset.Origin{}, content.Numbers[i], printedtable.Address{Result: f[0], Part: f[1], Times: f[2]})
		if err != nil {
			t.Fatal(err)
		}
		cell = append(cell, b)
	}
	return cell
}

// TestPlanted: printed cells that differ for a known reason are explained by
// it, first of all that is offered. Values are not ours: see planted.py.
func TestPlanted(t *testing.T) {
	f, err := os.Open("testdata/planted.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	records, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	ix := indexOf(fixture(t))
	kinds := map[string]int{}
	total := 0
	for _, r := range records[1:] {
		kind, printed := r[0], r[1]
		cell := bindings(t, ix, printed, r[2])
		kinds[kind]++
		total++
		if how, ok := strings.CutPrefix(kind, "rounding: "); ok {
			for i, b := range cell {
				sort, got := judge(b.number, b.value)
				if want := i == len(cell)-1; want && (sort != Rounding || got != how) {
					t.Errorf("%s, number %d: %s, %s, want rounding, %s", printed, i+1, sort, got, how)
				}
			}
			continue
		}
		got := ix.explain(cell)
		if len(got) == 0 || got[0].Kind != kind {
			var own []string
			for _, b := range cell {
				own = append(own, written(b.value, b.number.Decimals))
			}
			t.Errorf("%s of %v: %v, want %s", printed, own, got, kind)
		}
	}
	t.Logf("%d planted cells of %d kinds", total, len(kinds))
	for _, kind := range []string{
		KindShare, KindPer, KindSwapped, KindInverted, KindLogarithm, KindComplement, KindLevel, KindMethod, KindMissing, KindOtherWhole,
		KindDenominator, KindUnit, KindSpread, KindNeighbour,
	} {
		if kinds[kind] < 2 {
			t.Errorf("%s is planted %d times, want twice", kind, kinds[kind])
		}
	}
	if total < 40 {
		t.Errorf("%d planted cells, want 40", total)
	}
}
