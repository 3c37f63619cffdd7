package codebook

import (
	"errors"
	"slices"
	"strings"

	"heelcohort/codebook/document"
	"heelcohort/codebook/expression"
	"heelcohort/codebook/value"
)

// A Rule is a demand on the rows of a table, of one kind (see [RuleKinds]): of
// the parts that belong to kinds, that of its own is set.
type Rule struct {
	Name     string
	Kind     string          // check, unique, no_overlap, order, within, total, group
	Where    document.String // condition on the rows concerned; "" is all of them
	Check    document.String // condition of the kinds check and group
	Message  string          // what is wrong with such a row; "" leaves it to the kind's own sentence
	Severity string          // error (default) or warning
	Fields   []string        // where the finding is placed; nil leaves it to the kind

	Unique    []string   // variables in which no two rows are alike
	NoOverlap *NoOverlap // intervals of which no two overlap
	Order     *Order     // days that follow one another
	Within    *Within    // days between two others
	Total     *Total     // a number and its parts
	By        []string   // of the kind group: variables that are the same in its rows
}

// A rawRule is a rule as it is written: one of the kinds, and what all share.
type rawRule struct {
	Name     document.String    `doc:"name,required" about:"Name of the rule in findings."`
	Check    *document.String   `doc:"check" about:"Condition on every row; a row where it is false is a finding, one where it cannot be told is not."`
	Unique   *[]document.String `doc:"unique" about:"Variables in which no two rows may be alike; rows in which one of them is missing are passed over."`
	Overlap  *rawOverlap        `doc:"no_overlap" about:"Intervals of which no two may overlap."`
	Order    *[]document.String `doc:"order" about:"Days or numbers, none of which may be before an earlier one of the list; missing ones are passed over."`
	Within   *rawWithin         `doc:"within" about:"Days or numbers that may not lie outside of two limits."`
	Total    *rawTotal          `doc:"total" about:"A number that is made of others in its row, or of the rows that link to it."`
	Group    *rawGroup          `doc:"group" about:"A condition on the rows of a group taken together."`
	Where    *document.String   `doc:"where" about:"Condition on the rows concerned; those where it is false or cannot be told are passed over."`
	Strict   *strictFlag        `doc:"strict" about:"Of an order: true refuses equal days too."`
	Message  *document.String   `doc:"message" about:"What is wrong with such a row; a check needs it, the other kinds have a sentence of their own."`
	Severity string             `doc:"severity" enum:"error|warning" about:"error, unless it says warning."`
	Fields   []document.String  `doc:"fields" about:"Variables at which the finding is placed; those of the rule if it is left out."`
	Position document.Position  `doc:"-"`
}

type strictFlag struct{ placed[bool] }

// rules reads the rules of a table and checks what they name.
func (c *checker) rules(p *Package, r *Resource, raw []rawRule) {
	reader := &ruleReader{checker: c, pkg: p, resource: r, scope: p.Scope(r)}
	seen := map[string]document.Position{}
	for i := range raw {
		k := &raw[i]
		c.name(k.Name, "rule")
		c.unique(seen, k.Name, "rule")
		if rule, ok := reader.rule(k); ok {
			r.Schema.Rules = append(r.Schema.Rules, *rule)
		}
	}
}

// A ruleReader reads the rules of one table.
type ruleReader struct {
	*checker
	pkg      *Package
	resource *Resource
	scope    *Scope
}

func (c *ruleReader) rule(raw *rawRule) (*Rule, bool) {
	faults := len(c.faults)
	rule := &Rule{Name: raw.Name.Value, Severity: raw.Severity}
	if rule.Severity == "" {
		rule.Severity = "error"
	}
	kind := c.kind(raw)
	if kind == nil {
		return nil, false
	}
	rule.Kind = kind.Name
	switch {
	case raw.Message != nil && Bare(raw.Message.Value) == "":
		c.text(raw.Name, "", "rule %q has an empty message, expected what is wrong with such a row", rule.Name)
	case raw.Message != nil:
		rule.Message = raw.Message.Value
	case kind.Name == KindCheck:
		c.at(raw.Position, "", "rule %q has no message, expected what is wrong with such a row", rule.Name)
	}
	if raw.Where != nil {
		rule.Where = *raw.Where
		c.condition(rule.Where, c.scope)
	}
	if raw.Strict != nil && kind.Name != KindOrder {
		c.add(raw.Strict.node.Errorf("strict in a rule of the kind %s, expected it with order alone", kind.Name))
	}
	rule.Fields = c.named(c.resource, raw.Fields, "fields")
	kind.read(c, raw, rule)
	return rule, len(c.faults) == faults
}

// kind finds the one kind that a rule names.
func (c *ruleReader) kind(raw *rawRule) *RuleKind {
	var named []string
	var found *RuleKind
	for i := range ruleKinds {
		if ruleKinds[i].given(raw) {
			found = &ruleKinds[i]
			named = append(named, found.Name)
		}
	}
	switch len(named) {
	case 1:
		return found
	case 0:
		c.at(raw.Position, "", "rule %q says nothing to keep, expected one of the keys %s", raw.Name.Value, strings.Join(kindNames(), ", "))
	default:
		c.at(raw.Position, "", "rule %q has the keys %s, expected one of them: make two rules of it", raw.Name.Value, strings.Join(named, " and "))
	}
	return nil
}

// condition compiles a condition on a row, or notes why it is none.
func (c *ruleReader) condition(s document.String, scope expression.Scope) *expression.Program {
	program, err := expression.Compile(s.Value, scope)
	switch {
	case err != nil:
		c.add(expressionFault(s, err))
	case program.Kind() != value.Bool:
		c.text(s, "", "the condition gives a %v, expected a boolean", program.Kind())
	case len(program.Variables()) == 0:
		c.text(s, "", "the condition names no variable, so it is the same on every row")
	default:
		return program
	}
	return nil
}

// check reads a condition on every row.
func (c *ruleReader) check(raw *rawRule, rule *Rule) {
	rule.Check = *raw.Check
	program := c.condition(rule.Check, c.scope)
	if program == nil || rule.Fields != nil {
		return
	}
	for _, v := range program.Variables() {
		if v.Table == "" && !slices.Contains(rule.Fields, v.Name) {
			rule.Fields = append(rule.Fields, v.Name)
		}
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
