package codebook

import (
	"heelcohort/codebook/expression"
)

// A Scope holds the variables that a row of a table can see: its own, and
// those of the tables to which it is linked. A table is linked if exactly one
// foreign key names it and that key names at most one of its rows, so that
// table.variable has one value.
type Scope struct {
	variables []expression.Variable
	tables    []string
	index     map[[2]string]int
	codes     [][]string // by slot
	fields    []*Field   // by slot
}

var (
	_ expression.CodedScope = (*Scope)(nil)
	_ expression.ListScope  = (*Scope)(nil)
)

// Scope makes the scope of a table's rows.
func (p *Package) Scope(r *Resource) *Scope {
	s := &Scope{index: map[[2]string]int{}}
	s.add("", r)
	count := map[string]int{}
	for _, k := range r.Schema.ForeignKeys {
		count[k.Resource]++
	}
	for _, k := range r.Schema.ForeignKeys {
		other := p.Resource(k.Resource)
		if k.Resource == "" || other == nil || count[k.Resource] != 1 || !other.Schema.namesOneRow(k.ReferenceFields) {
			continue
		}
		s.tables = append(s.tables, other.Name)
		s.add(other.Name, other)
	}
	return s
}

func (s *Scope) add(table string, r *Resource) {
	for _, f := range r.Schema.Fields {
		s.index[[2]string{table, f.Name}] = len(s.variables)
		s.variables = append(s.variables, expression.Variable{
			Table: table, Name: f.Name, Slot: len(s.variables), Kind: f.Kind(), Words: f.Words(),
		})
		codes := make([]string, len(f.Codes()))
		for i, m := range f.Codes() {
			codes[i] = m.Value
		}
		s.codes = append(s.codes, codes)
		s.fields = append(s.fields, f)
	}
}

// Variables lists all variables; a variable's slot is its index. The caller
// must not change them.
func (s *Scope) Variables() []expression.Variable { return s.variables }

// Resolve finds a variable; table is "" for the row's own.
func (s *Scope) Resolve(table, name string) (expression.Variable, bool) {
	i, ok := s.index[[2]string{table, name}]
	if !ok {
		return expression.Variable{}, false
	}
	return s.variables[i], true
}

// Codes lists the missing codes of a variable.
func (s *Scope) Codes(v expression.Variable) []string {
	if i, ok := s.index[[2]string{v.Table, v.Name}]; ok {
		return s.codes[i]
	}
	return nil
}

// List gives what separates the items of a variable, "" where it is no list,
// and its legal items, nil when open.
func (s *Scope) List(v expression.Variable) (delimiter string, items []string) {
	if i, ok := s.index[[2]string{v.Table, v.Name}]; ok {
		return s.fields[i].Delimiter, s.fields[i].itemWords()
	}
	return "", nil
}

// Names lists the variables of a table.
func (s *Scope) Names(table string) []string {
	var names []string
	for _, v := range s.variables {
		if v.Table == table {
			names = append(names, v.Name)
		}
	}
	return names
}

// Tables lists the tables the row is linked to.
func (s *Scope) Tables() []string { return s.tables }
