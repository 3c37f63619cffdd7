package dataset

import (
	"fmt"
	"slices"

	"heelcohort/codebook"
	"heelcohort/codebook/expression"
	"heelcohort/codebook/identifier"
)

// mask takes the texts of cells out of a finding about a column that is held
// identifying, and out of one whose cell looks so by itself.
func (s *screening) mask(f Finding) Finding {
	if f.Rule == RuleUnknownColumn && identifier.Shows(f.Found) {
		f.Found, f.Nearest = identifier.Mask(f.Found), ""
		f.Message = "a column that is not in the codebook, whose title may name a person, was not read"
		return f
	}
	t := s.d.Table(f.Table)
	if t == nil || !s.hides(t, f) && !identifier.Shows(f.Found) {
		return f
	}
	own := slices.IndexFunc(t.Resource.Schema.Rules, func(r codebook.Rule) bool { return r.Name == f.Rule })
	f.Found = identifier.Mask(f.Found)
	if own >= 0 {
		f.Found = "values that are not shown"
		f.Message = t.Resource.Schema.Rules[own].Message
		if f.Message == "" { // the kind's own sentence names values
			f.Expected = "what the rule says"
			f.Message = "the rule is broken by values that are not shown"
		}
		return f
	}
	if f.Rule == RulePrimaryKey || f.Rule == RuleUnique || f.Rule == RuleForeignKey {
		f.Nearest = "" // the key of another row
	}
	subject := f.Variable
	if subject == "" {
		subject = "the row"
	}
	f.Message = fmt.Sprintf("%s: found %s, expected %s", subject, f.Found, f.Expected)
	if f.Found == "" {
		f.Message = fmt.Sprintf("%s: expected %s", subject, f.Expected)
	}
	return f
}

// hides reports whether a finding shows cells of a column whose cells are not
// shown: its own, those of the keys that it is about, those that a rule of the
// codebook looks at.
func (s *screening) hides(t *Table, f Finding) bool {
	masked := func(names []string) bool {
		return slices.ContainsFunc(names, func(name string) bool { return s.masked[[2]string{t.Name, name}] })
	}
	schema := &t.Resource.Schema
	switch f.Rule {
	case RulePrimaryKey, RuleUnique, RuleForeignKey:
		keys := [][]string{schema.PrimaryKey, {f.Variable}}
		keys = append(keys, schema.UniqueKeys...)
		for _, k := range schema.ForeignKeys {
			keys = append(keys, k.Fields)
		}
		return slices.ContainsFunc(keys, masked)
	}
	for _, r := range schema.Rules {
		if r.Name == f.Rule {
			return s.readsMasked(t, r)
		}
	}
	return f.Variable != "" && masked([]string{f.Variable})
}

// readsMasked reports whether a rule looks at a column whose cells are not
// shown, of the table or of one that it is linked to.
func (s *screening) readsMasked(t *Table, r codebook.Rule) bool {
	reads, ok := ruleReads(s.d, t, r)
	return !ok || slices.ContainsFunc(reads, func(v expression.Variable) bool { return s.masked[[2]string{v.Table, v.Name}] })
}
