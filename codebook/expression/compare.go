package expression

import (
	"slices"
	"strconv"
	"strings"

	"github.com/expr-lang/expr/ast"

	"heelcohort/codebook/document"
	"heelcohort/codebook/value"
)

// relation says whether a comparison of two numbers holds.
func relation(operator string) func(x, y float64) bool {
	switch operator {
	case "==":
		return func(x, y float64) bool { return x == y }
	case "!=":
		return func(x, y float64) bool { return x != y }
	case "<":
		return func(x, y float64) bool { return x < y }
	case "<=":
		return func(x, y float64) bool { return x <= y }
	case ">":
		return func(x, y float64) bool { return x > y }
	}
	return func(x, y float64) bool { return x >= y }
}

// comparison compiles == != < <= > >= on two terms of one kind.
func (c *compiler) comparison(operator string, left, right term, at int) (term, error) {
	if err := c.comparable(operator, left, right, at); err != nil {
		return term{}, err
	}
	t := term{kind: value.Bool, at: left.at}
	equal := operator == "=="
	switch left.kind {
	case value.Text:
		t.truth = compare(left.text, right.text, func(x, y string) bool { return (x == y) == equal })
	case value.Bool:
		t.truth = compare(left.truth, right.truth, func(x, y bool) bool { return (x == y) == equal })
	default:
		t.truth = compare(left.number, right.number, relation(operator))
	}
	return t, nil
}

// compare applies a relation, missing where an operand is missing.
func compare[V any](a, b func(Row) (V, gap), holds func(x, y V) bool) truthFunc {
	return func(row Row) (bool, gap) {
		x, g := a(row)
		if g.missing {
			return false, g
		}
		y, g := b(row)
		if g.missing {
			return false, g
		}
		return holds(x, y), gap{}
	}
}

// comparable refuses a comparison that has no meaning or can never hold.
func (c *compiler) comparable(operator string, left, right term, at int) error {
	if left.kind != right.kind {
		return c.fault(at, "found %v %s %v, expected the same kind on both sides%s", left, operator, right, kindHint(left, right))
	}
	for _, t := range []term{left, right} {
		if err := c.whole(t, t.at); err != nil {
			return err
		}
	}
	order := operator != "==" && operator != "!="
	switch {
	case order && left.kind == value.Text:
		return c.fault(at, "found %v %s %v, expected == or != or in, as texts have no order", left, operator, right)
	case order && left.kind == value.Bool:
		return c.fault(at, "found %v %s %v, expected == or !=, as booleans have no order", left, operator, right)
	case left.kind != value.Text:
		return nil
	case right.literal != nil:
		return c.possible(left, right)
	case left.literal != nil:
		return c.possible(right, left)
	case left.words != nil && right.words != nil && !slices.ContainsFunc(left.words, func(w string) bool { return slices.Contains(right.words, w) }):
		return c.fault(at, "found %v %s %v, which have no word in common", left, operator, right)
	}
	return nil
}

// possible refuses a literal that t can never be equal to, which would be
// silently false on every row.
func (c *compiler) possible(t, literal term) error {
	if t.coded != nil {
		return c.possibleCode(*t.coded, literal)
	}
	word := literal.literal.Text
	switch {
	case word == "" && t.name != "":
		return c.fault(literal.at, "found an empty text compared with %s, expected a word; an empty cell is missing: write is_missing(%s)", t.name, t.name)
	case t.words == nil || slices.Contains(t.words, word):
		return nil
	}
	name := t.name
	if name == "" {
		name = "the other side"
	}
	return c.fault(literal.at, "found %q, expected a word that %s can hold: %s", word, name, quoted(t.words)).near(document.Nearest(word, t.words))
}

// quoted lists words for a message, the first ten of them.
func quoted(words []string) string {
	var b strings.Builder
	for i, w := range words {
		if i == 10 {
			b.WriteString(", ...")
			break
		}
		if i > 0 {
			b.WriteString(", ")
		}
		b.WriteString(strconv.Quote(w))
	}
	return b.String()
}

// kindHint says how two terms of different kinds could be compared.
func kindHint(a, b term) string {
	if b.literal == nil {
		a, b = b, a
	}
	switch {
	case a.kind == value.Date && b.kind == value.Text, a.kind == value.Text && b.kind == value.Date:
		return `; write a date as date("2024-05-01")`
	case b.literal == nil:
		return ""
	case a.kind == value.Text && b.kind == value.Number:
		return "; write a category in quotes: " + strconv.Quote(b.literal.String())
	case a.kind == value.Number && b.kind == value.Text:
		if _, err := strconv.ParseFloat(b.literal.Text, 64); err == nil {
			return "; write a number without quotes: " + b.literal.Text
		}
		return "; is_missing(x) and missing_code(x) ask about missing values"
	case a.kind == value.Bool:
		return "; a boolean is a condition by itself, or compared with true and false"
	}
	return ""
}

// equalityOfEquality refuses a == b == c, which compares c with the answer to
// a == b.
func (c *compiler) equalityOfEquality(n *ast.BinaryNode, left term) error {
	inner, ok := n.Left.(*ast.BinaryNode)
	if !ok || left.kind != value.Bool || n.Operator != "==" && n.Operator != "!=" {
		return nil
	}
	if inner.Operator == "==" || inner.Operator == "!=" {
		return c.fault(n.Location().From, "found a second %s, expected one comparison; write a == b and b == c", n.Operator)
	}
	return nil
}
