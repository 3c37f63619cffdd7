package cohort

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"heelcohort/codebook"
	"heelcohort/dataset"
)

// TestBrokenRulesTakeEveryRowConcerned wants the cells of all rows that a rule
// across rows may be about to be missing, not only of that with the finding.
func TestBrokenRulesTakeEveryRowConcerned(t *testing.T) {
	pkg, err := codebook.Decode("codebook.yaml", []byte(`
name: saltmarsh
resources:
  - name: spells
    path: spells.csv
    schema:
      fields:
        - {name: child, type: string}
        - {name: from, type: integer}
        - {name: to, type: integer}
        - {name: hours, type: number, heelcohort: {plausible: {maximum: 90}}}
        - {name: tag, type: string}
    heelcohort:
      rules:
        - {name: overlap, no_overlap: {from: from, to: to, within: [child]}}
        - {name: hours, group: {by: [child], check: "sum(hours) <= 100"}}
        - {name: tags, unique: [tag]}
        - {name: order, order: [from, to, hours], severity: warning}
`))
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	text := "child,from,to,hours,tag\nA,0,10,60,t1\nA,5,15,50,t2\nA,20,30,1,t3\nB,0,10,99,t4\nB,10,20,1,t5\nC,30,20,1,t4\n"
	if err := os.WriteFile(filepath.Join(dir, "spells.csv"), []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	d, found, err := dataset.Open(context.Background(), dir, pkg, dataset.Options{})
	if err != nil {
		t.Fatal(err)
	}
	more, err := dataset.Validate(context.Background(), d)
	if err != nil {
		t.Fatal(err)
	}
	n, _ := withoutFaults(d.Table("spells"), append(found, more...))
	for column, want := range map[string]string{
		"child": "A A A B B C",
		"from":  "! ! 20 0 10 !",
		"to":    "! ! 30 10 20 !",
		"hours": "! ! ! 99 1 1",
		"tag":   "t1 t2 t3 ! t5 !",
	} {
		c := n.Column(column)
		var got []string
		for i := range c.Len() {
			if c.State[i] == dataset.Invalid {
				got = append(got, "!")
			} else {
				got = append(got, c.Value(i).String())
			}
		}
		if strings.Join(got, " ") != want {
			t.Errorf("%s is %q, want %s", column, got, want)
		}
		// The table itself is left as it was.
		if d.Table("spells").Column(column).State[0] != dataset.Present {
			t.Errorf("%s of the data has changed", column)
		}
	}
}
