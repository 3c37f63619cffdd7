package dataset

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// An interval is that of a row, in a group of rows counted from 0.
type interval struct {
	group, row int
	from, to   float64 // to is infinite where the interval still runs
}

// noOverlap finds intervals that overlap an earlier one of their group, and
// intervals that end before they begin. Of a pair the row is found whose
// interval begins later, or stands later in the sheet where both begin
// together; a row that overlaps several is found once, with the one that lasts
// longest. Rows in which a part is missing or invalid are passed over, unless
// the end is missing by the code that says that the interval still runs.
func (c *ruleCheck) noOverlap() error {
	o := c.rule.NoOverlap
	from, to := c.t.Column(o.From), c.t.Column(o.To)
	within := keyColumns(c.t, o.Within)
	if from == nil || to == nil || within == nil {
		return nil
	}
	groups := map[string]int{}
	intervals := make([]interval, 0, len(c.rows))
	err := c.each(func(i int) {
		key, ok := "", true
		if len(within) > 0 {
			key, ok = keyText(within, i)
		}
		x := interval{row: i, to: math.Inf(1)}
		runs := to.State[i] == Missing && o.StillRunning != nil && to.Code(i) == *o.StillRunning
		if from.State[i] != Present || !runs && to.State[i] != Present {
			return
		}
		x.from = from.Number[i]
		if !runs {
			x.to = to.Number[i]
		}
		switch {
		case x.to < x.from:
			c.reversed(i, from, to)
		case !ok || !o.Closed && x.from == x.to:
			// Of no group, or without a day that another could share.
		default:
			if x.group, ok = groups[key]; !ok {
				x.group = len(groups)
				groups[key] = x.group
			}
			intervals = append(intervals, x)
		}
	})
	if err != nil {
		return err
	}
	slices.SortFunc(intervals, func(a, b interval) int {
		return cmp.Or(cmp.Compare(a.group, b.group), cmp.Compare(a.from, b.from), cmp.Compare(a.row, b.row))
	})
	longest := 0 // of those before, the interval that ends last
	for k := 1; k < len(intervals); k++ {
		x, before := intervals[k], intervals[longest]
		if x.group == before.group && (x.from < before.to || o.Closed && x.from == before.to) {
			c.overlapping(x.row, before.row, from, to)
		}
		if x.group != before.group || x.to > before.to {
			longest = k
		}
	}
	return nil
}

// reversed reports an interval that ends before it begins.
func (c *ruleCheck) reversed(i int, from, to *Column) {
	b := breach{
		row: i, column: to.Name, fields: []string{from.Name, to.Name},
		found:    fmt.Sprintf("%s=%v, %s=%v", from.Name, from.Value(i), to.Name, to.Value(i)),
		expected: fmt.Sprintf("%s not before %s", to.Name, from.Name),
	}
	c.report(b)
	// The rule's own message is about intervals that overlap.
	c.found[len(c.found)-1].Message = fmt.Sprintf("The interval ends (%s %v) before it begins (%s %v).", to.Name, to.Value(i), from.Name, from.Value(i))
}

// overlapping reports that the interval of row i overlaps that of row j.
func (c *ruleCheck) overlapping(i, j int, from, to *Column) {
	o := c.rule.NoOverlap
	place := rowName(c.t, j)
	alike, expected := "", "no interval that overlaps another"
	if len(o.Within) > 0 {
		alike = ", which has the same " + names(o.Within)
		expected += " with the same " + names(o.Within)
	}
	c.report(breach{
		row: i, column: from.Name, fields: []string{from.Name, to.Name}, others: []int{j},
		found:    fmt.Sprintf("%s, and %s in %s", c.span(i, from, to), c.span(j, from, to), place),
		expected: expected,
		message:  fmt.Sprintf("The interval %s overlaps the interval %s of %s%s.", c.span(i, from, to), c.span(j, from, to), place, alike),
	})
}

// span writes an interval for people.
func (c *ruleCheck) span(i int, from, to *Column) string {
	if to.State[i] != Present {
		return fmt.Sprintf("from %v on", from.Value(i))
	}
	return fmt.Sprintf("%v to %v", from.Value(i), to.Value(i))
}
