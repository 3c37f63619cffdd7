package run

import (
	"context"
	"fmt"
	"math"
	"strconv"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/codebook/value"
	"heelcohort/stats"
)

func (s *recurrence) run(ctx context.Context, c *cohort.Cohort, b *builder) error {
	b.Unit = s.m.participants
	s.settings(b)
	followed, err := s.follow(ctx, c, b)
	if err != nil {
		return err
	}
	if n := c.Aside(s.m.events); n > 0 {
		b.warn(fmt.Sprintf("%d rows of %s were set aside for faulty keys; the events among them are not counted.", n, s.m.events))
	}
	if n := c.Aside(s.m.atRisk); n > 0 && s.m.atRisk != s.m.events {
		b.warn(fmt.Sprintf("%d rows of %s were set aside for faulty keys; their person-time is not counted.", n, s.m.atRisk))
	}
	ticks := s.plan.Ticks
	if ticks == nil {
		var last []float64
		for _, one := range followed {
			last = append(last, one.exit)
		}
		ticks = roundTimes(last)
	}
	b.set("ticks", times(ticks), s.plan.Ticks != nil)
	groups, levels := [][]result.Group{nil}, []int{-1}
	if s.by != nil {
		for l, level := range s.by.Levels() {
			groups, levels = append(groups, []result.Group{group(s.by.Name, level)}), append(levels, l)
		}
	}
	for i, g := range groups {
		var rows []*followedChild
		for _, one := range followed {
			if levels[i] < 0 || one.group == levels[i] {
				rows = append(rows, one)
			}
		}
		s.count(b, g, rows, ticks)
		s.spells(b, g, rows)
		s.rates(b, g, rows)
		s.returns(b, g, rows)
	}
	if s.by != nil {
		s.compare(b, followed, groups[1:])
	}
	s.regress(c, b, followed)
	s.occupy(c, b, followed, groups)
	return nil
}

func (s *recurrence) settings(b *builder) {
	a := s.plan
	written := func(key, text string, from *string) {
		if from != nil {
			text = *from
		}
		b.set(key, text, from != nil)
	}
	text := func(e *string) *string { return e }
	var when, end, over, start, ends *string
	if a.Events.When != nil {
		when = text(&a.Events.When.Value)
	}
	if e := a.Events.End; e != nil {
		end = &e.Day.Value
		if e.When != nil {
			over = &e.When.Value
		}
	}
	if a.Start != nil {
		start = &a.Start.Value
	}
	if a.Ends != nil {
		ends = &a.Ends.When.Value
	}
	written("events", "every row", when)
	b.set("event day", a.Events.Day.Value, true)
	written("end of a spell", "the day of its last onset", end)
	if a.Events.End != nil {
		written("a spell is over on that day", "always", over)
	}
	b.set("gap", number64(s.gap)+" days", true)
	if a.AtRisk == nil {
		entry := "0"
		if a.Entry != nil {
			entry = a.Entry.Value
		}
		b.set("entry", entry, a.Entry != nil)
		b.set("exit", a.Exit.Value, true)
	} else {
		b.set("observation", "the intervals of "+s.m.atRisk, true)
	}
	written("start", "0", start)
	written("exits for good", "none: all exits are censored", ends)
	during := "counted"
	if s.leftOut {
		during = "left-out"
	}
	b.set("days of a spell and the gap after it in the count", during, a.During != "")
	what := "days of the intervals"
	if s.amount {
		what = a.AtRisk.Amount.Value
	}
	b.set("person-time", what, s.amount)
	b.set("per", number64(s.per), a.Per != nil)
	b.set("limits of the count", "log scale, robust to dependence within children", false)

	b.Methods = fmt.Sprintf("Onsets of a child within %s days of the end of a spell belong to that spell.", number64(s.gap))
	if a.Events.End == nil {
		b.Methods = fmt.Sprintf("Onsets of a child within %s days of the last onset belong to the same spell.", number64(s.gap))
	}
	if s.leftOut {
		b.Methods += " The mean cumulative count adds up the rates of new spells among children free of symptoms"
	} else {
		b.Methods += " The mean cumulative count is the mean number of spells a child has had since observation began"
	}
	if s.ends != nil {
		b.Methods += "; children who ended for good have no spells afterwards"
		b.cite("Ghosh 2000")
	}
	b.Methods += ". Its limits are robust to dependence within children."
	b.cite("Nelson 1988", "Lawless 1995")
	b.Methods += " A rate of first spells has the time before a child's first spell, a rate of recurrences the time after it, both without the days of a spell and of the gap after it."
	b.cite("Garwood 1936")
	if s.ends == nil {
		b.warn("Every end of observation is censored. Where such an end makes further spells impossible (giving up the sport), the count is that of children who had gone on.")
	}
}

