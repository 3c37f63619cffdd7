package expression

import (
	"slices"
	"strings"

	"github.com/expr-lang/expr/ast"

	"heelcohort/codebook/document"
	"heelcohort/codebook/value"
)

// member compiles table.variable.
func (c *compiler) member(n *ast.MemberNode) (term, error) {
	property, named := n.Property.(*ast.StringNode)
	if at := n.Location().From; c.is(at, '[') || !named {
		return term{}, c.fault(at, "found [, expected no brackets after a value")
	}
	table, ok := n.Node.(*ast.IdentifierNode)
	if !ok {
		return term{}, c.fault(property.Location().From, "found .%s after a value, expected table.variable", property.Value)
	}
	return c.variable(table.Value, property.Value, table.Location().From)
}

// variable compiles a variable of the row's own table or of a linked one.
func (c *compiler) variable(table, name string, at int) (term, error) {
	v, ok := c.scope.Resolve(table, name)
	if !ok {
		return term{}, c.unknown(table, name, at)
	}
	written := name
	if table != "" {
		written = table + "." + name
	}
	switch v.Kind {
	case value.Number, value.Text, value.Bool, value.Date:
	default:
		return term{}, c.fault(at, "found %s, whose values have no known kind, expected a number, text, boolean or date", written)
	}
	if err := c.outside(v, written, at); err != nil {
		return term{}, err
	}
	if !slices.ContainsFunc(c.variables, func(w Variable) bool { return w.Table == v.Table && w.Name == v.Name }) {
		c.variables = append(c.variables, v)
	}
	t := read(v, written, at)
	if s, ok := c.scope.(CodedScope); ok {
		t.codes = s.Codes(v)
	}
	if s, ok := c.scope.(ListScope); ok && v.Kind == value.Text {
		if delimiter, items := s.List(v); delimiter != "" {
			t.list = &listing{delimiter, items}
		}
	}
	return t, nil
}

// unknown is the error for a name that the scope does not have.
func (c *compiler) unknown(table, name string, at int) *Error {
	if table != "" {
		return c.unknownMember(table, name, at)
	}
	tables := c.scope.Tables()
	for _, t := range tables {
		if _, ok := c.scope.Resolve(t, name); ok {
			return c.fault(at, "found %s, expected a variable of this table; %s is a variable of %s", name, name, t).near(t + "." + name)
		}
	}
	if slices.Contains(tables, name) {
		return c.fault(at, "found the table %s, expected %s.variable", name, name)
	}
	if f, ok := lookup(name); ok {
		return c.fault(at, "found the function %s without arguments, expected %s", name, f.Signature)
	}
	switch strings.ToLower(name) {
	case "null", "none", "na", "nan", "missing":
		return c.fault(at, "found %s, expected a variable; is_missing(x) asks whether x is missing", name)
	}
	words := append(slices.Clone(c.scope.Names("")), "true", "false")
	near := document.Nearest(name, words)
	if lower := strings.ToLower(name); lower == "true" || lower == "false" {
		near = lower
	}
	return c.fault(at, "found %s, expected a variable of this table", name).near(near)
}

// unknownMember is the error for table.name.
func (c *compiler) unknownMember(table, name string, at int) *Error {
	tables := c.scope.Tables()
	_, own := c.scope.Resolve("", name)
	if slices.Contains(tables, table) {
		at += len([]rune(table)) + 1
		if own {
			return c.fault(at, "found %s, expected a variable of %s; %s is a variable of this table", name, table, name).near(name)
		}
		near := document.Nearest(name, c.scope.Names(table))
		if near != "" {
			near = table + "." + near
		}
		return c.fault(at, "found %s, expected a variable of %s", name, table).near(near)
	}
	expected := "a linked table"
	if len(tables) == 0 {
		expected = "a variable without a table, as this table links to no other"
	}
	if own {
		return c.fault(at, "found %s before the point, expected %s; %s is a variable of this table", table, expected, name).near(name)
	}
	near := document.Nearest(table, tables)
	if near != "" {
		if _, ok := c.scope.Resolve(near, name); ok {
			near += "." + name
		}
	}
	return c.fault(at, "found %s before the point, expected %s", table, expected).near(near)
}

// unquoted improves the error for an unknown name that is a word of the text
// it is compared with: sex == female.
func (c *compiler) unquoted(err error, bad, other ast.Node, operator string, depth int) error {
	name, ok := bad.(*ast.IdentifierNode)
	if !ok || operator != "==" && operator != "!=" {
		return err
	}
	probe := &compiler{origin: c.origin, scope: c.scope, group: c.group}
	t, otherErr := probe.term(other, depth+1)
	if otherErr != nil || t.kind != value.Text {
		return err
	}
	if t.words != nil && !slices.Contains(t.words, name.Value) {
		return err
	}
	if fault, ok := err.(*Error); ok && (t.words != nil || fault.Nearest == "") {
		return c.fault(name.Location().From, "found %s, expected a variable, or a text in quotes", name.Value).near(`"` + name.Value + `"`)
	}
	return err
}
