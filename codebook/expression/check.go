package expression

import (
	"strconv"

	"github.com/expr-lang/expr/ast"

	"heelcohort/codebook/value"
)

// A compiler turns a tree into terms, checking kinds on the way.
type compiler struct {
	origin
	scope     Scope
	variables []Variable
	group     *grouping // nil for an expression on a row
}

// compile parses and checks the whole source.
func (c *compiler) compile(source string) (term, error) {
	node, err := parse(source, c.origin)
	if err != nil {
		return term{}, err
	}
	return c.term(node, 1)
}

// term compiles a node at a depth counted from 1.
func (c *compiler) term(node ast.Node, depth int) (term, error) {
	if depth > maxDepth {
		return term{}, c.fault(start(node), "found parts nested deeper than %d, expected a simpler expression", maxDepth)
	}
	at := start(node)
	switch n := node.(type) {
	case *ast.IntegerNode:
		return numberLiteral(float64(n.Value), at), nil
	case *ast.FloatNode:
		return numberLiteral(n.Value, at), nil
	case *ast.BoolNode:
		return truthLiteral(n.Value, at), nil
	case *ast.StringNode:
		return textLiteral(n.Value, at), nil
	case *ast.IdentifierNode:
		return c.variable("", n.Value, at)
	case *ast.MemberNode:
		return c.member(n)
	case *ast.UnaryNode:
		return c.unary(n, depth)
	case *ast.BinaryNode:
		return c.binary(n, depth)
	case *ast.ConditionalNode:
		return c.ternary(n, depth)
	case *ast.CallNode:
		return c.call(n, depth)
	case *ast.NilNode:
		return term{}, c.fault(at, "found nil, expected is_missing(x) to ask whether x is missing")
	case *ast.ArrayNode:
		return term{}, c.fault(at, "found a list, expected a value; a list stands only after in")
	case *ast.SliceNode:
		return term{}, c.fault(n.Location().From, "found [, expected no brackets after a value")
	}
	return term{}, c.fault(at, "found an expression of a form that is not supported")
}

// start is the index at which a node's text starts, opening parentheses aside.
func start(node ast.Node) int {
	switch n := node.(type) {
	case *ast.BinaryNode:
		return start(n.Left)
	case *ast.ConditionalNode:
		return start(n.Cond)
	case *ast.MemberNode:
		return start(n.Node)
	case *ast.SliceNode:
		return start(n.Node)
	case *ast.CallNode:
		return start(n.Callee)
	case *ast.UnaryNode:
		// "a not in [b]" is a negation placed at its second word.
		return min(n.Location().From, start(n.Node))
	}
	if node == nil {
		return 0
	}
	return node.Location().From
}

// unary compiles a sign or a negation.
func (c *compiler) unary(n *ast.UnaryNode, depth int) (term, error) {
	x, err := c.term(n.Node, depth+1)
	if err != nil {
		return term{}, err
	}
	switch n.Operator {
	case "not", "!":
		return c.negation(x, n)
	}
	return c.sign(n.Operator, x, n.Location().From)
}

// binary compiles an operator with two operands.
func (c *compiler) binary(n *ast.BinaryNode, depth int) (term, error) {
	at := n.Location().From
	if n.Operator == "in" {
		return c.membership(n, depth)
	}
	if links := chain(n); links != nil {
		return c.chain(links, depth)
	}
	left, err := c.term(n.Left, depth+1)
	if err != nil {
		return term{}, c.unquoted(err, n.Left, n.Right, n.Operator, depth)
	}
	right, err := c.term(n.Right, depth+1)
	if err != nil {
		return term{}, c.unquoted(err, n.Right, n.Left, n.Operator, depth)
	}
	switch n.Operator {
	case "and", "&&":
		return c.logic(left, right, and)
	case "or", "||":
		return c.logic(left, right, or)
	case "==", "!=", "<", "<=", ">", ">=":
		if err := c.equalityOfEquality(n, left); err != nil {
			return term{}, err
		}
		return c.comparison(n.Operator, left, right, at)
	case "+", "-", "*", "/", "%", "**":
		return c.arithmetic(n.Operator, left, right, at)
	}
	return term{}, c.fault(at, "found %s, which is no operator here", n.Operator)
}

// condition refuses a term that is not boolean.
func (c *compiler) condition(t term) error {
	if t.kind == value.Bool {
		return nil
	}
	example := ""
	if t.name != "" {
		switch {
		case t.kind == value.Number:
			example = " such as " + t.name + " > 0"
		case len(t.words) > 0:
			example = " such as " + t.name + " == " + strconv.Quote(t.words[0])
		}
	}
	return c.fault(t.at, "found %v, expected a condition%s", t, example)
}
