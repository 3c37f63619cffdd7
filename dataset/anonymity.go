package dataset

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"heelcohort/codebook"
	"heelcohort/codebook/expression"
	"heelcohort/codebook/value"
)

// smallCells warns of people who share their quasi-identifiers with too few
// others: the variables with that role of the table, and of the tables that
// its rows are linked to. Where rows are linked, it is the different rows they
// lead to that are counted, so that many episodes of one child are one child.
// A missing value is a value of its own, by its code.
func smallCells(d *Dataset, t *Table) ([]Finding, error) {
	least := codebook.DefaultAnonymity
	if a := t.Resource.Anonymity; a != nil {
		least = a.AtLeast
	}
	variables, names, linked := quasiIdentifiers(d, t)
	own := slices.ContainsFunc(variables, func(v expression.Variable) bool { return v.Table == "" })
	if least <= 1 || !own || t.Len() == 0 {
		return nil, nil
	}
	reader, err := d.Reader(t, variables)
	if err != nil {
		return nil, err
	}
	var parents []int
	if linked != "" {
		if parents, err = d.Parents(t, linked); err != nil {
			return nil, err
		}
	}
	people := make(map[string]map[int]bool)
	keys := make([]string, t.Len())
	for i := range keys {
		row := reader.At(i)
		var b strings.Builder
		for _, v := range variables {
			text := quasiText(d, t, v, row.Value(v.Slot))
			b.WriteString(strconv.Itoa(len(text)) + ":" + text)
		}
		keys[i] = b.String()
		who := i
		if parents != nil && parents[i] >= 0 {
			who = -1 - parents[i]
		}
		if people[keys[i]] == nil {
			people[keys[i]] = make(map[int]bool)
		}
		people[keys[i]][who] = true
	}
	rows, first, smallest := 0, -1, 0
	for i, key := range keys {
		n := len(people[key])
		if n >= least {
			continue
		}
		rows++
		if first < 0 {
			first = i
		}
		if smallest == 0 || n < smallest {
			smallest = n
		}
	}
	if rows == 0 {
		return nil, nil
	}
	return []Finding{{
		Rule: RuleAnonymity, Severity: Warning, Table: t.Name, Where: t.Origin(first, nil),
		Expected: fmt.Sprintf("at least %d people who share %s", least, strings.Join(names, ", ")),
		Message: fmt.Sprintf("%d of %d rows share %s with too few others: fewer than %d people in a group, in the smallest %d",
			rows, t.Len(), strings.Join(names, ", "), least, smallest),
	}}, nil
}

// quasiIdentifiers lists the variables of that role that a row sees, their
// names for people, and the table that rows are linked to where it has some.
func quasiIdentifiers(d *Dataset, t *Table) (variables []expression.Variable, names []string, linked string) {
	for _, v := range d.Package.Scope(t.Resource).Variables() {
		r := t.Resource
		if v.Table != "" {
			r = d.Package.Resource(v.Table)
		}
		if r == nil || r.Schema.Field(v.Name) == nil || r.Schema.Field(v.Name).Role != codebook.RoleQuasi {
			continue
		}
		name := v.Name
		if v.Table != "" {
			name = v.Table + "." + name
			if linked == "" {
				linked = v.Table
			}
		}
		v.Slot = len(variables)
		variables, names = append(variables, v), append(names, name)
	}
	return variables, names, linked
}

// quasiText is a value as it counts: a number within its band where the
// codebook has bands for it.
func quasiText(d *Dataset, t *Table, v expression.Variable, x value.Value) string {
	if x.Missing {
		return "missing " + x.Code
	}
	r := t.Resource
	if v.Table != "" {
		r = d.Package.Resource(v.Table)
	}
	if r.Anonymity != nil && x.Kind == value.Number {
		for _, b := range r.Anonymity.Bands {
			if b.Variable == v.Name {
				at, exact := slices.BinarySearch(b.Cuts, x.Number)
				if exact {
					at++
				}
				return "band " + strconv.Itoa(at)
			}
		}
	}
	return "value " + x.String()
}
