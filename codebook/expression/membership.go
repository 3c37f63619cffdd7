package expression

import (
	"slices"

	"github.com/expr-lang/expr/ast"

	"heelcohort/codebook/value"
)

// membership compiles x in [a, b, ...]: true where x is one of the literals,
// missing where x is missing.
func (c *compiler) membership(n *ast.BinaryNode, depth int) (term, error) {
	x, err := c.term(n.Left, depth+1)
	if err != nil {
		return term{}, err
	}
	list, ok := n.Right.(*ast.ArrayNode)
	if !ok {
		return term{}, c.fault(start(n.Right), "found no list after in, expected one such as [1, 2]")
	}
	if x.kind == value.Bool {
		return term{}, c.fault(n.Location().From, "found %v in a list, expected a number, text or date; write not (a in b) for a negation", x)
	}
	if len(list.Nodes) == 0 {
		return term{}, c.fault(list.Location().From, "found an empty list, expected values of %v", x)
	}
	var (
		numbers []float64
		texts   []string
	)
	for _, node := range list.Nodes {
		item, err := c.item(node, x, n, depth)
		if err != nil {
			return term{}, err
		}
		twice := false
		if x.kind == value.Text {
			twice = slices.Contains(texts, item.literal.Text)
			texts = append(texts, item.literal.Text)
		} else {
			twice = slices.Contains(numbers, item.literal.Number)
			numbers = append(numbers, item.literal.Number)
		}
		if twice {
			return term{}, c.fault(item.at, "found %v a second time in the list, expected each value once", *item.literal)
		}
	}
	t := term{kind: value.Bool, at: x.at}
	if x.kind == value.Text {
		t.truth = among(x.text, texts)
	} else {
		t.truth = among(x.number, numbers)
	}
	return t, nil
}

// item compiles one member of a list, a literal that x can be equal to.
func (c *compiler) item(node ast.Node, x term, n *ast.BinaryNode, depth int) (term, error) {
	item, err := c.term(node, depth+1)
	if err != nil {
		return term{}, c.unquoted(err, node, n.Left, "==", depth)
	}
	if item.literal == nil {
		return term{}, c.fault(item.at, "found %v in a list, expected a literal; write x == a or x == b", item)
	}
	return item, c.comparable("==", x, item, item.at)
}

// among says whether a value is one of a list.
func among[V comparable](x func(Row) (V, gap), list []V) truthFunc {
	return func(row Row) (bool, gap) {
		v, g := x(row)
		if g.missing {
			return false, g
		}
		return slices.Contains(list, v), gap{}
	}
}
