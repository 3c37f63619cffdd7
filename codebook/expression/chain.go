package expression

import (
	"slices"

	"github.com/expr-lang/expr/ast"

	"heelcohort/codebook/value"
)

// chain gives the comparisons of a < b < c from left to right, and nil for any
// other node. The parser reads a chain as a < b && b < c with one node b in
// both, by which a chain is told from what was written with &&.
func chain(n *ast.BinaryNode) []*ast.BinaryNode {
	var links []*ast.BinaryNode
	for n.Operator == "&&" {
		right, ok := n.Right.(*ast.BinaryNode)
		if !ok {
			return nil
		}
		left, ok := n.Left.(*ast.BinaryNode)
		if !ok {
			return nil
		}
		links = append(links, right)
		last := left
		if left.Operator == "&&" {
			if last, ok = left.Right.(*ast.BinaryNode); !ok {
				return nil
			}
		}
		if last.Right != right.Left {
			return nil
		}
		if last == left {
			links = append(links, left)
			slices.Reverse(links)
			return links
		}
		n = left
	}
	return nil
}

// A link is one comparison of a chain: the relation to the operand before.
type link struct {
	holds   func(x, y float64) bool
	operand numberFunc
}

// chain compiles a < b < c, in which each operand is computed once.
func (c *compiler) chain(nodes []*ast.BinaryNode, depth int) (term, error) {
	left, err := c.term(nodes[0].Left, depth+1)
	if err != nil {
		return term{}, err
	}
	t := term{kind: value.Bool, at: left.at}
	first := left.number
	links := make([]link, len(nodes))
	for i, n := range nodes {
		at := n.Location().From
		if n.Operator[0] != nodes[0].Operator[0] {
			return term{}, c.fault(at, "found %s after %s, expected one direction; write a %s b and b %s c",
				n.Operator, nodes[0].Operator, nodes[0].Operator, n.Operator)
		}
		right, err := c.term(n.Right, depth+1)
		if err != nil {
			return term{}, err
		}
		if err := c.comparable(n.Operator, left, right, at); err != nil {
			return term{}, err
		}
		links[i] = link{relation(n.Operator), right.number}
		left = right
	}
	t.truth = func(row Row) (bool, gap) { return follow(first, links, row) }
	return t, nil
}

// follow evaluates a chain: false where a comparison is false, else missing
// with the first missing operand's code, else true.
func follow(first numberFunc, links []link, row Row) (bool, gap) {
	x, g := first(row)
	unknown := g
	for _, l := range links {
		y, h := l.operand(row)
		if !unknown.missing {
			unknown = h
		}
		if !g.missing && !h.missing && !l.holds(x, y) {
			return false, gap{}
		}
		x, g = y, h
	}
	return !unknown.missing, unknown
}
