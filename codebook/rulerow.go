package codebook

import (
	"errors"
	"slices"
	"strconv"
	"strings"

	"heelcohort/codebook/document"
	"heelcohort/codebook/expression"
	"heelcohort/codebook/value"
)

// An Order lists variables of a row, or of a row it links to, whose values
// follow one another. Strict refuses equal ones.
type Order struct {
	Of     []expression.Variable
	Strict bool
}

// A Within says that the days lie from From to To, both included; nil does not
// limit.
type Within struct {
	Days     []expression.Variable
	From, To *Limit
}

// A Limit is a variable of a row, or of a row it links to, or else a value.
type Limit struct {
	Variable *expression.Variable
	Value    value.Value
}

type rawWithin struct {
	Day      document.OneOrMore[document.String] `doc:"day,required" about:"The days, or numbers."`
	From     *document.Scalar                    `doc:"from" about:"First day: a variable, one of a linked table, a number or a date."`
	To       *document.Scalar                    `doc:"to" about:"Last day, which is within."`
	Position document.Position                   `doc:"-"`
}

// Written is a variable as it stands in an expression: table.name for one of a
// linked table.
func Written(v expression.Variable) string {
	if v.Table == "" {
		return v.Name
	}
	return v.Table + "." + v.Name
}

// variables finds variables of the row or of linked ones that have an order.
func (c *ruleReader) variables(fields []document.String) []expression.Variable {
	seen := map[string]document.Position{}
	var out []expression.Variable
	for _, s := range fields {
		c.unique(seen, s, "variable")
		v, err := c.variable(s.Value)
		if err != nil {
			c.add(expressionFault(s, err))
			continue
		}
		if !c.amount(s, v.Kind) {
			continue
		}
		if len(out) > 0 && v.Kind != out[0].Kind {
			c.text(s, "", "%s is a %v and %s a %v, so neither is before the other", s.Value, v.Kind, Written(out[0]), out[0].Kind)
			continue
		}
		out = append(out, v)
	}
	return out
}

// variable finds one variable of the row or of a linked one.
func (c *ruleReader) variable(text string) (expression.Variable, error) {
	if v, ok := c.scope.Resolve("", text); ok {
		return v, nil
	}
	table, name, _ := strings.Cut(text, ".")
	if v, ok := c.scope.Resolve(table, name); ok {
		return v, nil
	}
	_, err := expression.Compile(text, c.scope)
	if err == nil {
		err = errors.New("found an expression, expected the name of a variable")
	}
	return expression.Variable{}, err
}

// order reads variables that follow one another.
func (c *ruleReader) order(raw *rawRule, rule *Rule) {
	c.some(raw, *raw.Order, KindOrder, 2)
	rule.Order = &Order{Of: c.variables(*raw.Order), Strict: raw.Strict != nil && raw.Strict.Value}
	c.ownVariable(raw, rule.Order.Of, len(*raw.Order))
}

// ownVariable refuses a rule about linked rows alone, whose findings would
// stand in no cell and come once a row.
func (c *ruleReader) ownVariable(raw *rawRule, of []expression.Variable, named int) {
	if len(of) == named && named > 0 && !slices.ContainsFunc(of, func(v expression.Variable) bool { return v.Table == "" }) {
		c.at(raw.Position, "", "rule %q names no variable of table %s: put it with the table it is about", raw.Name.Value, c.resource.Name)
	}
}

// within reads days and their limits.
func (c *ruleReader) within(raw *rawRule, rule *Rule) {
	w := raw.Within
	c.some(raw, w.Day, "day", 1)
	out := &Within{Days: c.variables(w.Day)}
	rule.Within = out
	c.ownVariable(raw, out.Days, len(w.Day))
	if w.From == nil && w.To == nil {
		c.at(w.Position, "", "within has no limit, expected from or to")
		return
	}
	if len(out.Days) == 0 {
		return
	}
	out.From, out.To = c.limit(out.Days[0], w.From, "from"), c.limit(out.Days[0], w.To, "to")
	if out.From != nil && out.To != nil && out.From.Variable == nil && out.To.Variable == nil && out.From.Value.Number > out.To.Value.Number {
		c.add(w.To.Errorf("", "from %v is after to %v, so no day is within", out.From.Value, out.To.Value))
	}
}

// limit reads a variable, or a value that a day can be compared with.
func (c *ruleReader) limit(day expression.Variable, s *document.Scalar, what string) *Limit {
	if s == nil {
		return nil
	}
	wrong := func() *Limit {
		c.add(s.Errorf("", "found %s as %s, but %s is a %v: expected a %v or a variable", shown(*s), what, Written(day), day.Kind, day.Kind))
		return nil
	}
	switch s.Kind {
	case document.Number:
		x, err := strconv.ParseFloat(s.Text, 64)
		if day.Kind != value.Number || err != nil {
			return wrong()
		}
		return &Limit{Value: value.Num(x)}
	case document.Bool:
		return wrong()
	}
	v, err := c.variable(s.Text)
	switch {
	case err == nil && v.Kind != day.Kind:
		c.add(s.Errorf("", "%s is a %v and %s a %v, so neither is before the other", s.Text, v.Kind, Written(day), day.Kind))
		return nil
	case err == nil:
		return &Limit{Variable: &v}
	}
	if days, ok := isoDay(s.Text); ok && day.Kind == value.Date {
		return &Limit{Value: value.Day(days)}
	}
	var e *expression.Error
	if errors.As(err, &e) {
		c.add(s.Errorf(e.Nearest, "%s", e.Message))
	} else {
		c.add(s.Errorf("", "%v", err))
	}
	return nil
}

// isoDay reads a date written as 2024-03-31.
func isoDay(text string) (float64, bool) {
	plain, err := newLayout("", false)
	if err != nil {
		return 0, false
	}
	v, ok := plain.date(text)
	return v.Number, ok
}
