package report

import (
	"heelcohort/cmd/heelcohort/internal/result"
)

// layoutRecurrence shows events that recur: the groups with their mean
// cumulative count at the plan's days, the table of numbers at risk, first
// against recurrent rates, the children by number of spells, the model and the
// states. The curve itself is drawn, not listed.
func layoutRecurrence(b *block) []Sheet {
	sheets := []Sheet{recurrenceSummary(b)}
	if rows := b.part("risk-table"); len(rows) > 0 {
		sheets = append(sheets, recurrenceAtRisk(b, rows))
	}
	if rows := b.part("rates"); len(rows) > 0 {
		sheets = append(sheets, recurrenceRates(b, rows))
	}
	if rows := b.part("spells"); len(rows) > 0 {
		sheets = append(sheets, shareSheet(b, rows, b.ID+"-spells", b.Title+": children by number of spells", "Spells"))
	}
	if rows := b.part("return"); len(rows) > 0 {
		s := shareSheet(b, rows, b.ID+"-return", b.Title+": recurrences by time since the spell before", "Recurrence")
		s.Notes = append(s.Notes, plainNote("Early: within 2 months of the end of the spell before; late: after that, within 12; delayed: later."))
		sheets = append(sheets, s)
	}
	sheets = append(sheets, spellModelSheets(b)...)
	return append(sheets, stateSheets(b)...)
}

// groupHeading is the heading of the column of groups.
func groupHeading(b *block, groups [][]result.Group) string {
	for _, g := range groups {
		if len(g) > 0 {
			return b.unitLabel(g[0].Variable)
		}
	}
	return "Group"
}

func recurrenceSummary(b *block) Sheet {
	s := newSheet(b.ID, b.Title)
	sizes := b.part("size")
	groups := groupings(sizes)
	s.Columns = []Column{
		{Label: groupHeading(b, groups), Text: true}, {Label: upperFirst(unitWord(b))}, {Label: "Spells"}, {Label: "Days observed"},
	}
	expected := len(b.part("expected")) > 0
	if expected {
		s.Columns = append(s.Columns, Column{Label: "Expected spells"})
	}
	times, level := timesOf(b.part("at")), levelOfRows(b.part("at")...)
	for _, at := range times {
		s.Columns = append(s.Columns, Column{Group: withLimits("Mean cumulative count", level), Label: "By day " + plain(float64(at))})
	}
	for _, g := range groups {
		size := b.find("size", g, "", "", "children")
		cells := []Cell{words(b.groupLabel(g)), s.countCell(size), number(size, size.Events, count), number(size, size.PersonTime, amount)}
		if expected {
			cells = append(cells, s.estimate(b.find("expected", g, "", "", "expected events"), oneDecimal, result.None()))
		}
		for _, at := range times {
			cells = append(cells, s.estimate(b.findAt("at", g, "", "", "mean cumulative count", at), ratio, level))
		}
		s.add(cells...)
	}
	return s.done(testNotes(b, "tests")...)
}

func recurrenceAtRisk(b *block, rows []*result.Row) Sheet {
	s := newSheet(b.ID+"-at-risk", b.Title+": numbers at risk")
	times := timesOf(rows)
	s.Columns = []Column{{Label: "Group", Text: true}}
	for _, at := range times {
		s.Columns = append(s.Columns, Column{Group: "Day", Label: plain(float64(at))})
	}
	for _, g := range groupings(rows) {
		s.Rows = append(s.Rows, section(b.groupLabel(g)))
		for _, line := range []struct {
			heading, measure string
			value            func(r *result.Row) result.Number
		}{
			{"At risk", "at risk", func(r *result.Row) result.Number { return r.Estimate }},
			{"Spells so far", "at risk", func(r *result.Row) result.Number { return r.Events }},
			{"Ended for good so far", "ended for good", func(r *result.Row) result.Number { return r.Estimate }},
		} {
			cells, any := []Cell{indented(line.heading)}, false
			for _, at := range times {
				r := b.findAt("risk-table", g, "", "", line.measure, at)
				if r == nil {
					cells = append(cells, words(dash))
					continue
				}
				any = true
				cells = append(cells, number(r, line.value(r), count))
			}
			if any {
				s.add(cells...)
			}
		}
	}
	return s.done(plainNote("At risk on the day, before its spells; spells and exits for good up to and including it."))
}

func recurrenceRates(b *block, rows []*result.Row) Sheet {
	s := newSheet(b.ID+"-rates", b.Title+": first and recurrent spells")
	level := levelOfRows(rows...)
	rate, per, unit := ratesWithUnit(rows)
	ratios := b.part("ratios")
	ratioLevel := levelOfRows(ratios...)
	s.Columns = []Column{
		{Label: "Group", Text: true},
		{Label: upperFirst(unitWord(b)) + " at risk"},
		{Label: "Spells"},
		{Label: "Person-time" + unit},
		{Label: withLimits("Rate"+per, level)},
		{Label: withLimits("Rate ratio", ratioLevel)},
		{Label: "P"},
	}
	for _, g := range groupings(rows) {
		s.Rows = append(s.Rows, section(b.groupLabel(g)))
		for _, term := range []string{"first", "recurrent"} {
			r := b.find("rates", g, "", term, "incidence rate")
			if r == nil {
				continue
			}
			cells := []Cell{
				indented(upperFirst(term) + " spells"), number(r, r.N, count), number(r, r.Events, count), number(r, r.PersonTime, amount),
				s.estimate(r, rate, level),
			}
			if term == "first" {
				cells = append(cells, words("1 (reference)"), words(dash))
			} else {
				compared := b.find("ratios", g, "", "recurrent vs first", "rate ratio")
				cells = append(cells, s.estimate(compared, ratio, ratioLevel), s.p(compared))
			}
			s.add(cells...)
		}
	}
	return s.done()
}

// ratesWithUnit is how the rates of a column are written, with their unit and
// that of person-time.
func ratesWithUnit(rows []*result.Row) (rate func(float64) string, per, unit string) {
	var shown []float64
	for _, r := range rows {
		if per == "" && r.Unit != "" {
			per, unit = " "+r.Unit, timeUnit(r.Unit)
		}
		shown = append(shown, float64(r.Estimate))
	}
	return rateFormat(shown), per, unit
}

// shareSheet shows counts with their share of each group, a term a column.
func shareSheet(b *block, rows []*result.Row, id, title, heading string) Sheet {
	s := newSheet(id, title)
	groups := groupings(rows)
	s.Columns = []Column{{Label: groupHeading(b, groups), Text: true}}
	terms := termsOf(rows)
	for _, term := range terms {
		s.Columns = append(s.Columns, Column{Group: heading + ", n (%)", Label: upperFirst(term)})
	}
	part := rows[0].Part
	for _, g := range groups {
		cells := []Cell{words(b.groupLabel(g))}
		for _, term := range terms {
			n, share := b.find(part, g, "", term, "count"), b.find(part, g, "", term, "percent")
			if n == nil || share == nil {
				cells = append(cells, words(dash))
				continue
			}
			cells = append(cells, s.share(n, n.Estimate, share, share.Estimate))
		}
		s.add(cells...)
	}
	return s.done()
}

// termsOf lists the distinct terms of rows in their order.
func termsOf(rows []*result.Row) []string {
	var terms []string
	for _, r := range rows {
		terms = append(terms, r.Term)
	}
	return unique(terms)
}
