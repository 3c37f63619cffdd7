package codebook

import (
	"errors"
	"slices"
	"strings"

	"heelcohort/codebook/document"
	"heelcohort/codebook/expression"
	"heelcohort/codebook/value"
)

// rules reads the rules of a table and compiles their conditions.
func (c *checker) rules(p *Package, r *Resource, raw []rawRule) {
	scope := p.Scope(r)
	seen := map[string]document.Position{}
	for _, k := range raw {
		c.name(k.Name, "rule")
		c.unique(seen, k.Name, "rule")
		rule := Rule{Name: k.Name.Value, Check: k.Check, Message: k.Message, Severity: k.Severity}
		if rule.Severity == "" {
			rule.Severity = "error"
		}
		if Bare(k.Message) == "" {
			c.text(k.Name, "", "rule %q has an empty message, expected what is wrong with such a row", k.Name.Value)
		}
		program, err := expression.Compile(k.Check.Value, scope)
		switch {
		case err != nil:
			c.add(expressionFault(k.Check, err))
			continue
		case program.Kind() != value.Bool:
			c.text(k.Check, "", "the condition gives a %v, expected a boolean", program.Kind())
			continue
		case len(program.Variables()) == 0:
			c.text(k.Check, "", "the condition names no variable, so it is the same on every row")
			continue
		}
		if rule.Fields = c.named(r, k.Fields, "fields"); rule.Fields == nil {
			for _, v := range program.Variables() {
				if v.Table == "" && !slices.Contains(rule.Fields, v.Name) {
					rule.Fields = append(rule.Fields, v.Name)
				}
			}
		}
		r.Schema.Rules = append(r.Schema.Rules, rule)
	}
}

// expressionFault places a fault of an expression in the codebook.
func expressionFault(s document.String, err error) error {
	var e *expression.Error
	if errors.As(err, &e) {
		return s.Errorf(e.Line, e.Column, e.Nearest, "%s", e.Message)
	}
	return s.Errorf(1, 1, "", "%v", err)
}

// list joins names for a message.
func list(names []string) string {
	if len(names) > mostWords {
		return strings.Join(names[:mostWords], ", ") + ", …"
	}
	return strings.Join(names, ", ")
}
