package dataset

import (
	"cmp"
	"slices"
)

// firstFindings is how many findings a FindingGroup lists.
const firstFindings = 5

// A FindingGroup is the findings of one rule, table and variable taken
// together.
type FindingGroup struct {
	Rule     string
	Severity Severity
	Table    string
	Variable string
	Count    int
	First    []Finding // the first five, in the order given
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
				Rule: f.Rule, Severity: f.Severity, Table: f.Table, Variable: f.Variable,
			})
		}
		g := &groups[i]
		g.Count++
		if len(g.First) < firstFindings {
			g.First = append(g.First, f)
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
