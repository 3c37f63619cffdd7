package dataset

import (
	"heelcohort/codebook"
	"heelcohort/codebook/expression"
)

// A rowScope holds the variables that a row of a table can see: its own, and
// those of the tables that it names by foreign keys.
type rowScope struct{ variables []expression.Variable }

func newScope(p *codebook.Package, r *codebook.Resource) *rowScope {
	s := &rowScope{}
	s.add("", r)
	seen := map[string]bool{r.Name: true}
	for _, k := range r.Schema.ForeignKeys {
		if k.Resource == "" || seen[k.Resource] {
			continue
		}
		seen[k.Resource] = true
		if other := p.Resource(k.Resource); other != nil {
			s.add(other.Name, other)
		}
	}
	return s
}

func (s *rowScope) add(table string, r *codebook.Resource) {
	for _, f := range r.Schema.Fields {
		s.variables = append(s.variables, expression.Variable{
			Table: table, Name: f.Name, Slot: len(s.variables), Kind: f.Kind(), Words: f.Words(),
		})
	}
}

// Variables lists all variables; a variable's slot is its index.
func (s *rowScope) Variables() []expression.Variable { return s.variables }

// Resolve implements expression.Scope.
func (s *rowScope) Resolve(table, name string) (expression.Variable, bool) {
	for _, v := range s.variables {
		if v.Table == table && v.Name == name {
			return v, true
		}
	}
	return expression.Variable{}, false
}

// Names implements expression.Scope.
func (s *rowScope) Names(table string) []string {
	var names []string
	for _, v := range s.variables {
		if v.Table == table {
			names = append(names, v.Name)
		}
	}
	return names
}

// Tables implements expression.Scope.
func (s *rowScope) Tables() []string {
	var tables []string
	for _, v := range s.variables {
		if v.Table != "" && (len(tables) == 0 || tables[len(tables)-1] != v.Table) {
			tables = append(tables, v.Table)
		}
	}
	return tables
}
