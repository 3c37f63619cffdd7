package run

import (
	"math"
	"strings"
	"testing"
)

// TestPaired compares two conditions of the same rows: 794 pairs as printed in
// Agresti's example of approval at two surveys (testdata/published), whose
// first-and-second counts are 794, 150, 86 and 570.
func TestPaired(t *testing.T) {
	study := folder{
		"codebook.yaml": "name: pairs\nresources:\n  - name: children\n    path: data/children.csv\n    schema:\n      primaryKey: id\n      fields:\n        - {name: id, type: integer}\n        - {name: left, type: boolean, title: Left heel, missingValues: [\"NM\"]}\n        - {name: right, type: boolean, title: Right heel}\n",
		"study.yaml":    "title: Pairs\ncodebook: codebook.yaml\nanalyses:\n  - {id: p, kind: paired, first: left, second: right, unit: children, limits: {difference: wald, odds: mid-p}, test: chi-square}\n  - {id: e, kind: paired, first: right, second: left}\n",
	}
	var data strings.Builder
	data.WriteString("id,left,right\n")
	id := 0
	for _, k := range []struct {
		n    int
		pair string
	}{{794, "true,true"}, {150, "true,false"}, {86, "false,true"}, {570, "false,false"}, {3, "NM,true"}} {
		for range k.n {
			id++
			data.WriteString(shortNumber(float64(id)) + "," + k.pair + "\n")
		}
	}
	study["data/children.csv"] = data.String()
	res := study.compute(t)
	near(t, "first alone", row(t, res, "p/pairs/:first alone/count").Estimate, 150)
	near(t, "share", row(t, res, "p/shares/left/proportion").Estimate, 944.0/1600)
	d := row(t, res, "p/comparison/paired difference")
	near(t, "difference", d.Estimate, 64.0/1600)
	near(t, "limit", d.Upper, 0.04+1.959963984540054*math.Sqrt(236-64.0*64/1600)/1600)
	near(t, "odds ratio", row(t, res, "p/comparison/paired odds ratio").Estimate, 150.0/86)
	near(t, "McNemar", row(t, res, "p/comparison/McNemar test").Statistic, 64.0*64/236)
	near(t, "the other way round", row(t, res, "e/comparison/paired odds ratio").Estimate, 86.0/150)
	if a := res.Analyses[0].Accounting; len(a) != 1 || a[0].N != 3 {
		t.Errorf("accounting %+v, want the 3 pairs with a missing one", a)
	}
}
