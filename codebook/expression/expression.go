// Package expression compiles and evaluates the row expressions of a codebook
// and a plan, such as "age_enrolled >= 6 and sex == 'female'".
package expression

import (
	"errors"

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

// A Row gives the values of one row.
type Row interface{ Value(slot int) value.Value }

// An Error is a fault at a place of the source. Line and Column count from 1
// within the expression's own text.
type Error struct {
	Line, Column int
	Message      string
	Nearest      string
}

func (e *Error) Error() string { return e.Message }

// A Program is a compiled expression.
type Program struct{ source string }

// Compile parses and checks source. Every error is an *Error.
func Compile(source string, scope Scope) (*Program, error) { return nil, errors.New("not written") }

// Kind is the type of the result.
func (p *Program) Kind() value.Kind { return value.Unknown }

// Words lists the texts the result can take, in their order, when they are
// known; nil otherwise.
func (p *Program) Words() []string { return nil }

// Variables lists the variables used, each once, in order of appearance.
func (p *Program) Variables() []Variable { return nil }

// Eval computes the expression on a row.
func (p *Program) Eval(row Row) value.Value { return value.Value{} }

// A Function is one function that expressions may call.
type Function struct {
	Name      string
	Signature string // "difference(a, b)"
	Doc       string
}

// Functions lists them by name.
func Functions() []Function { return nil }
