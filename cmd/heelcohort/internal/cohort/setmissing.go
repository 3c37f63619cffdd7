package cohort

import (
	"slices"

	"heelcohort/codebook"
	"heelcohort/dataset"
)

// setMissing takes what error findings concern out of the data: cells of a
// violated rule are set missing, rows with a faulty key set aside. Cells that
// could not be read are missing already.
func (c *Cohort) setMissing(findings []dataset.Finding, f *flow) error {
	faults := map[string]*faulty{}
	for _, t := range slices.Clone(c.Data.Tables) {
		n, rows := withoutFaults(t, findings)
		faults[t.Name] = rows
		c.replace(n)
	}
	for _, t := range slices.Clone(c.Data.Tables) {
		rows := faults[t.Name]
		keep, lost := make([]bool, t.Len()), make([]bool, t.Len())
		removed := 0
		for i := range keep {
			keep[i] = !rows.aside[i] && !rows.copies[i]
			lost[i] = rows.aside[i] && !rows.copies[i]
			if !keep[i] {
				removed++
			}
		}
		if removed == 0 {
			continue
		}
		// Only the rows themselves: rows that link to them lead nowhere now.
		n, err := t.Keep(keep)
		if err != nil {
			return err
		}
		if c.aside[t.Name], err = t.Keep(lost); err != nil {
			return err
		}
		c.replace(n)
		f.add(t.Name, "set aside: faulty key", removed, 0, n.Len())
	}
	return nil
}

// faulty tells the rows of a table whose key is faulty, and those that only
// repeat an earlier row.
type faulty struct{ aside, copies []bool }

// withoutFaults is a table whose cells that violate a rule are invalid, and the
// rows to set aside. A row's key is faulty where a finding says so, where a
// part of it could not be used, and where two rows share what only one may
// have: which of them is right nobody knows, so both are set aside. Only of
// rows that are the same in every cell the first stays.
func withoutFaults(t *dataset.Table, findings []dataset.Finding) (*dataset.Table, *faulty) {
	index := map[int]int{}
	for i, row := range t.Rows {
		index[row] = i
	}
	n := *t
	n.Columns = slices.Clone(t.Columns)
	rows := &faulty{make([]bool, t.Len()), make([]bool, t.Len())}
	own := map[string]bool{}
	for _, finding := range findings {
		i, there := index[finding.Where.Row]
		if finding.Table != t.Name || finding.Severity != dataset.Error || !there {
			continue
		}
		if finding.Fields == nil {
			switch finding.Rule {
			case dataset.RulePrimaryKey, dataset.RuleUnique, dataset.RuleForeignKey:
				rows.aside[i] = true
			}
			continue
		}
		for _, name := range finding.Fields {
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
			// Which of several rows is wrong nobody knows.
			for _, row := range finding.Others {
				if j, there := index[row]; there {
					n.Columns[at].State[j] = dataset.Invalid
				}
			}
		}
	}
	unique, linking := keys(&t.Resource.Schema)
	for _, key := range unique {
		rows.share(t, key)
	}
	// A key of the table itself or a link that cannot be read leads astray: the
	// row would be a child without episodes, or an episode without its child.
	for _, key := range append(linking, t.Resource.Schema.PrimaryKey) {
		for _, name := range key {
			column := n.Column(name)
			if column == nil {
				continue
			}
			for i, state := range column.State {
				rows.aside[i] = rows.aside[i] || state == dataset.Invalid
			}
		}
	}
	return &n, rows
}

// keys lists the keys that no two rows may share, and those that link.
func keys(s *codebook.Schema) (unique, linking [][]string) {
	if len(s.PrimaryKey) > 0 {
		unique = append(unique, s.PrimaryKey)
	}
	for _, f := range s.Fields {
		if f.Constraints.Unique {
			unique = append(unique, []string{f.Name})
		}
	}
	unique = append(unique, s.UniqueKeys...)
	for _, k := range s.ForeignKeys {
		linking = append(linking, k.Fields)
	}
	return unique, linking
}

// share looks for rows that share a key: copies of the first of them, or, where
// one differs, all faulty.
func (f *faulty) share(t *dataset.Table, key []string) {
	rows := map[string][]int{}
	var order []string
	for i := range t.Len() {
		text, ok := t.Key(key, i)
		if !ok {
			continue
		}
		if rows[text] == nil {
			order = append(order, text)
		}
		rows[text] = append(rows[text], i)
	}
	for _, text := range order {
		first, others := rows[text][0], rows[text][1:]
		differ := slices.ContainsFunc(others, func(i int) bool { return !sameRow(t, first, i) })
		f.aside[first] = f.aside[first] || differ
		for _, i := range others {
			f.aside[i] = f.aside[i] || differ
			f.copies[i] = f.copies[i] || !differ
		}
	}
}

// sameRow reports whether two rows are the same in every cell.
func sameRow(t *dataset.Table, i, j int) bool {
	for _, column := range t.Columns {
		if column.Value(i) != column.Value(j) || column.State[i] != column.State[j] {
			return false
		}
	}
	return true
}
