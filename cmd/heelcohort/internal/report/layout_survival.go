package report

import (
	"slices"
	"strings"

	"heelcohort/cmd/heelcohort/internal/printed"
	"heelcohort/cmd/heelcohort/internal/result"
)

// layoutSurvival shows times to an event: the groups with their counts, median
// and share without the event at the plan's times, the table of numbers at
// risk, and the model. The curve itself is drawn, not listed.
func layoutSurvival(b *block) []Sheet {
	sheets := []Sheet{survivalSummary(b)}
	if rows := b.part("risk-table"); len(rows) > 0 {
		sheets = append(sheets, riskTable(b, rows))
	}
	sheets = append(append(sheets, pairSheets(b)...), hazardSheets(b)...)
	sheets = append(sheets, definitionSheets(b)...)
	sheets = append(sheets, restrictedSheets(b)...)
	sheets = append(sheets, incidenceSheets(b)...)
	sheets = append(sheets, betweenSheets(b)...)
	sheets = append(sheets, modelSheets(b, "model", "regression model")...)
	for _, r := range b.part("proportionality") {
		name := "Test of proportional hazards"
		if r.Variable != "" {
			name += ", " + b.label(r.Variable)
		}
		sheets[len(sheets)-1].Notes = append(sheets[len(sheets)-1].Notes, testNote(r, name))
	}
	sheets = append(append(sheets, shapeSheets(b)...), adjustedSheets(b)...)
	sheets = append(sheets, checkSheets(b)...)
	sheets = append(sheets, modelSheets(b, "frailty model", "regression model with shared frailty")...)
	sheets = append(sheets, parametricSheets(b)...)
	return append(sheets, causeSheets(b)...)
}

// causePart reports whether a part holds the model of a competing end or of a
// cumulative incidence, or the splines of one.
func causePart(part string) bool {
	return strings.HasPrefix(part, "model of ") || strings.HasPrefix(part, "shapes of ") || strings.HasPrefix(part, "incidence model")
}

// causeSheets shows the models of competing ends and of cumulative incidences.
func causeSheets(b *block) []Sheet {
	var sheets []Sheet
	var seen []string
	for _, r := range b.rows {
		if slices.Contains(seen, r.Part) {
			continue
		}
		seen = append(seen, r.Part)
		end, of := strings.CutPrefix(r.Part, "model of ")
		if of {
			sheets = append(sheets, modelSheets(b, r.Part, "regression model of "+end)...)
		} else if end, of := strings.CutPrefix(r.Part, "incidence model"); of {
			sheets = append(sheets, modelSheets(b, r.Part, "model of the cumulative incidence"+end)...)
		}
	}
	return sheets
}

// incidenceSheets shows the cumulative incidence of each end by group at the
// times of the plan, with Gray's tests below.
func incidenceSheets(b *block) []Sheet {
	rows := b.part("incidence at")
	tests := pick(b.part("tests"), "Gray's test")
	if len(rows) == 0 && len(tests) == 0 {
		return nil
	}
	s := newSheet(b.ID+"-incidence", b.Title+": cumulative incidence with competing ends")
	level, unit := levelOfRows(rows...), b.Setting("unit of time")
	s.Columns = []Column{{Label: "End", Text: true}}
	var times []result.Number
	for _, r := range rows {
		if !slices.Contains(times, r.At) {
			times = append(times, r.At)
			s.Columns = append(s.Columns, Column{Group: withLimits("Cumulative incidence, %", level), Label: "At " + plain(float64(r.At)) + " " + unit})
		}
	}
	for _, term := range termsOf(rows) {
		s.Rows = append(s.Rows, section(upperFirst(term)))
		var own []*result.Row
		for _, r := range rows {
			if r.Term == term {
				own = append(own, r)
			}
		}
		for _, g := range groupings(own) {
			cells := []Cell{indented(b.groupLabel(g))}
			for _, at := range times {
				i := slices.IndexFunc(own, func(r *result.Row) bool { return r.At == at && slices.Equal(r.Groups, g) })
				if i < 0 {
					cells = append(cells, words(dash))
					continue
				}
				cells = append(cells, s.estimate(own[i], asPercent(100), level))
			}
			s.add(cells...)
		}
	}
	var notes []Note
	for _, r := range tests {
		notes = append(notes, testNote(r, "Gray's test, "+r.Term))
	}
	return []Sheet{s.done(notes...)}
}

