package expression

import (
	"slices"
	"strings"

	"github.com/expr-lang/expr/ast"

	"heelcohort/codebook/value"
)

// A Function is one function that expressions may call.
type Function struct {
	Name      string
	Signature string // "difference(a, b)"
	Doc       string // what it gives, and when it is missing
}

// A function is one entry of the registry. Its build checks the arguments'
// kinds and gives the result.
type function struct {
	Function
	least, most int // number of arguments; most is -1 for any number
	build       func(call) (term, error)
}

// A call is a function's name with its compiled arguments.
type call struct {
	origin
	function
	at   int
	args []term
}

// registry lists the functions by name.
var registry = slices.SortedFunc(slices.Values(slices.Concat(
	numberFunctions, missingFunctions, bandFunctions, postureFunctions, dateFunctions, listFunctions,
)), func(a, b function) int { return strings.Compare(a.Name, b.Name) })

// Functions lists them by name.
func Functions() []Function {
	list := make([]Function, len(registry))
	for i, f := range registry {
		list[i] = f.Function
	}
	return list
}

// lookup finds a function by name.
func lookup(name string) (function, bool) {
	i, ok := slices.BinarySearchFunc(registry, name, func(f function, name string) int { return strings.Compare(f.Name, name) })
	if !ok {
		return function{}, false
	}
	return registry[i], true
}

// call compiles the call of a function.
func (c *compiler) call(n *ast.CallNode, depth int) (term, error) {
	at := start(n)
	name, ok := n.Callee.(*ast.IdentifierNode)
	if !ok {
		return term{}, c.fault(at, "found a call of a member, expected a function such as round(x, 1)")
	}
	if t, ok, err := c.aggregate(n, name.Value, depth); ok {
		return t, err
	}
	f, ok := lookup(name.Value)
	if !ok {
		if _, variable := c.scope.Resolve("", name.Value); variable {
			return term{}, c.fault(at, "found the variable %s before a bracket, expected a function", name.Value)
		}
		return term{}, c.fault(at, "found %s, expected a function", name.Value).near(nearestFunction(name.Value))
	}
	if k := len(n.Arguments); k < f.least || f.most >= 0 && k > f.most {
		return term{}, c.fault(at, "found %s with %s, expected %s", f.Name, counted(k, "argument"), f.Signature)
	}
	args := make([]term, len(n.Arguments))
	for i, node := range n.Arguments {
		t, err := c.term(node, depth+1)
		if err != nil {
			return term{}, err
		}
		args[i] = t
	}
	t, err := f.build(call{origin: c.origin, function: f, at: at, args: args})
	t.at = at
	return t, err
}

// argument refuses argument i, counted from 0, unless it is of a given kind.
func (c call) argument(i int, kind value.Kind) error {
	t := c.args[i]
	if t.kind == kind {
		return nil
	}
	hint := ""
	if kind == value.Date && t.kind == value.Text {
		hint = `; write a date as date("2024-05-01")`
	}
	return c.fault(t.at, "found %v as argument %d of %s, expected a %v%s", t, i+1, c.signature(), kind, hint)
}

// signature is the signature for a message.
func (c call) signature() string { return c.Signature }

// same refuses arguments of different kinds, and of other kinds than given.
func (c call) same(kinds ...value.Kind) error {
	first := c.args[0]
	if len(kinds) > 0 && !slices.Contains(kinds, first.kind) {
		words := make([]string, len(kinds))
		for i, k := range kinds {
			words[i] = "a " + k.String()
		}
		return c.fault(first.at, "found %v as argument 1 of %s, expected %s", first, c.signature(), strings.Join(words, " or "))
	}
	for i := range c.args {
		if err := c.argument(i, first.kind); err != nil {
			return err
		}
	}
	return nil
}

// numbers are the arguments' closures.
func (c call) numbers() []numberFunc {
	list := make([]numberFunc, len(c.args))
	for i, t := range c.args {
		list[i] = t.number
	}
	return list
}
