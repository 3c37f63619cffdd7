package codebook

import (
	"slices"

	"heelcohort/codebook/document"
	"heelcohort/codebook/expression"
	"heelcohort/codebook/value"
)

// A Total says what a number is made of: its Parts in the same row, or the rows
// of another table that link to it (How is count, sum or distinct). It may
// differ by Tolerance. Where a part is missing the total is missing too, and
// nowhere else; with SkipMissing such rows are passed over instead.
type Total struct {
	Of          string
	Parts       []string
	How         string          // "" for parts, else count, sum or distinct
	Table       string          // the table whose rows are counted or summed
	What        document.String // expression on its rows: what is summed or told apart
	When        document.String // condition on its rows; "" is all of them
	Tolerance   float64
	SkipMissing bool
}

type rawTotal struct {
	Of        document.String    `doc:"of,required" about:"The total."`
	Parts     *[]document.String `doc:"parts" about:"Its parts in the same row."`
	Count     *rawCount          `doc:"count" about:"It is the number of rows that link to this one."`
	Sum       *rawAmount         `doc:"sum" about:"It is the sum over the rows that link to this one."`
	Distinct  *rawAmount         `doc:"distinct" about:"It is the number of different values in the rows that link to this one."`
	Tolerance float64            `doc:"tolerance" min:"0" about:"By how much they may differ; 0 if it is left out."`
	Missing   string             `doc:"missing" enum:"total_missing|skip" about:"total_missing: where a part is missing so is the total, and nowhere else. skip: rows in which something is missing are passed over."`
	Position  document.Position  `doc:"-"`
}

type rawCount struct {
	Table document.String  `doc:"table,required" about:"The table that links to this one."`
	When  *document.String `doc:"when" about:"Condition on its rows; all if it is left out."`
}

type rawAmount struct {
	Table document.String  `doc:"table,required" about:"The table that links to this one."`
	Of    document.String  `doc:"of,required" about:"Expression on its rows."`
	When  *document.String `doc:"when" about:"Condition on its rows; all if it is left out."`
}

// total reads a total and what it is made of.
func (c *ruleReader) total(raw *rawRule, rule *Rule) {
	t := raw.Total
	out := &Total{Of: t.Of.Value, Tolerance: t.Tolerance, SkipMissing: t.Missing == "skip"}
	rule.Total = out
	c.number(t.Of, "of")
	ways := 0
	if t.Parts != nil {
		ways++
		c.some(raw, *t.Parts, "parts", 1)
		for _, s := range *t.Parts {
			if s.Value == t.Of.Value {
				c.text(s, "", "%s is its own part", s.Value)
			}
		}
		c.unequal(*t.Parts)
	}
	if t.Count != nil {
		ways++
		out.How = "count"
		c.children(out, t.Count.Table, nil, t.Count.When)
	}
	if t.Sum != nil {
		ways++
		out.How, out.What = "sum", t.Sum.Of
		c.children(out, t.Sum.Table, &t.Sum.Of, t.Sum.When)
	}
	if t.Distinct != nil {
		ways++
		out.How, out.What = "distinct", t.Distinct.Of
		c.children(out, t.Distinct.Table, &t.Distinct.Of, t.Distinct.When)
	}
	if ways != 1 {
		c.at(t.Position, "", "the total %s is made in %d ways, expected one of parts, count, sum, distinct", t.Of.Value, ways)
	}
	if t.Parts != nil {
		out.Parts = texts(*t.Parts)
	}
}

// unequal checks a list of parts.
func (c *ruleReader) unequal(parts []document.String) {
	seen := map[string]document.Position{}
	for _, s := range parts {
		c.unique(seen, s, "variable")
		c.number(s, "parts")
	}
}

// number refuses what is no number of the table.
func (c *ruleReader) number(s document.String, what string) {
	f := c.resource.Schema.Field(s.Value)
	switch {
	case f == nil:
		names := c.resource.Schema.Names()
		c.text(s, document.Nearest(s.Value, names), "%s names the variable %q, which table %s does not have", what, s.Value, c.resource.Name)
	case f.Kind() != value.Number:
		c.text(s, "", "%s is a %v, expected a number", s.Value, f.Kind())
	}
}

// children checks the table whose rows make a total.
func (c *ruleReader) children(out *Total, table document.String, what, when *document.String) {
	child := c.pkg.Resource(table.Value)
	if child == nil {
		c.text(table, document.Nearest(table.Value, c.pkg.Names()), "unknown table %q, expected one of %s", table.Value, list(c.pkg.Names()))
		return
	}
	out.Table = child.Name
	scope := c.pkg.Scope(child)
	if !slices.Contains(scope.Tables(), c.resource.Name) {
		c.text(table, "", "table %q has no foreign key to one row of %q, expected a table whose rows link to it by exactly one", child.Name, c.resource.Name)
		return
	}
	if when != nil {
		out.When = *when
		c.condition(out.When, scope)
	}
	if what == nil {
		return
	}
	program, err := expression.Compile(what.Value, scope)
	switch {
	case err != nil:
		c.add(expressionFault(*what, err))
	case out.How == "sum" && program.Kind() != value.Number:
		c.text(*what, "", "the sum is taken of a %v, expected a number", program.Kind())
	}
}
