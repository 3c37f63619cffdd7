package dataset

import (
	"fmt"
	"math"

	"heelcohort/codebook/value"
)

// A made is what a total should be: a number, or missing because a part is, or
// nothing that could be told.
type made struct {
	sum     float64
	size    float64 // of the numbers that were added, for the rounding
	missing string  // which part is missing; "" for none
	untold  bool
	how     string // in the sentence: "its parts fpi_r1 and fpi_r2 add up to"
}

// total finds totals that are not what they are made of.
func (c *ruleCheck) total() error {
	t := c.rule.Total
	of := c.t.Column(t.Of)
	if of == nil {
		return nil
	}
	fields := append([]string{t.Of}, t.Parts...)
	parts, err := c.parts()
	if err != nil {
		return err
	}
	return c.each(func(i int) {
		m := parts(i)
		state := of.State[i]
		if m.untold || state == Invalid || t.SkipMissing && (m.missing != "" || state == Missing) {
			return
		}
		b := breach{row: i, column: t.Of, fields: fields, found: fmt.Sprintf("%s=%v", t.Of, of.Value(i))}
		sum := value.Num(m.sum)
		switch {
		case m.missing != "" && state == Present:
			b.expected = t.Of + " missing too"
			b.found += ", " + m.missing + " missing"
			b.message = fmt.Sprintf("%s is %v, but %s is missing, so the total should be missing too.", t.Of, of.Value(i), m.missing)
		case m.missing != "":
			return
		case state == Missing:
			b.expected = fmt.Sprintf("%s=%v", t.Of, sum)
			b.message = fmt.Sprintf("%s is missing (%q), but %s %v.", t.Of, of.Code(i), m.how, sum)
		case math.Abs(of.Number[i]-m.sum) > t.Tolerance+1e-12*max(math.Abs(of.Number[i]), m.size):
			b.expected = fmt.Sprintf("%s=%v", t.Of, sum)
			b.message = fmt.Sprintf("%s is %v, but %s %v.", t.Of, of.Value(i), m.how, sum)
			if t.Tolerance > 0 {
				b.expected += fmt.Sprintf(", give or take %v", value.Num(t.Tolerance))
			}
		default:
			return
		}
		c.report(b)
	})
}

// parts gives what the total of a row should be.
func (c *ruleCheck) parts() (func(i int) made, error) {
	t := c.rule.Total
	if t.How != "" {
		return c.children()
	}
	columns := keyColumns(c.t, t.Parts)
	how := "its parts " + names(t.Parts) + " add up to"
	if len(t.Parts) == 1 {
		how = "its part " + t.Parts[0] + " is"
	}
	return func(i int) made {
		m := made{how: how}
		var sum value.Sum
		for _, p := range columns {
			switch p.State[i] {
			case Invalid:
				return made{untold: true}
			case Missing:
				if m.missing == "" {
					m.missing = p.Name
				}
			default:
				sum.Add(p.Number[i])
				m.size += math.Abs(p.Number[i])
			}
		}
		m.sum = sum.Value()
		return m
	}, nil
}

// A tally is what the rows that link to one row make.
type tally struct {
	rows   int
	sum    value.Sum
	size   float64
	first  int // index of the first row in which what is summed is missing, or -1
	untold bool
}

// children gives the sums and counts of the rows that link to each row. A row
// whose own key is missing, or stands twice, cannot be told, nor one with a
// linked row in which the condition cannot be told or the value is invalid.
func (c *ruleCheck) children() (func(i int) made, error) {
	t := c.rule.Total
	child := c.d.Table(t.Table)
	scope := c.d.Package.Scope(child.Resource)
	reader, err := c.d.Reader(child, scope.Variables())
	if err != nil {
		return nil, err
	}
	to, err := c.d.Parents(child, c.t.Name)
	if err != nil {
		return nil, err
	}
	counted, err := newCounted(t, reader, scope)
	if err != nil {
		return nil, err
	}
	tallies := make([]tally, c.t.Len())
	for i := range tallies {
		tallies[i].first = -1
	}
	for j, i := range to {
		if j%checkEvery == 0 {
			if err := c.ctx.Err(); err != nil {
				return nil, err
			}
		}
		if i >= 0 {
			counted.add(&tallies[i], i, j)
		}
	}
	key := c.linkedKey(child)
	return func(i int) made {
		y := &tallies[i]
		text, ok := keyText(key.columns, i)
		if !ok || key.twice[text] || y.untold {
			return made{untold: true}
		}
		m := made{sum: y.sum.Value(), size: y.size, how: counted.how(y.rows, child.Name)}
		if y.first >= 0 {
			m.missing = fmt.Sprintf("%s in %s of %s", t.What.Value, rowName(child, y.first), child.Name)
		}
		return m
	}, nil
}

// linkedKey indexes the rows by the key with which a table links to them.
func (c *ruleCheck) linkedKey(child *Table) *keyIndex {
	for _, k := range child.Resource.Schema.ForeignKeys {
		if k.Resource == c.t.Name {
			return indexKeys(c.t, k.ReferenceFields)
		}
	}
	return &keyIndex{}
}
