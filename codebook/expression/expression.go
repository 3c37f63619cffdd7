package expression

import (
	"fmt"

	"heelcohort/codebook/value"
)

// A Variable is what a name stands for.
type Variable struct {
	Table string // "" for the row's own table
	Name  string
	Slot  int        // handed to Row.Value
	Kind  value.Kind // type of its values
	Words []string   // the only texts it can hold, in order; nil when open
}

// A Scope tells the compiler which variables exist.
type Scope interface {
	// Resolve finds a variable; table is "" for the row's own table and
	// otherwise the name written before the dot, a table the row links to.
	Resolve(table, name string) (Variable, bool)
	// Names lists the variables of a table, for the nearest word.
	Names(table string) []string
	// Tables lists the tables the row links to.
	Tables() []string
}

// A CodedScope also knows the missing codes of its variables, so that a code
// that a variable cannot have is refused. Codes that the program gives itself
// are not among them. A scope that is none leaves codes open.
type CodedScope interface {
	Scope
	// Codes lists a variable's missing codes; nil when open.
	Codes(v Variable) []string
}

// A Row gives the values of one row.
type Row interface{ Value(slot int) value.Value }

// An Error is a fault at a place of the source. Line and Column count from 1
// within the expression's own text, columns in characters; a fault at the end
// of the text stands one column behind its last character.
type Error struct {
	Line, Column int
	Message      string // what was found and what was expected, lower case
	Nearest      string // the nearest valid word, or ""
}

// Error formats e as line:column: message (did you mean nearest?).
func (e *Error) Error() string {
	s := fmt.Sprintf("%d:%d: %s", e.Line, e.Column, e.Message)
	if e.Nearest != "" {
		s += fmt.Sprintf(" (did you mean %s?)", e.Nearest)
	}
	return s
}

// A Program is a compiled expression. It is safe for concurrent use.
type Program struct {
	source    string
	result    term
	variables []Variable
}

// Compile parses and checks source. Every error is an *Error. A nil scope has
// no variables.
func Compile(source string, scope Scope) (*Program, error) {
	if scope == nil {
		scope = noVariables{}
	}
	c := &compiler{origin: newOrigin(source), scope: scope}
	result, err := c.compile(source)
	if err != nil {
		return nil, err
	}
	return &Program{source: source, result: result, variables: c.variables}, nil
}

// Source is the text that p was compiled from.
func (p *Program) Source() string { return p.source }

// Kind is the type of the result.
func (p *Program) Kind() value.Kind { return p.result.kind }

// Words lists the texts the result can take when they are known: the words of
// a variable in its order, a literal, the labels of a function that classifies,
// and the union over the branches of a ternary or the arguments of coalesce in
// order of appearance. It is nil when the texts are open or the result is no
// text. The caller must not change it.
func (p *Program) Words() []string { return p.result.words }

// Variables lists the variables used, each once, in order of appearance. The
// caller must not change it.
func (p *Program) Variables() []Variable { return p.variables }

// Eval computes the expression on a row.
func (p *Program) Eval(row Row) value.Value { return p.result.eval(row) }

// noVariables is the scope without any.
type noVariables struct{}

func (noVariables) Resolve(string, string) (Variable, bool) { return Variable{}, false }
func (noVariables) Names(string) []string                   { return nil }
func (noVariables) Tables() []string                        { return nil }
