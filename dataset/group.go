package dataset

import (
	"cmp"
	"slices"
)

// firstOrigins is how many places a FindingGroup lists.
const firstOrigins = 5

// A FindingGroup is the findings of one rule, table and variable taken
// together.
type FindingGroup struct {
	Rule     string
	Severity Severity
	Table    string
	Variable string
	Count    int
	First    []Origin // the first five places, in the order given
	Example  Finding  // the first finding of the group
}

// Group counts findings by rule, severity, table and variable. The worst come
// first: errors before warnings, then the larger count, then by name of rule,
// table and variable.
func Group(findings []Finding) []FindingGroup {
	type key struct {
		rule, table, variable string
		severity              Severity
	}
	at := make(map[key]int)
	var groups []FindingGroup
	for _, f := range findings {
		k := key{f.Rule, f.Table, f.Variable, f.Severity}
		i, ok := at[k]
		if !ok {
			i = len(groups)
			at[k] = i
			groups = append(groups, FindingGroup{
				Rule: f.Rule, Severity: f.Severity, Table: f.Table, Variable: f.Variable, Example: f,
			})
		}
		g := &groups[i]
		g.Count++
		if len(g.First) < firstOrigins {
			g.First = append(g.First, f.Where)
		}
	}
	slices.SortStableFunc(groups, func(a, b FindingGroup) int {
		return cmp.Or(
			cmp.Compare(a.Severity, b.Severity),
			cmp.Compare(b.Count, a.Count),
			cmp.Compare(a.Rule, b.Rule),
			cmp.Compare(a.Table, b.Table),
			cmp.Compare(a.Variable, b.Variable),
		)
	})
	return groups
}
