package cohort

import (
	"slices"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/codebook"
	"heelcohort/dataset"
)

// keep restricts a table to the rows kept, and with it the rows of other tables
// that link to a removed row.
func (c *Cohort) keep(table string, keep []bool, f *flow) error {
	kept := map[string][]bool{table: keep}
	links, err := c.links()
	if err != nil {
		return err
	}
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
			for i, parent := range l.to {
				if parent >= 0 && !parents[parent] && kept[l.child][i] {
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
			f.follow(t.Name, t.Len()-n.Len())
		}
		c.replace(n)
	}
	return nil
}

// A link is the way from a table's rows to those of another.
type link struct {
	child, parent string
	to            []int
}

func (c *Cohort) links() ([]link, error) {
	var links []link
	for _, t := range c.Data.Tables {
		for _, parent := range c.Model.Package.Scope(t.Resource).Tables() {
			to, err := c.Data.Parents(t, parent)
			if err != nil {
				return nil, err
			}
			links = append(links, link{t.Name, parent, to})
		}
	}
	return links, nil
}

// setMissing takes what error findings concern out of the data: cells of a
// violated rule are set missing, rows with a faulty key set aside. Cells that
// could not be read are missing already.
func (c *Cohort) setMissing(findings []dataset.Finding, f *flow) error {
	aside := map[string][]bool{}
	for _, t := range slices.Clone(c.Data.Tables) {
		index := map[int]int{}
		for i, row := range t.Rows {
			index[row] = i
		}
		n := *t
		n.Columns = slices.Clone(t.Columns)
		own := map[string]bool{}
		for _, finding := range findings {
			i, there := index[finding.Where.Row]
			if finding.Table != t.Name || finding.Severity != dataset.Error || !there {
				continue
			}
			switch finding.Rule {
			case dataset.RulePrimaryKey, dataset.RuleUnique, dataset.RuleForeignKey:
				if aside[t.Name] == nil {
					aside[t.Name] = make([]bool, t.Len())
				}
				aside[t.Name][i] = true
				continue
			}
			for _, name := range ruleFields(t.Resource, finding.Rule) {
				at := slices.IndexFunc(n.Columns, func(k *dataset.Column) bool { return k.Name == name })
				if at < 0 {
					continue
				}
				if !own[name] {
					column := *n.Columns[at]
					column.State = slices.Clone(column.State)
					n.Columns[at], own[name] = &column, true
				}
				n.Columns[at].State[i] = dataset.Invalid
			}
		}
		c.replace(&n)
	}
	for _, t := range slices.Clone(c.Data.Tables) {
		rows := aside[t.Name]
		if rows == nil {
			continue
		}
		removed := 0
		keep := make([]bool, len(rows))
		for i, out := range rows {
			keep[i] = !out
			if out {
				removed++
			}
		}
		// Only the rows themselves: rows that link to them lead nowhere now.
		n, err := t.Keep(keep)
		if err != nil {
			return err
		}
		c.replace(n)
		f.add(t.Name, "set aside: faulty key", removed, 0, n.Len())
	}
	return nil
}

// ruleFields lists the variables of a table's own rule.
func ruleFields(r *codebook.Resource, rule string) []string {
	for _, k := range r.Schema.Rules {
		if k.Name == rule {
			return k.Fields
		}
	}
	return nil
}

// A flow keeps the account of every table's rows.
type flow struct {
	first  string
	start  map[string]int
	taken  map[string][]result.FlowStep
	lost   map[string]int
	tables []string
}

func newFlow(d *dataset.Dataset, participants string) *flow {
	f := &flow{first: participants, start: map[string]int{}, taken: map[string][]result.FlowStep{}, lost: map[string]int{}}
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

func (f *flow) follow(table string, removed int) { f.lost[table] += removed }

// steps lists the boxes, the participants' first.
func (f *flow) steps(d *dataset.Dataset) []result.FlowStep {
	var steps []result.FlowStep
	for _, name := range f.tables {
		left := d.Table(name).Len()
		steps = append(steps, result.FlowStep{Table: name, Step: "rows in the data", Left: f.start[name]})
		steps = append(steps, f.taken[name]...)
		if f.lost[name] > 0 {
			steps = append(steps, result.FlowStep{Table: name, Step: "linked to a removed row", Removed: f.lost[name], Left: left})
		}
		steps = append(steps, result.FlowStep{Table: name, Step: "analysed", Left: left})
	}
	return steps
}
