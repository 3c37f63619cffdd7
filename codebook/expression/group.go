package expression

import (
	"slices"
	"strings"

	"github.com/expr-lang/expr/ast"

	"heelcohort/codebook/document"
	"heelcohort/codebook/value"
)

// A GroupProgram is a compiled expression on the rows of a group, such as
// sum(hours) <= 25. It is safe for concurrent use.
type GroupProgram struct {
	result     term
	variables  []Variable
	aggregates []aggregation
}

// An aggregation is one call of an aggregate: its text and how it is computed
// over the n rows of a group.
type aggregation struct {
	text string
	fold foldFunc
}

// A foldFunc computes an aggregate over the n rows of a group.
type foldFunc func(n int, at func(k int) Row) value.Value

// CompileGroup parses and checks an expression on the rows of a group. What
// differs from row to row stands inside an aggregate (see [Aggregates]); the
// variables named by are the same in all rows of a group and may stand outside.
// Every error is an *Error.
func CompileGroup(source string, scope Scope, by []string) (*GroupProgram, error) {
	if scope == nil {
		scope = noVariables{}
	}
	g := &grouping{by: by}
	c := &compiler{origin: newOrigin(source), scope: scope, group: g}
	result, err := c.compile(source)
	if err != nil {
		return nil, err
	}
	return &GroupProgram{result: result, variables: c.variables, aggregates: g.calls}, nil
}

// Kind is the type of the result.
func (p *GroupProgram) Kind() value.Kind { return p.result.kind }

// Variables lists the variables used, each once, in order of appearance. The
// caller must not change it.
func (p *GroupProgram) Variables() []Variable { return p.variables }

// Aggregates lists the aggregates used as they are written, in order.
func (p *GroupProgram) Aggregates() []string {
	texts := make([]string, len(p.aggregates))
	for i, a := range p.aggregates {
		texts[i] = a.text
	}
	return texts
}

// Eval computes the expression over the n rows of a group, at least one, and
// gives with it the value of each aggregate. A row that at gives is used only
// until its next call.
func (p *GroupProgram) Eval(n int, at func(k int) Row) (result value.Value, aggregates []value.Value) {
	aggregates = make([]value.Value, len(p.aggregates))
	for i, a := range p.aggregates {
		aggregates[i] = a.fold(n, at)
	}
	return p.result.eval(groupRow{aggregates, at(0)}), aggregates
}

// A groupRow gives the aggregates, at slots below 0, and the variables that are
// the same in all rows.
type groupRow struct {
	aggregates []value.Value
	first      Row
}

func (r groupRow) Value(slot int) value.Value {
	if slot < 0 {
		return r.aggregates[-1-slot]
	}
	return r.first.Value(slot)
}

// A grouping is what a compiler knows of a group.
type grouping struct {
	by     []string
	inside bool // of an aggregate
	calls  []aggregation
}

// outside refuses a variable that differs between the rows of the group and
// stands outside of the aggregates.
func (c *compiler) outside(v Variable, written string, at int) error {
	if c.group == nil || c.group.inside || v.Table == "" && slices.Contains(c.group.by, v.Name) {
		return nil
	}
	example := "max"
	switch v.Kind {
	case value.Number:
		example = "sum"
	case value.Text:
		example = "distinct"
	case value.Bool:
		example = "any"
	}
	return c.fault(at, "found %s, which differs between the rows of a group, expected an aggregate such as %s(%s)", written, example, written)
}

// aggregate compiles the call of an aggregate; ok is false where the name is
// that of an ordinary function. sum, mean, min and max of two or more values
// are the functions, of one value the aggregates.
func (c *compiler) aggregate(n *ast.CallNode, name string, depth int) (t term, ok bool, err error) {
	i := slices.IndexFunc(aggregates, func(a aggregate) bool { return a.Name == name })
	if i < 0 || len(n.Arguments) > aggregates[i].most && isFunction(name) {
		return term{}, false, nil
	}
	a, at := aggregates[i], start(n)
	if c.group == nil {
		if isFunction(name) {
			return term{}, false, nil
		}
		return term{}, true, c.fault(at, "found %s, which is taken over the rows of a group, expected a function of one row", name).near(nearestFunction(name))
	}
	if c.group.inside {
		return term{}, true, c.fault(at, "found %s inside of another aggregate, expected an expression on one row", name)
	}
	if k := len(n.Arguments); k < a.least || k > a.most {
		return term{}, true, c.fault(at, "found %s with %s, expected %s", name, counted(k, "argument"), a.Signature)
	}
	var arg term
	if len(n.Arguments) == 1 {
		c.group.inside = true
		arg, err = c.term(n.Arguments[0], depth+1)
		c.group.inside = false
		if err != nil {
			return term{}, true, err
		}
		if len(a.kinds) > 0 && !slices.Contains(a.kinds, arg.kind) {
			words := make([]string, len(a.kinds))
			for i, k := range a.kinds {
				words[i] = "a " + k.String()
			}
			return term{}, true, c.fault(arg.at, "found %v in %s, expected %s", arg, a.Signature, strings.Join(words, " or "))
		}
	}
	kind, fold := a.build(arg)
	c.group.calls = append(c.group.calls, aggregation{n.String(), fold})
	return read(Variable{Slot: -len(c.group.calls), Kind: kind}, n.String(), at), true, nil
}

// isFunction reports whether a name is that of a function of one row.
func isFunction(name string) bool {
	_, ok := lookup(name)
	return ok
}

// nearestFunction is the function of one row whose name is nearest.
func nearestFunction(name string) string {
	names := make([]string, len(registry))
	for i, f := range registry {
		names[i] = f.Name
	}
	return document.Nearest(name, names)
}
