package cohort

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/codebook"
	"heelcohort/codebook/document"
	"heelcohort/dataset"
)

const bookText = `
name: saltmarsh
resources:
  - name: participants
    path: participants.csv
    schema:
      primaryKey: id
      missingValues: [{value: "", label: empty}, {value: NM, label: not measured}]
      fields:
        - {name: id, type: string, constraints: {pattern: "P[0-9]"}}
        - {name: consent, type: boolean, trueValues: ["yes"], falseValues: ["no"]}
        - name: sex
          type: string
          title: Sex
          categories: [{value: female, label: Girls}, {value: male, label: Boys}]
        - {name: age, type: number, constraints: {minimum: 6, maximum: 17}}
        - {name: height, type: number}
        - {name: sitting, type: number}
    heelcohort:
      rules:
        - {name: sitting height, check: "sitting < height", message: "Sitting height is not below the height."}
  - name: episodes
    path: episodes.csv
    schema:
      primaryKey: episode
      foreignKeys: [{fields: child, reference: {resource: participants, fields: id}}]
      missingValues: ["", DK]
      fields:
        - {name: episode, type: string}
        - {name: child, type: string, constraints: {pattern: "P[0-9]"}}
        - {name: onset, type: integer}
        - {name: lost, type: number}
  - name: visits
    path: visits.csv
    schema:
      foreignKeys: [{fields: episode, reference: {resource: episodes, fields: episode}}]
      fields:
        - {name: episode, type: string}
        - {name: day, type: integer}
`

const (
	participants = `id,consent,sex,age,height,sitting
P1,yes,female,10,140,70
P2,yes,male,11,150,75
P3,no,male,12,150,75
P4,,female,9,130,65
P5,yes,NM,NM,130,NM
`
	episodes = `episode,child,onset,lost
E1,P1,-5,3
E2,P1,DK,4
E3,P2,7,DK
E4,P2,20,5
E5,P3,30,6
E6,P4,40,7
E7,P5,-1,2
`
	visits = `episode,day
E3,8
E5,31
E5,40
E6,41
,50
`
)

// A study is plan lines between the head and the analysis, with the tables.
type study struct{ plan, participants, episodes, visits string }

func plain(lines string) study { return study{lines, participants, episodes, visits} }

func (s study) text() string {
	return "title: T\ncodebook: codebook.yaml\n" + strings.Trim(s.plan, "\n") + "\nanalyses: [{id: one, kind: describe, variables: [age]}]\n"
}

func (s study) compile(t testing.TB) (*Model, error) {
	t.Helper()
	p, err := plan.Decode("study.yaml", []byte(s.text()))
	if err != nil {
		t.Fatal(err)
	}
	pkg, err := codebook.Decode("codebook.yaml", []byte(bookText))
	if err != nil {
		t.Fatal(err)
	}
	return Compile(p, pkg)
}

func (s study) build(t testing.TB) *Cohort {
	t.Helper()
	m, err := s.compile(t)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	for name, text := range map[string]string{"participants.csv": s.participants, "episodes.csv": s.episodes, "visits.csv": s.visits} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	ctx := context.Background()
	d, findings, err := dataset.Open(ctx, dir, m.Package, dataset.Options{})
	if err != nil {
		t.Fatal(err)
	}
	more, err := dataset.Validate(ctx, d)
	if err != nil {
		t.Fatal(err)
	}
	c, err := m.Build(ctx, d, append(findings, more...))
	if err != nil {
		t.Fatal(err)
	}
	checkFlow(t, c)
	return c
}

// checkFlow wants each box to be the one before it less what was removed, and
// the last to be the rows there are.
func checkFlow(t testing.TB, c *Cohort) {
	t.Helper()
	var last result.FlowStep
	for i, step := range c.Flow {
		if step.Table != last.Table {
			if i > 0 && (last.Step != "analysed" || last.Left != c.Data.Table(last.Table).Len()) {
				t.Errorf("the flow of %s ends with %+v", last.Table, last)
			}
			if step.Step != "rows in the data" || step.Removed+step.Missing != 0 {
				t.Errorf("the flow of %s begins with %+v", step.Table, step)
			}
		} else if step.Left != last.Left-step.Removed-step.Missing {
			t.Errorf("%+v does not follow from %+v", step, last)
		}
		last = step
	}
	if c.Flow[0].Table != c.Model.Participants {
		t.Errorf("the flow begins with %s", c.Flow[0].Table)
	}
}

// shown lists a column's values, missing ones in parentheses.
func shown(c *Cohort, table, name string) string {
	column := c.Data.Table(table).Column(name)
	texts := make([]string, column.Len())
	for i := range texts {
		v := column.Value(i)
		texts[i] = v.String()
		if v.Missing {
			texts[i] = "(" + v.Code + ")"
		}
	}
	return strings.Join(texts, " ")
}

// boxes lists the flow of a table: step removed/missing left.
func boxes(c *Cohort, table string) []string {
	var list []string
	for _, s := range c.Flow {
		if s.Table == table {
			list = append(list, strings.Join([]string{s.Step, count(s.Removed), count(s.Missing), count(s.Left)}, " "))
		}
	}
	return list
}

func count(n int) string { return string(rune('0' + n)) }

// faults are the faults of an error as line:column: message (nearest).
func faults(err error) []string {
	var list []string
	for _, f := range document.Faults(err) {
		list = append(list, f.Error())
	}
	return list
}