// number64 is a number as a plan writes it.
func number64(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// count adds the mean cumulative count of a group.
func (s *recurrence) count(b *builder, g []result.Group, rows []*followedChild, ticks []float64) {
	var t stats.Times
	var child []int
	var terminal []bool
	var days stats.Sum
	spells := 0
	for i, one := range rows {
		for _, r := range one.rows {
			t.Entry, t.Exit, t.Status = append(t.Entry, r.entry), append(t.Exit, r.exit), append(t.Status, r.event)
			child, terminal = append(child, i), append(terminal, r.ended)
		}
		days.Add(one.days)
		spells += len(one.counted())
	}
	size := b.row("size", "children", g...)
	size.Events, size.PersonTime = result.Number(spells), result.Number(days.Total())
	b.add(number(size, float64(len(rows)), ""))
	curve, err := stats.MeanCumulativeCount(t, child, stats.CountOptions{Level: b.level, Terminal: terminal})
	const measure = "mean cumulative count"
	if err == nil {
		for i, at := range curve.Time {
			r := b.row("curve", measure, g...)
			r.At, r.N, r.Events = result.Number(at), result.Number(curve.AtRisk[i]), result.Number(curve.Events[i])
			b.add(b.countRow(r, curve, curve.Count[i], curve.SE[i], curve.Lower[i], curve.Upper[i], true))
		}
		for _, w := range curve.Warnings {
			b.warn(b.groupName(g) + w.Text)
		}
	}
	for _, at := range s.plan.At {
		r := b.row("at", measure, g...)
		r.At = result.Number(at)
		n, events, _ := standing(t, terminal, at)
		r.N, r.Events = result.Number(n), result.Number(events)
		if err != nil {
			r.Reason = err.Error()
			b.add(r)
			continue
		}
		count, lower, upper, known := curve.At(at)
		b.add(b.countRow(r, curve, count, nan, lower, upper, known))
	}
	for _, at := range ticks {
		n, events, ended := standing(t, terminal, at)
		r := b.row("risk-table", "at risk", g...)
		r.At, r.N, r.Events = result.Number(at), result.Number(n), result.Number(events)
		b.add(number(r, float64(n), ""))
		if s.ends != nil {
			r := b.row("risk-table", "ended for good", g...)
			r.At = result.Number(at)
			b.add(number(r, float64(ended), ""))
		}
	}
}

// countRow fills a row with a count, or with why there is none.
func (b *builder) countRow(r result.Row, c stats.CountCurve, count, se, lower, upper float64, known bool) result.Row {
	e := stats.Estimate{Value: count, Lower: lower, Upper: upper, SE: se, Level: c.Level, P: nan, Method: c.Method}
	r = b.estimate(r, e, nil)
	switch {
	case !known:
		r.Reason = "nobody was under observation any more: the count ends before"
	case math.IsNaN(lower):
		r.Reason = "the limits are undefined where the count is 0"
	}
	return r
}

// standing is the number at risk just before a time, as the curve has it, and
// the spells and the exits for good up to and including it.
func standing(t stats.Times, terminal []bool, at float64) (atRisk, events, ended int) {
	for i, exit := range t.Exit {
		if t.Entry[i] < at && at <= exit {
			atRisk++
		}
		if exit <= at && t.Status[i] {
			events++
		}
		if exit <= at && terminal[i] {
			ended++
		}
	}
	return atRisk, events, ended
}

// compare adds the test between the groups.
func (s *recurrence) compare(b *builder, children []*followedChild, names [][]result.Group) {
	b.Methods += " Groups are compared by a score test of equal rates with robust variance."
	b.cite("Lin 2000")
	var t stats.Times
	var child, group []int
	for i, one := range children {
		for _, r := range one.rows {
			t.Entry, t.Exit, t.Status = append(t.Entry, r.entry), append(t.Exit, r.exit), append(t.Status, r.event)
			child, group = append(child, i), append(group, one.group)
		}
	}
	test, err := stats.CompareMeanCounts(t, child, group, len(names))
	b.test("tests", "score test", test.Test, len(children), err)
	if err != nil {
		return
	}
	for g := range names {
		r := b.row("expected", "expected events", names[g]...)
		r.Events, r.N = result.Number(test.Observed[g]), result.Number(test.Children[g])
		b.add(number(r, test.Expected[g], ""))
	}
}

// values are the values of a formula, nil without one.
func values(c *cohort.Cohort, f *cohort.Formula) ([]value.Value, error) {
	if f == nil {
		return nil, nil
	}
	return c.Values(f)
}
