package report

import (
	"slices"
	"strings"

	"heelcohort/cmd/heelcohort/internal/printed"
	"heelcohort/cmd/heelcohort/internal/result"
)

// layoutIncidence shows rates: all, the levels of each grouping, then every
// pair, with the ratios and differences of each compared variable beside them;
// what is pooled over strata, what is standardised, and the model.
func layoutIncidence(b *block) []Sheet {
	var sheets []Sheet
	if rates := b.part("rates"); len(rates) > 0 {
		sheets = append(sheets, incidenceRates(b, rates))
	}
	sheets = append(sheets, pooledSheets(b)...)
	sheets = append(sheets, standardisedSheets(b)...)
	sheets = append(sheets, modelSheets(b, "model", "regression model")...)
	sheets = append(sheets, shapeSheets(b)...)
	sheets = append(sheets, marginalSheets(b)...)
	if lines := b.part("account"); len(lines) > 0 {
		sheets = append(sheets, incidenceAccount(b, lines))
	}
	return sheets
}

// incidenceRates is the sheet of the rates.
func incidenceRates(b *block, rates []*result.Row) Sheet {
	s := newSheet(b.ID, b.Title)
	level := levelOfRows(rates...)
	per, unit := "", ""
	var shown []float64
	for _, r := range rates {
		if per == "" && r.Unit != "" {
			per, unit = " "+r.Unit, timeUnit(r.Unit)
		}
		shown = append(shown, float64(r.Estimate))
	}
	rate := rateFormat(shown)
	s.Columns = []Column{
		{Label: "Group", Text: true},
		{Label: upperFirst(unitWord(b)) + " at risk"},
		{Label: "Events"},
		{Label: "Person-time" + unit},
		{Label: withLimits("Rate"+per, level)},
	}
	ratios := ratioColumns(b, "ratios", ratio, "1 (reference)")
	for _, c := range ratios {
		heading := "Rate ratio by " + lowerFirst(b.label(c.variable))
		s.Columns = append(s.Columns, Column{Group: heading, Label: withLimits("Ratio", c.level)}, Column{Group: heading, Label: "P"})
	}
	differences := ratioColumns(b, "differences", rate, "0 (reference)")
	for _, c := range differences {
		heading := "Rate difference by " + lowerFirst(b.label(c.variable))
		s.Columns = append(s.Columns, Column{Group: heading, Label: withLimits("Difference"+per, c.level)}, Column{Group: heading, Label: "P"})
	}
	ratios = append(ratios, differences...)
	heading := ""
	for _, r := range rates {
		if title, one := rateSection(b, r); title != heading {
			heading = title
			if one {
				s.Rows = append(s.Rows, section(title))
			}
		}
		name := indented("All")
		if n := len(r.Groups); n > 0 {
			name = indented(b.LevelLabel(r.Groups[n-1].Variable, r.Groups[n-1].Level))
		} else {
			name.Indent = false
		}
		cells := []Cell{
			name, number(r, r.N, count), number(r, r.Events, count), number(r, r.PersonTime, amount), s.estimate(r, rate, level),
		}
		for _, c := range ratios {
			cells = append(cells, c.cells(s, r.Groups)...)
		}
		s.add(cells...)
	}
	return s.done(rateTestNotes(b)...)
}

// rateFormat writes the rates of a column with the decimals they need.
func rateFormat(shown []float64) func(float64) string {
	decimals := rateDecimals(shown)
	return func(x float64) string { return printed.Rate(x, decimals) }
}

// rateTestNotes are the tests between the levels of each variable.
func rateTestNotes(b *block) []Note {
	var notes []Note
	for _, r := range b.part("tests") {
		notes = append(notes, testNote(r, upperFirst(r.Measure)+" by "+lowerFirst(b.label(r.Variable))))
	}
	return notes
}

// rateSection is the heading that a rate stands under, and whether there is
// one: the variable for one group, "Current age 10 to 11, by sport" for two.
func rateSection(b *block, r *result.Row) (title string, ok bool) {
	n := len(r.Groups)
	if n == 0 {
		return "", false
	}
	last := b.unitLabel(r.Groups[n-1].Variable)
	if n == 1 {
		return "By " + lowerFirst(last), true
	}
	outer := make([]string, n-1)
	for i, g := range r.Groups[:n-1] {
		outer[i] = b.unitLabel(g.Variable) + ": " + b.LevelLabel(g.Variable, g.Level)
	}
	return strings.Join(outer, "; ") + "; by " + lowerFirst(last), true
}

// A ratioColumn holds the rate ratios, or the differences, of one compared
// variable.
type ratioColumn struct {
	block     *block
	part      string
	variable  string
	level     result.Number
	format    func(float64) string
	reference string // what stands at the reference level
}

// ratioColumns lists the compared variables of a part in the order of their
// rows.
func ratioColumns(b *block, part string, format func(float64) string, reference string) []ratioColumn {
	var columns []ratioColumn
	for _, r := range b.part(part) {
		i := slices.IndexFunc(columns, func(c ratioColumn) bool { return c.variable == r.Variable })
		if i < 0 {
			columns = append(columns, ratioColumn{b, part, r.Variable, result.None(), format, reference})
			i = len(columns) - 1
		}
		if !columns[i].level.Present() {
			columns[i].level = r.Level
		}
	}
	return columns
}

// cells are the ratio and its P for the rate of the given groups: the ratio
// compares the group's level of the column's variable while the other groups
// are held.
func (c ratioColumn) cells(s *sheetBuilder, groups []result.Group) []Cell {
	at := slices.IndexFunc(groups, func(g result.Group) bool { return g.Variable == c.variable })
	if at < 0 {
		return []Cell{words(dash), words(dash)}
	}
	held := slices.Delete(slices.Clone(groups), at, at+1)
	var rows []*result.Row
	for _, r := range c.block.part(c.part) {
		if r.Variable == c.variable && slices.Equal(r.Groups, held) {
			rows = append(rows, r)
		}
	}
	byLevel, reference := c.block.levelRows(rows, c.variable)
	level := groups[at].Level
	if r := byLevel[level]; r != nil {
		return []Cell{s.estimate(r, c.format, c.level), s.p(r)}
	}
	if reference == level && reference != "" {
		return []Cell{words(c.reference), words(dash)}
	}
	return []Cell{words(dash), words(dash)}
}

// timeUnit is the unit of person-time in a rate's unit: ", hours" for "per
// 1,000 hours".
func timeUnit(unit string) string {
	at := strings.LastIndexAny(unit, "0123456789")
	rest := strings.TrimSpace(unit[at+1:])
	rest = strings.TrimPrefix(rest, "per ")
	if rest == "" {
		return ""
	}
	return ", " + rest
}

// lowerFirst writes a label within a sentence. Words in capitals stay.
func lowerFirst(s string) string {
	runes := []rune(s)
	if len(runes) < 2 || strings.ToUpper(string(runes[1])) == string(runes[1]) {
		return s
	}
	return strings.ToLower(string(runes[0])) + string(runes[1:])
}

// upperFirst writes a word at the head of a column.
func upperFirst(s string) string {
	runes := []rune(s)
	if len(runes) == 0 {
		return s
	}
	return strings.ToUpper(string(runes[0])) + string(runes[1:])
}
