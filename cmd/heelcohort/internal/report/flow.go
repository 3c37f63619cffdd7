package report

import (
	"heelcohort/cmd/heelcohort/internal/result"
)

// A flowTable is the way of one table's rows through the plan's population.
type flowTable struct {
	Table string
	Steps []flowStep
}

// A flowStep is one box: what was left, and what was removed before it.
type flowStep struct {
	Name                         string // of the box
	Step, Removed, Missing, Left string
	Takes                        bool // a condition was asked before the box
}

// flowTables groups the steps by table, in their order. Where nothing was
// computed the rows left at the end are called left, not analysed.
func flowTables(res *result.Results) []flowTable {
	var tables []flowTable
	for _, step := range res.Flow {
		n := len(tables)
		if n == 0 || tables[n-1].Table != step.Table {
			tables = append(tables, flowTable{Table: step.Table})
			n++
		}
		t := &tables[n-1]
		nothing := step.Removed == 0 && step.Missing == 0
		if last := len(t.Steps) - 1; last > 0 && step.Step == "analysed" && nothing {
			t.Steps[last].Name = step.Step // the same box under its last name
			continue
		}
		shown := flowStep{
			Name:    step.Step,
			Step:    step.Step,
			Removed: count(float64(step.Removed)),
			Missing: count(float64(step.Missing)),
			Left:    count(float64(step.Left)),
		}
		if len(t.Steps) > 0 && (!nothing || step.Step != "analysed") {
			shown.Name, shown.Takes = "left", true
		}
		t.Steps = append(t.Steps, shown)
	}
	for i := range tables {
		if last := &tables[i].Steps[len(tables[i].Steps)-1]; !res.Computed && last.Name == "analysed" {
			last.Name = "left"
		}
	}
	return tables
}

// flowSheet is the flow as a table, for the workbook.
func flowSheet(steps []result.FlowStep) Sheet {
	s := newSheet("participant-flow", "Participant flow")
	s.Columns = []Column{
		{Label: "Table", Text: true},
		{Label: "Step", Text: true},
		{Label: "Removed"},
		{Label: "Removed, could not be decided"},
		{Label: "Left"},
	}
	for _, step := range steps {
		s.add(words(step.Table), words(step.Step), whole(step.Removed), whole(step.Missing), whole(step.Left))
	}
	return s.done()
}
