package codebook

import (
	"heelcohort/codebook/document"
	"heelcohort/codebook/expression"
	"heelcohort/codebook/value"
)

// A NoOverlap says that no two intervals of rows that are alike in Within
// overlap. An interval holds the days from From to before To, or to To itself
// where it is Closed. StillRunning is the missing code with which To says that
// the interval has no end yet; nil where none says so.
type NoOverlap struct {
	From, To     string
	Within       []string
	Closed       bool
	StillRunning *string
}

type rawOverlap struct {
	From    document.String    `doc:"from,required" about:"First day."`
	To      document.String    `doc:"to,required" about:"Day after the last one, or the last one if closed."`
	Within  *[]document.String `doc:"within" about:"Variables that are the same in rows whose intervals may not overlap; all rows together if it is left out."`
	Closed  bool               `doc:"closed" about:"Whether the interval holds the day of its end; it does not if it is left out."`
	OpenEnd *document.Scalar   `doc:"open_end" about:"true if an empty end says that the interval still runs, or the missing code that says so."`
}

// A rawGroup is a condition on the rows of a group.
type rawGroup struct {
	By    []document.String `doc:"by,required" about:"Variables that are the same in the rows of a group."`
	Check document.String   `doc:"check,required" about:"Condition with aggregates, such as sum(hours) <= 25."`
}

// some refuses an empty list of variables.
func (c *ruleReader) some(raw *rawRule, fields []document.String, what string, least int) {
	if len(fields) < least {
		c.at(raw.Position, "", "%s of rule %q has %d variables, expected at least %d", what, raw.Name.Value, len(fields), least)
	}
}

// uniqueRule reads variables in which no two rows are alike.
func (c *ruleReader) uniqueRule(raw *rawRule, rule *Rule) {
	c.some(raw, *raw.Unique, KindUnique, 1)
	rule.Unique = c.named(c.resource, *raw.Unique, KindUnique)
}

// overlap reads intervals.
func (c *ruleReader) overlap(raw *rawRule, rule *Rule) {
	o := raw.Overlap
	out := &NoOverlap{From: o.From.Value, To: o.To.Value, Closed: o.Closed}
	if o.Within != nil {
		c.some(raw, *o.Within, "within", 1)
		out.Within = c.named(c.resource, *o.Within, "within")
	}
	c.named(c.resource, []document.String{o.From, o.To}, KindNoOverlap)
	rule.NoOverlap = out
	from, to := c.resource.Schema.Field(out.From), c.resource.Schema.Field(out.To)
	if from == nil || to == nil {
		return
	}
	if c.amount(o.From, from.Kind()) && c.amount(o.To, to.Kind()) && from.Kind() != to.Kind() {
		c.text(o.To, "", "%s is a %v and %s a %v, so neither is before the other", out.From, from.Kind(), out.To, to.Kind())
	}
	if o.OpenEnd != nil {
		out.StillRunning = c.openEnd(to, *o.OpenEnd)
	}
}

// openEnd reads the missing code that says that an interval still runs.
func (c *ruleReader) openEnd(to *Field, s document.Scalar) *string {
	code := s.Text
	switch {
	case s.Kind == document.Bool && code == "false":
		return nil
	case s.Kind == document.Bool:
		code = ""
	case s.Kind != document.Text:
		c.add(s.Errorf("", "found %s as open_end, expected true, false or a missing code in quotes", shown(s)))
		return nil
	}
	var codes []string
	for _, m := range to.Codes() {
		if m.Value == code {
			return &code
		}
		codes = append(codes, m.Value)
	}
	if code == "" {
		c.add(s.Errorf("", `open_end is true, but %s is never empty: declare the missing code "" for it`, to.Name))
	} else {
		c.add(s.Errorf(document.Nearest(code, codes), "open_end %q is no missing code of %s", code, to.Name))
	}
	return nil
}

// amount refuses a variable that has no order.
func (c *ruleReader) amount(s document.String, kind value.Kind) bool {
	if kind == value.Number || kind == value.Date {
		return true
	}
	c.text(s, "", "%s is a %v, expected a number or a date", s.Value, kind)
	return false
}

// group reads a condition on the rows of a group.
func (c *ruleReader) group(raw *rawRule, rule *Rule) {
	g := raw.Group
	c.some(raw, g.By, "by", 1)
	rule.By, rule.Check = c.named(c.resource, g.By, "by"), g.Check
	program, err := expression.CompileGroup(g.Check.Value, c.scope, rule.By)
	switch {
	case err != nil:
		c.add(expressionFault(g.Check, err))
	case program.Kind() != value.Bool:
		c.text(g.Check, "", "the condition gives a %v, expected a boolean", program.Kind())
	case len(program.Aggregates()) == 0:
		c.text(g.Check, "", "the condition has no aggregate such as sum(x), so it is the same on every row: make it a check")
	}
}
