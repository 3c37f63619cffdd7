package dataset

import (
	"context"
	"errors"
	"strings"

	"heelcohort/codebook"
	"heelcohort/codebook/document"
	"heelcohort/codebook/expression"
	"heelcohort/codebook/value"
)

// ruleKinds says how each kind of the codebook's rules is checked.
var ruleKinds = map[string]func(*ruleCheck) error{
	codebook.KindCheck:     (*ruleCheck).condition,
	codebook.KindUnique:    (*ruleCheck).unique,
	codebook.KindNoOverlap: (*ruleCheck).noOverlap,
	codebook.KindOrder:     (*ruleCheck).order,
	codebook.KindWithin:    (*ruleCheck).within,
	codebook.KindTotal:     (*ruleCheck).total,
	codebook.KindGroup:     (*ruleCheck).group,
}

// A ruleCheck is the check of one rule of a table.
type ruleCheck struct {
	ctx    context.Context
	d      *Dataset
	t      *Table
	rule   codebook.Rule
	scope  *codebook.Scope
	reader *RowReader // of all variables of the scope
	rows   []int      // indexes of the rows concerned
	found  []Finding
}

// checkRules applies the codebook's rules to a table. A rule that is broken is
// a finding; one that cannot be told because something is missing is not.
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
		c := &ruleCheck{ctx: ctx, d: d, t: t, rule: rule, scope: scope, reader: reader}
		if err := c.concerned(); err != nil {
			return nil, err
		}
		if err := ruleKinds[rule.Kind](c); err != nil {
			return nil, err
		}
		found = append(found, c.found...)
		if err := boundFindings(found); err != nil {
			return nil, err
		}
	}
	return found, nil
}

// concerned lists the rows that the rule is about.
func (c *ruleCheck) concerned() error {
	all := make([]int, c.t.Len())
	for i := range all {
		all[i] = i
	}
	c.rows = all
	if c.rule.Where.Value == "" {
		return nil
	}
	where, err := compileCondition(c.rule.Where, c.rule.Name, c.scope)
	if err != nil {
		return err
	}
	kept := make([]int, 0, len(all))
	err = c.each(func(i int) {
		if v := where.Eval(c.reader.At(i)); !v.Missing && v.Bool {
			kept = append(kept, i)
		}
	})
	c.rows = kept
	return err
}

// each visits the rows concerned until the context ends.
func (c *ruleCheck) each(visit func(i int)) error {
	for k, i := range c.rows {
		if k%checkEvery == 0 {
			if err := c.ctx.Err(); err != nil {
				return err
			}
		}
		visit(i)
	}
	return nil
}

// A breach is one way in which a row breaks the rule.
type breach struct {
	row      int
	column   string   // where it is placed unless the rule says
	fields   []string // what may be wrong unless the rule says
	others   []int    // indexes of the other rows concerned
	found    string
	expected string
	message  string // the sentence of a rule without a message
}

// report notes a finding.
func (c *ruleCheck) report(b breach) {
	fields, place := b.fields, []string{b.column}
	if len(c.rule.Fields) > 0 {
		fields, place = c.rule.Fields, c.rule.Fields
	}
	f := Finding{Rule: c.rule.Name, Table: c.t.Name, Found: b.found, Expected: b.expected, Message: c.rule.Message, Fields: fields}
	if c.rule.Severity == Warning.String() {
		f.Severity = Warning
	}
	if f.Message == "" {
		f.Message = b.message
	}
	for _, i := range b.others {
		f.Others = append(f.Others, c.t.Rows[i])
	}
	var column *Column
	for _, name := range place {
		if column = c.t.Column(name); column != nil {
			f.Variable = column.Name
			break
		}
	}
	f.Where = c.t.Origin(b.row, column)
	c.found = append(c.found, f)
}

// condition evaluates a condition on every row.
func (c *ruleCheck) condition() error {
	program, err := compileCondition(c.rule.Check, c.rule.Name, c.scope)
	if err != nil {
		return err
	}
	var own []string
	for _, v := range program.Variables() {
		if v.Table == "" {
			own = append(own, v.Name)
		}
	}
	column := ""
	if len(own) > 0 {
		column = own[0]
	}
	return c.each(func(i int) {
		row := c.reader.At(i)
		v := program.Eval(row)
		if v.Missing || v.Bool {
			return
		}
		c.report(breach{
			row: i, column: column, fields: own,
			found: shownVariables(program.Variables(), row), expected: c.rule.Check.Value,
		})
	})
}

// compileCondition compiles a condition of a rule. Faults are placed in the
// codebook.
func compileCondition(source document.String, rule string, scope expression.Scope) (*expression.Program, error) {
	program, err := expression.Compile(source.Value, scope)
	switch {
	case err != nil:
		return nil, placedFault(source, err)
	case program.Kind() != value.Bool:
		return nil, source.Errorf(1, 1, "", "rule %q gives a %v, expected a boolean", rule, program.Kind())
	}
	return program, nil
}

// placedFault places a fault of an expression in the codebook.
func placedFault(source document.String, err error) error {
	var e *expression.Error
	if errors.As(err, &e) {
		return source.Errorf(e.Line, e.Column, e.Nearest, "%s", e.Message)
	}
	return source.Errorf(1, 1, "", "%v", err)
}

// shownVariables lists the values that a rule looked at: "onset=12,
// diagnosed=10".
func shownVariables(variables []expression.Variable, row expression.Row) string {
	parts := make([]string, len(variables))
	for i, v := range variables {
		parts[i] = codebook.Written(v) + "=" + row.Value(v.Slot).String()
	}
	return strings.Join(parts, ", ")
}

// names joins words for a sentence: "a, b and c".
func names(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	last := len(words) - 1
	return strings.Join(words[:last], ", ") + " and " + words[last]
}
