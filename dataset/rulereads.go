package dataset

import (
	"heelcohort/codebook"
	"heelcohort/codebook/document"
	"heelcohort/codebook/expression"
)

// ruleReads lists the variables that a rule of a table looks at, each with its
// table; ok is false where that cannot be told.
func ruleReads(d *Dataset, t *Table, r codebook.Rule) (reads []expression.Variable, ok bool) {
	add := func(table string, names ...string) {
		for _, name := range names {
			reads = append(reads, expression.Variable{Table: table, Name: name})
		}
	}
	placed := func(table string, variables ...expression.Variable) {
		for _, v := range variables {
			if v.Table == "" {
				v.Table = table
			}
			reads = append(reads, v)
		}
	}
	compiled := func(table *codebook.Resource, sources ...document.String) bool {
		for _, s := range sources {
			if s.Value == "" {
				continue
			}
			program, err := expression.Compile(s.Value, d.Package.Scope(table))
			if err != nil {
				return false
			}
			placed(table.Name, program.Variables()...)
		}
		return true
	}
	if ok = compiled(t.Resource, r.Where); !ok {
		return nil, false
	}
	add(t.Name, r.Fields...)
	switch r.Kind {
	case codebook.KindCheck:
		ok = compiled(t.Resource, r.Check)
	case codebook.KindUnique:
		add(t.Name, r.Unique...)
	case codebook.KindNoOverlap:
		add(t.Name, append([]string{r.NoOverlap.From, r.NoOverlap.To}, r.NoOverlap.Within...)...)
	case codebook.KindOrder:
		placed(t.Name, r.Order.Of...)
	case codebook.KindWithin:
		placed(t.Name, r.Within.Days...)
		for _, l := range []*codebook.Limit{r.Within.From, r.Within.To} {
			if l != nil && l.Variable != nil {
				placed(t.Name, *l.Variable)
			}
		}
	case codebook.KindTotal:
		add(t.Name, append([]string{r.Total.Of}, r.Total.Parts...)...)
		if r.Total.Table != "" {
			other := d.Package.Resource(r.Total.Table)
			ok = other != nil && compiled(other, r.Total.What, r.Total.When)
		}
	case codebook.KindGroup:
		add(t.Name, r.By...)
		program, err := expression.CompileGroup(r.Check.Value, d.Package.Scope(t.Resource), r.By)
		if ok = err == nil; ok {
			placed(t.Name, program.Variables()...)
		}
	default:
		ok = false
	}
	return reads, ok
}
