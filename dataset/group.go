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

// groupRules counts findings by rule and severity alone, in the order of Group.
func groupRules(findings []Finding) []FindingGroup {
	var rules []FindingGroup
	for _, g := range Group(findings) {
		last := len(rules) - 1
		if last >= 0 && rules[last].Rule == g.Rule && rules[last].Severity == g.Severity && rules[last].Identifies() == g.Identifies() {
			rules[last].Count += g.Count
			continue
		}
		g.Table, g.Variable = "", ""
		rules = append(rules, g)
	}
	return rules
}

// Identifies reports whether the group's findings say that the data name
// people.
func (g FindingGroup) Identifies() bool { return g.First[0].Identifies() }

// Group counts findings by rule, severity, table and variable. The worst come
// first: what names people, then errors, then warnings. Among them the rules
// with more findings come first, and the groups of one rule together: the
// larger first, then by name of table and variable.
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
	type rule struct {
		name     string
		severity Severity
		direct   bool
	}
	of := func(g FindingGroup) rule { return rule{g.Rule, g.Severity, g.Identifies()} }
	totals := make(map[rule]int)
	for _, g := range groups {
		totals[of(g)] += g.Count
	}
	rank := func(g FindingGroup) int {
		if g.Identifies() {
			return -1
		}
		return int(g.Severity)
	}
	slices.SortStableFunc(groups, func(a, b FindingGroup) int {
		return cmp.Or(
			cmp.Compare(rank(a), rank(b)),
			cmp.Compare(totals[of(b)], totals[of(a)]),
			cmp.Compare(a.Rule, b.Rule),
			cmp.Compare(b.Count, a.Count),
			cmp.Compare(a.Table, b.Table),
			cmp.Compare(a.Variable, b.Variable),
		)
	})
	return groups
}
