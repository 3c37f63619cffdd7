package cohort

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/codebook"
	"heelcohort/dataset"
)

// readings have two keys to raters, and a key of two variables to visits;
// raters have a key to themselves.
const readingBook = `
name: saltmarsh
resources:
  - name: raters
    path: raters.csv
    schema:
      primaryKey: rater
      fields: [{name: rater, type: string}, {name: trained, type: boolean}, {name: trained_by, type: string}]
      foreignKeys: [{fields: trained_by, reference: {fields: rater}}]
  - name: visits
    path: visits.csv
    schema:
      primaryKey: [child, day]
      fields: [{name: child, type: string}, {name: day, type: integer}, {name: rater, type: string}]
      foreignKeys: [{fields: rater, reference: {resource: raters, fields: rater}}]
  - name: readings
    path: readings.csv
    schema:
      primaryKey: reading
      fields:
        - {name: reading, type: string}
        - {name: rater_id, type: string}
        - {name: second_rater_id, type: string, missingValues: ["NA"]}
        - {name: child, type: string, missingValues: [""]}
        - {name: day, type: integer, missingValues: [""]}
        - {name: lot, type: string, missingValues: [""]}
      foreignKeys:
        - {fields: rater_id, reference: {resource: raters, fields: rater}}
        - {fields: second_rater_id, reference: {resource: raters, fields: rater}}
        - {fields: [child, day], reference: {resource: visits, fields: [child, day]}}
  - name: labels
    path: labels.csv
    schema:
      fields: [{name: label, type: string}, {name: lot, type: string}]
      foreignKeys: [{fields: lot, reference: {resource: readings, fields: lot}}]
`

var readingFiles = map[string]string{
	"raters.csv": "rater,trained,trained_by\nR1,true,R1\nR2,false,R1\nR3,true,R2\n",
	"visits.csv": "child,day,rater\nA,0,R1\nA,7,R2\nB,0,R3\n",
	"readings.csv": `reading,rater_id,second_rater_id,child,day,lot
X1,R1,R3,A,0,l1
X2,R1,R2,A,0,l1
X3,R2,R1,A,0,l2
X4,R1,NA,A,7,
X5,R3,NA,,,
X6,R3,NA,B,,
`,
	"labels.csv": "label,lot\nK1,l1\nK2,l2\n",
}

// TestKeepFollowsEveryKey removes the rater R2: visits of R2, readings that
// name R2 as either rater or a visit of R2, and labels all of whose readings
// are gone, go too. R3, trained by R2, stays.
func TestKeepFollowsEveryKey(t *testing.T) {
	p, err := plan.Decode("study.yaml", []byte(`title: T
codebook: codebook.yaml
population: [{table: raters, keep: trained, otherwise: not trained}]
analyses: [{id: one, kind: describe, variables: [trained]}]
`))
	if err != nil {
		t.Fatal(err)
	}
	pkg, err := codebook.Decode("codebook.yaml", []byte(readingBook))
	if err != nil {
		t.Fatal(err)
	}
	m, err := Compile(p, pkg)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	for name, text := range readingFiles {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	d, found, err := dataset.Open(context.Background(), dir, pkg, dataset.Options{})
	if err != nil || len(found) > 0 {
		t.Fatal(err, found)
	}
	c, err := m.Build(context.Background(), d, nil)
	if err != nil {
		t.Fatal(err)
	}
	checkFlow(t, c)
	for table, want := range map[string]string{"raters": "R1 R3", "visits": "A B", "readings": "X1 X5 X6", "labels": "K1"} {
		got := slices.Clone(c.Data.Table(table).Columns[0].Text)
		if strings.Join(got, " ") != want {
			t.Errorf("%s are %q, want %s", table, got, want)
		}
	}
}
