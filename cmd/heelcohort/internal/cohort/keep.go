package cohort

import (
	"slices"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/dataset"
)

// keep restricts a table to the rows kept, and with it the rows of other tables
// one of whose foreign keys names removed rows alone. A key of a table to
// itself (a sibling, an earlier spell) says that rows are alike and not that
// one is part of the other, and is not followed.
func (c *Cohort) keep(table string, keep []bool, f *flow) error {
	kept := map[string][]bool{table: keep}
	links := c.links()
	for changed := true; changed; {
		changed = false
		for _, l := range links {
			parents, there := kept[l.parent]
			if !there {
				continue
			}
			if kept[l.child] == nil {
				kept[l.child] = slices.Repeat([]bool{true}, len(l.to))
			}
			for i, named := range l.to {
				if len(named) > 0 && kept[l.child][i] && !slices.ContainsFunc(named, func(j int) bool { return parents[j] }) {
					kept[l.child][i] = false
					changed = true
				}
			}
		}
	}
	for _, t := range slices.Clone(c.Data.Tables) {
		rows := kept[t.Name]
		if rows == nil {
			continue
		}
		n, err := t.Keep(rows)
		if err != nil {
			return err
		}
		if t.Name != table {
			f.follow(t.Name, t.Len()-n.Len(), n.Len())
		}
		c.replace(n)
	}
	return nil
}

// A link is one foreign key: the way from a table's rows to those of another.
type link struct {
	child, parent string
	to            [][]int
}

func (c *Cohort) links() []link {
	var links []link
	for _, t := range c.Data.Tables {
		for _, k := range t.Resource.Schema.ForeignKeys {
			if k.Resource != "" {
				links = append(links, link{t.Name, k.Resource, c.Data.Named(t, k)})
			}
		}
	}
	return links
}

// A flow keeps the account of every table's rows.
type flow struct {
	start  map[string]int
	taken  map[string][]result.FlowStep
	tables []string
}

func newFlow(d *dataset.Dataset, participants string) *flow {
	f := &flow{start: map[string]int{}, taken: map[string][]result.FlowStep{}}
	f.tables = append(f.tables, participants)
	for _, t := range d.Tables {
		f.start[t.Name] = t.Len()
		if t.Name != participants {
			f.tables = append(f.tables, t.Name)
		}
	}
	return f
}

func (f *flow) add(table, reason string, removed, missing, left int) {
	f.taken[table] = append(f.taken[table], result.FlowStep{Table: table, Step: reason, Removed: removed, Missing: missing, Left: left})
}

// follow notes rows that went with the rows they link to. Following one after
// another, such removals are one box.
func (f *flow) follow(table string, removed, left int) {
	if removed == 0 {
		return
	}
	steps := f.taken[table]
	if last := len(steps) - 1; last >= 0 && steps[last].Step == linked {
		steps[last].Removed += removed
		steps[last].Left = left
		return
	}
	f.add(table, linked, removed, 0, left)
}

// linked is the box of rows that went with the rows they link to.
const linked = "linked to a removed row"

// steps lists the boxes, the participants' first.
func (f *flow) steps(d *dataset.Dataset) []result.FlowStep {
	var steps []result.FlowStep
	for _, name := range f.tables {
		left := d.Table(name).Len()
		steps = append(steps, result.FlowStep{Table: name, Step: "rows in the data", Left: f.start[name]})
		steps = append(steps, f.taken[name]...)
		steps = append(steps, result.FlowStep{Table: name, Step: "analysed", Left: left})
	}
	return steps
}