// survivalSummary is the sheet of the groups.
func survivalSummary(b *block) Sheet {
	s := newSheet(b.ID, b.Title)
	sizes, quantiles := b.part("size"), b.part("quantile")
	groups := groupings(append(slices.Clone(sizes), quantiles...))
	by, unit := "", ""
	for _, g := range groups {
		if len(g) > 0 {
			by = g[0].Variable
		}
	}
	for _, r := range quantiles {
		if r.Unit != "" {
			unit = r.Unit
			break
		}
	}
	heading := "Group"
	if by != "" {
		heading = b.unitLabel(by)
	}
	medianLevel := levelOfRows(quantiles...)
	s.Columns = []Column{
		{Label: heading, Text: true},
		{Label: upperFirst(unitWord(b))},
		{Label: "Events"},
		{Label: "Censored"},
		{Label: withLimits("Median"+comma(unit), medianLevel)},
	}
	expected := b.part("expected")
	if len(expected) > 0 {
		s.Columns = slices.Insert(s.Columns, 3, Column{Label: "Expected events"})
	}
	shares := termsOf(pick(quantiles, shareTime))
	for _, p := range shares {
		s.Columns = append(s.Columns, Column{Group: withLimits("Time by which a share has had the event"+comma(unit), medianLevel), Label: asPercentText(p) + "%"})
	}
	times := timesOf(b.part("at"))
	atLevel := levelOfRows(b.part("at")...)
	for _, at := range times {
		label := "At " + plain(float64(at)) + space(unit)
		s.Columns = append(s.Columns, Column{Group: withLimits("Without the event, %", atLevel), Label: label})
	}
	ratios := ratioRows(b.part("model"))
	var column comparison
	if by != "" {
		for _, m := range distinctMeasures(ratios) {
			column = newComparison(b, by, m, "", pick(ratios, m))
			break
		}
	}
	if len(column.byLevel) > 0 {
		s.Columns = append(s.Columns, Column{Label: withLimits(upperFirst(column.measure), column.level)}, Column{Label: "P"})
	}
	smallest := infinite // group: the percentages of a table have the same decimals
	for _, r := range sizes {
		if r.Estimate.Present() {
			smallest = min(smallest, float64(r.Estimate))
		}
	}
	for _, g := range groups {
		size := b.find("size", g, "", "", "rows")
		cells := []Cell{words(b.groupLabel(g)), s.countCell(size)}
		if size == nil {
			cells = append(cells, words(dash), words(dash))
		} else {
			cells = append(cells, number(size, size.Events, count), number(size, size.Censored, count))
		}
		if len(expected) > 0 {
			cells = slices.Insert(cells, 3, s.estimate(b.find("expected", g, "", "", "expected events"), oneDecimal, result.None()))
		}
		cells = append(cells, s.median(b.find("quantile", g, "", "", "median time"), medianLevel))
		for _, p := range shares {
			cells = append(cells, s.median(b.find("quantile", g, "", p, shareTime), medianLevel))
		}
		for _, at := range times {
			cells = append(cells, s.estimate(b.findAt("at", g, "", "", "survival", at), asPercent(smallest), atLevel))
		}
		if len(column.byLevel) > 0 {
			if len(g) == 1 {
				cells = append(cells, column.cells(s, g[0].Level)...)
			} else {
				cells = append(cells, words(dash), words(dash))
			}
		}
		s.add(cells...)
	}
	var notes []Note
	for _, r := range b.part("tests") {
		if r.Measure != "Gray's test" {
			notes = append(notes, testNote(r, printed.TestName(r.Measure)))
		}
	}
	return s.done(notes...)
}

// median is the cell of a median time. A curve that never comes down to one
// half has none, and a limit that it does not reach is not infinite: both are
// "not reached".
func (b *sheetBuilder) median(r *result.Row, level result.Number) Cell {
	if r == nil {
		return words(dash)
	}
	word := notReached
	if absentWord(r) == suppressed {
		word = suppressed
	}
	known := func(n result.Number) bool { return n.Present() && float64(n) != infinite }
	time := func(n result.Number) string {
		if known(n) {
			return plainTime(float64(n))
		}
		return word
	}
	text := time(r.Estimate)
	if known(r.Lower) || known(r.Upper) {
		text += " (" + time(r.Lower) + " to " + time(r.Upper) + ")"
	}
	c := b.estimate(r, plainTime, level) // for its footnotes
	c.Pieces = []Piece{{Text: text, Row: r.ID}}
	return c
}

// plainTime is a time with at most one decimal.
func plainTime(x float64) string {
	return printed.Fixed(x, neededDecimals([]float64{x}, 1))
}

// oneDecimal is x with one decimal.
func oneDecimal(x float64) string { return printed.Fixed(x, 1) }

// timesOf lists the distinct times of rows in their order.
func timesOf(rows []*result.Row) []result.Number {
	var times []result.Number
	for _, r := range rows {
		if r.At.Present() && !slices.Contains(times, r.At) {
			times = append(times, r.At)
		}
	}
	return times
}

// riskTable is the table below a survival figure: for each group the number at
// risk just before each tick and the events and censorings up to it.
func riskTable(b *block, rows []*result.Row) Sheet {
	s := newSheet(b.ID+"-at-risk", b.Title+": numbers at risk")
	times := timesOf(rows)
	unit := ""
	for _, r := range b.part("quantile") {
		if r.Unit != "" {
			unit = r.Unit
			break
		}
	}
	s.Columns = []Column{{Label: "Group", Text: true}}
	for _, at := range times {
		s.Columns = append(s.Columns, Column{Group: "Time" + comma(unit), Label: plain(float64(at))})
	}
	for _, g := range groupings(rows) {
		s.Rows = append(s.Rows, section(b.groupLabel(g)))
		for _, line := range []struct {
			heading string
			value   func(r *result.Row) result.Number
		}{
			{"At risk", func(r *result.Row) result.Number {
				if r.Estimate.Present() {
					return r.Estimate
				}
				return r.N
			}},
			{"Events so far", func(r *result.Row) result.Number { return r.Events }},
			{"Censored so far", func(r *result.Row) result.Number { return r.Censored }},
		} {
			cells := []Cell{indented(line.heading)}
			for _, at := range times {
				r := b.findAt("risk-table", g, "", "", "at risk", at)
				if r == nil {
					cells = append(cells, words(dash))
					continue
				}
				cells = append(cells, number(r, line.value(r), count))
			}
			s.add(cells...)
		}
	}
	return s.done(plainNote("At risk just before the time; events and censored up to and including it."))
}

// comma is ", unit" or "".
func comma(unit string) string {
	if unit == "" {
		return ""
	}
	return ", " + unit
}

// space is " unit" or "".
func space(unit string) string {
	if unit == "" {
		return ""
	}
	return " " + unit
}
