package dataset

import (
	"context"
	"errors"
	"strings"

	"heelcohort/codebook"
	"heelcohort/codebook/expression"
	"heelcohort/codebook/value"
)

// checkRules evaluates the codebook's rules on every row. A rule that is false
// is a finding; one that cannot be told because something is missing is not.
func checkRules(ctx context.Context, d *Dataset, t *Table) ([]Finding, error) {
	if len(t.Resource.Schema.Rules) == 0 {
		return nil, nil
	}
	scope := d.Package.Scope(t.Resource)
	reader, err := d.Reader(t, scope.Variables())
	if err != nil {
		return nil, err
	}
	var found []Finding
	for _, rule := range t.Resource.Schema.Rules {
		program, err := compileRule(rule, scope)
		if err != nil {
			return nil, err
		}
		column := rulePlace(t, rule, program)
		for i := range t.Len() {
			if i%checkEvery == 0 {
				if err := ctx.Err(); err != nil {
					return nil, err
				}
			}
			row := reader.At(i)
			v := program.Eval(row)
			if v.Missing || v.Bool {
				continue
			}
			f := Finding{
				Rule: rule.Name, Table: t.Name, Where: t.Origin(i, column),
				Found: ruleFound(program, row), Expected: rule.Check.Value, Message: rule.Message,
			}
			if rule.Severity == Warning.String() {
				f.Severity = Warning
			}
			if column != nil {
				f.Variable = column.Name
			}
			found = append(found, f)
		}
	}
	return found, nil
}

// compileRule compiles a rule's condition. Faults are placed in the codebook.
func compileRule(rule codebook.Rule, scope expression.Scope) (*expression.Program, error) {
	program, err := expression.Compile(rule.Check.Value, scope)
	var e *expression.Error
	switch {
	case errors.As(err, &e):
		return nil, rule.Check.Errorf(e.Line, e.Column, e.Nearest, "%s", e.Message)
	case err != nil:
		return nil, rule.Check.Errorf(1, 1, "", "%v", err)
	case program.Kind() != value.Bool:
		return nil, rule.Check.Errorf(1, 1, "", "rule %q gives a %v, expected a boolean", rule.Name, program.Kind())
	}
	return program, nil
}

// rulePlace is the column in which a rule's findings are placed: the first
// that the rule names, else the first of the row's own that it uses. It is nil
// for a rule about linked tables alone.
func rulePlace(t *Table, rule codebook.Rule, program *expression.Program) *Column {
	for _, name := range rule.Fields {
		if c := t.Column(name); c != nil {
			return c
		}
	}
	for _, v := range program.Variables() {
		if v.Table == "" || v.Table == t.Name {
			if c := t.Column(v.Name); c != nil {
				return c
			}
		}
	}
	return nil
}

// ruleFound lists the values that a rule looked at: "onset=12, diagnosed=10".
func ruleFound(program *expression.Program, row expression.Row) string {
	var parts []string
	for _, v := range program.Variables() {
		name := v.Name
		if v.Table != "" {
			name = v.Table + "." + name
		}
		parts = append(parts, name+"="+row.Value(v.Slot).String())
	}
	return strings.Join(parts, ", ")
}
