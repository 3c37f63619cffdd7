package cohort

import (
	"errors"

	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/codebook/expression"
	"heelcohort/codebook/value"
)

// A Formula is an expression of the plan, compiled for the rows of a table.
type Formula struct {
	*expression.Program
	Table     string
	variables []expression.Variable // by slot
}

// Own lists the variables of the formula's own table that it reads, in order of
// appearance.
func (f *Formula) Own() []string {
	var names []string
	for _, v := range f.variables {
		if v.Table == "" {
			names = append(names, v.Name)
		}
	}
	return names
}

// Expression compiles an expression for the rows of a table. Where want is not
// value.Unknown, the result must be of that kind.
func (m *Model) Expression(table string, e plan.Expression, want value.Kind) (*Formula, error) {
	s := &scope{model: m, table: table, linked: m.Package.Scope(m.Package.Resource(table)).Tables(), slots: map[[2]string]int{}}
	program, err := expression.Compile(e.Value, s)
	if err != nil {
		var fault *expression.Error
		if errors.As(err, &fault) {
			return nil, e.Errorf(fault.Line, fault.Column, fault.Nearest, "%s", fault.Message)
		}
		return nil, e.Errorf(1, 1, "", "%v", err)
	}
	if want != value.Unknown && program.Kind() != want {
		return nil, e.Errorf(1, 1, "", "%q is a %v, expected a %v", e.Value, program.Kind(), want)
	}
	if one, other, group, mixed := m.pooled(table, s.variables); mixed {
		return nil, e.Errorf(1, 1, "", "%q names %s and %s, scores of a different %s, which are never pooled; where each has a threshold of its own, make a variable of each", e.Value, one.Name, other.Name, group)
	}
	return &Formula{program, table, s.variables}, nil
}

// A scope gives the variables that a row of a table sees: its own, those of the
// tables that it links to, and of both those that were derived so far.
type scope struct {
	model     *Model
	table     string
	linked    []string
	variables []expression.Variable
	slots     map[[2]string]int
}

func (s *scope) Resolve(table, name string) (expression.Variable, bool) {
	of := table
	if table == "" || table == s.table {
		table, of = "", s.table
	} else if !s.links(table) {
		return expression.Variable{}, false
	}
	if slot, ok := s.slots[[2]string{table, name}]; ok {
		return s.variables[slot], true
	}
	v, ok := s.model.find(of, name)
	if !ok {
		return expression.Variable{}, false
	}
	made := expression.Variable{Table: table, Name: name, Slot: len(s.variables), Kind: v.Kind, Words: v.Words}
	s.slots[[2]string{table, name}] = made.Slot
	s.variables = append(s.variables, made)
	return made, true
}

// Codes lists the missing codes of a variable of the codebook; those of a
// derived one are open.
func (s *scope) Codes(v expression.Variable) []string {
	table := v.Table
	if table == "" {
		table = s.table
	}
	f := s.model.Package.Resource(table).Schema.Field(v.Name)
	if f == nil {
		return nil
	}
	codes := make([]string, len(f.Codes()))
	for i, m := range f.Codes() {
		codes[i] = m.Value
	}
	return codes
}

// List gives what separates the items of a variable of the codebook, "" where
// it is no list, and its legal items, nil when open.
func (s *scope) List(v expression.Variable) (delimiter string, items []string) {
	table := v.Table
	if table == "" {
		table = s.table
	}
	f := s.model.Package.Resource(table).Schema.Field(v.Name)
	if f == nil {
		return "", nil
	}
	for _, k := range f.Items {
		items = append(items, k.Value)
	}
	return f.Delimiter, items
}

func (s *scope) links(table string) bool {
	for _, t := range s.linked {
		if t == table {
			return true
		}
	}
	return false
}

func (s *scope) Names(table string) []string {
	if table == "" {
		table = s.table
	}
	return s.model.names(table)
}

func (s *scope) Tables() []string { return s.linked }
