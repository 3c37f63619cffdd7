package expression

import (
	"github.com/expr-lang/expr/ast"

	"heelcohort/codebook/value"
)

// and is the conjunction of three-valued logic: false where either operand is
// false, else missing where either is missing, else true. The code is that of
// the first missing operand.
func and(a, b truthFunc) truthFunc {
	return func(row Row) (bool, gap) {
		x, g := a(row)
		if !g.missing && !x {
			return false, gap{}
		}
		y, h := b(row)
		switch {
		case !h.missing && !y:
			return false, gap{}
		case g.missing:
			return false, g
		case h.missing:
			return false, h
		}
		return true, gap{}
	}
}

// or is the disjunction: true where either operand is true, else missing where
// either is missing, else false.
func or(a, b truthFunc) truthFunc {
	return func(row Row) (bool, gap) {
		x, g := a(row)
		if !g.missing && x {
			return true, gap{}
		}
		y, h := b(row)
		switch {
		case !h.missing && y:
			return true, gap{}
		case g.missing:
			return false, g
		case h.missing:
			return false, h
		}
		return false, gap{}
	}
}

// logic compiles and, or.
func (c *compiler) logic(left, right term, join func(a, b truthFunc) truthFunc) (term, error) {
	if err := c.condition(left); err != nil {
		return term{}, err
	}
	if err := c.condition(right); err != nil {
		return term{}, err
	}
	return term{kind: value.Bool, at: left.at, truth: join(left.truth, right.truth)}, nil
}

// negation compiles not: missing stays missing.
func (c *compiler) negation(x term, n *ast.UnaryNode) (term, error) {
	if x.kind != value.Bool {
		return term{}, c.fault(n.Location().From, "found %s before %v, expected a condition after it; write %s (a == b), as %s binds tighter than ==",
			n.Operator, x, n.Operator, n.Operator)
	}
	truth := x.truth
	return term{kind: value.Bool, at: min(x.at, n.Location().From), truth: func(row Row) (bool, gap) {
		b, g := truth(row)
		return !b && !g.missing, g
	}}, nil
}

// ternary compiles condition ? a : b. It is missing where the condition is.
func (c *compiler) ternary(n *ast.ConditionalNode, depth int) (term, error) {
	at := start(n)
	if !n.Ternary || n.Cond == n.Exp1 {
		return term{}, c.fault(at, "found a condition in a form that is not supported, expected condition ? a : b")
	}
	cond, err := c.term(n.Cond, depth+1)
	if err != nil {
		return term{}, err
	}
	if err := c.condition(cond); err != nil {
		return term{}, err
	}
	a, err := c.term(n.Exp1, depth+1)
	if err != nil {
		return term{}, err
	}
	b, err := c.term(n.Exp2, depth+1)
	if err != nil {
		return term{}, err
	}
	if a.kind != b.kind {
		return term{}, c.fault(b.at, "found %v after %v, expected both branches of one kind", b, a)
	}
	t := term{kind: a.kind, at: at}
	choose := cond.truth
	switch a.kind {
	case value.Text:
		t.words = union(a.words, b.words)
		t.text = pick(choose, a.text, b.text)
	case value.Bool:
		t.truth = pick(choose, a.truth, b.truth)
	default:
		t.number = pick(choose, a.number, b.number)
	}
	return t, nil
}

// pick evaluates the branch that the condition chooses.
func pick[V any](choose truthFunc, a, b func(Row) (V, gap)) func(Row) (V, gap) {
	return func(row Row) (V, gap) {
		yes, g := choose(row)
		switch {
		case g.missing:
			var zero V
			return zero, g
		case yes:
			return a(row)
		}
		return b(row)
	}
}
