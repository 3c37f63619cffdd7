package report

import (
	"slices"
	"strings"

	"heelcohort/cmd/heelcohort/internal/printed"
	"heelcohort/cmd/heelcohort/internal/result"
)

// layoutAssociation shows the outcome by the levels of the exposure with crude
// and adjusted measures, the tests below it, and the whole model.
func layoutAssociation(b *block) []Sheet {
	s := newSheet(b.ID, b.Title)
	exposure := b.exposure()
	outcome := "Outcome"
	if name := b.Setting("outcome"); name != "" {
		outcome = b.label(name)
	}
	counts, crude, adjusted := b.part("counts"), b.part("crude"), ratioRows(b.part("adjusted"))
	models := append(modelSheets(b, "model", "regression model"), modelSheets(b, "adjusted", "adjusted model")...)
	models = append(models, modelSheets(b, "imputed", "after multiple imputation")...)
	models = append(models, checkSheets(b)...)
	models = append(models, shapeSheets(b)...)
	models = append(models, marginalSheets(b)...)
	models = append(models, robustSheets(b, exposure)...)
	if len(counts) == 0 && len(crude) == 0 { // exposure or outcome is no yes or no
		return append(gradedSheets(b, exposure), models...)
	}
	s.Columns = []Column{
		{Label: b.unitLabel(exposure), Text: true},
		{Label: upperFirst(unitWord(b))},
		{Label: outcome + ", n (%)"},
	}
	var columns []comparison
	for _, m := range distinctMeasures(crude) {
		columns = append(columns, newComparison(b, exposure, m, "Crude", pick(crude, m)))
	}
	for _, m := range distinctMeasures(adjusted) {
		if c := newComparison(b, exposure, m, "Adjusted", pick(adjusted, m)); len(c.byLevel) > 0 {
			columns = append(columns, c)
		}
	}
	for _, c := range columns {
		label := withLimits(upperFirst(c.measure), c.level)
		if c.points() {
			label = withLimits(upperFirst(c.measure)+", percentage points", c.level)
		}
		s.Columns = append(s.Columns, Column{Group: c.heading, Label: label}, Column{Group: c.heading, Label: "P"})
	}
	for _, level := range exposureLevels(b, exposure, counts, columns) {
		row := pickLevel(b, counts, exposure, level)
		cells := []Cell{words(b.LevelLabel(exposure, level))}
		if row == nil {
			cells = append(cells, words(dash), words(dash))
		} else {
			share := row.Estimate
			if share.Present() {
				share = 100 * share
			}
			cells = append(cells, number(row, row.N, count), s.share(row, row.Events, row, share))
		}
		for _, c := range columns {
			cells = append(cells, c.cells(s, level)...)
		}
		s.add(cells...)
	}
	sheet := s.done(testNotes(b, "tests")...)
	sheets := append([]Sheet{sheet}, strataSheets(b, exposure)...)
	return append(sheets, models...)
}

// strataSheets shows the crude and the pooled measures side by side, a row a
// level compared with the reference, with the tests of each below.
func strataSheets(b *block, exposure string) []Sheet {
	rows := b.part("pooled")
	if len(rows) == 0 {
		return nil
	}
	s := newSheet(b.ID+"-pooled", b.Title+": pooled over strata (Mantel-Haenszel)")
	s.Columns = []Column{{Label: b.unitLabel(exposure), Text: true}, {Label: "n"}, {Label: "Events"}}
	var terms []string
	var measures []string
	for _, r := range rows {
		if !slices.Contains(terms, r.Term) {
			terms = append(terms, r.Term)
		}
		pooled := strings.HasPrefix(r.Measure, "pooled ") || strings.HasPrefix(r.Measure, "exact common ")
		if pooled && !slices.Contains(measures, r.Measure) {
			measures = append(measures, r.Measure)
		}
	}
	for _, m := range measures {
		all := pick(rows, m)
		label := withLimits(upperFirst(strings.TrimPrefix(m, "pooled ")), levelOfRows(all...))
		if strings.HasSuffix(m, "difference") {
			label = withLimits(upperFirst(strings.TrimPrefix(m, "pooled "))+", percentage points", levelOfRows(all...))
		}
		s.Columns = append(s.Columns, Column{Label: label}, Column{Label: "P"})
	}
	var notes []Note
	for _, term := range terms {
		cells := []Cell{words(b.comparedLabel(exposure, term))}
		for i, m := range measures {
			r := b.find("pooled", nil, exposure, term, m)
			if i == 0 {
				cells = append(cells, number(r, r.N, count), number(r, r.Events, count))
			}
			format := ratio
			if strings.HasSuffix(m, "difference") {
				format = asPoints
			}
			cells = append(cells, s.estimate(r, format, levelOfRows(r)), s.p(r))
		}
		s.add(cells...)
		for _, r := range rows {
			if r.Term == term && !slices.Contains(measures, r.Measure) {
				notes = append(notes, testNote(r, printed.TestName(r.Measure)+", "+b.comparedLabel(exposure, term)))
			}
		}
	}
	return []Sheet{s.done(notes...)}
}

// comparedLabel writes "pronated vs normal" with the levels' labels.
func (b *block) comparedLabel(variable, term string) string {
	one, zero, ok := strings.Cut(term, " vs ")
	if !ok {
		return term
	}
	return b.LevelLabel(variable, one) + " vs " + b.LevelLabel(variable, zero)
}

// exposure is the name of the exposure: by the settings, or by the rows.
func (b *block) exposure() string {
	if name := b.Setting("exposure"); name != "" {
		return name
	}
	for _, r := range b.rows {
		if r.Part == "counts" || r.Part == "crude" {
			if r.Variable != "" {
				return r.Variable
			}
			for _, v := range b.Variables {
				if _, _, ok := b.LevelOf(&r, v.Name); ok {
					return v.Name
				}
			}
		}
	}
	return "exposure"
}

// A comparison is a column of one measure against the reference level.
type comparison struct {
	heading, measure, reference string
	level                       result.Number
	byLevel                     map[string]*result.Row
}

// newComparison makes the column from the rows of its measure.
func newComparison(b *block, variable, measure, heading string, rows []*result.Row) comparison {
	c := comparison{heading: heading, measure: measure, level: levelOfRows(rows...)}
	c.byLevel, c.reference = b.levelRows(rows, variable)
	return c
}

// points reports whether the measure is a difference of risks that the rows
// hold as a share.
func (c comparison) points() bool {
	if c.measure != "risk difference" && c.measure != "prevalence difference" {
		return false
	}
	for _, r := range c.byLevel {
		if strings.Contains(r.Unit, "percent") {
			return false
		}
	}
	return true
}

// cells are the estimate of a level and its P.
func (c comparison) cells(s *sheetBuilder, level string) []Cell {
	format, none := ratio, "1 (reference)"
	if strings.Contains(c.measure, "difference") {
		format, none = ratio, "0 (reference)"
	}
	if c.points() {
		format = asPoints
	}
	if r := c.byLevel[level]; r != nil {
		return []Cell{s.estimate(r, format, c.level), s.p(r)}
	}
	if c.reference == level && level != "" {
		return []Cell{words(none), words(dash)}
	}
	return []Cell{words(dash), words(dash)}
}

// exposureLevels lists the levels in the order of the counts, then those that
// only a comparison names.
func exposureLevels(b *block, exposure string, counts []*result.Row, columns []comparison) []string {
	var levels []string
	for _, r := range counts {
		if level, _, ok := b.LevelOf(r, exposure); ok && !slices.Contains(levels, level) {
			levels = append(levels, level)
		} else if !ok && r.Term != "" && !slices.Contains(levels, r.Term) {
			levels = append(levels, r.Term)
		}
	}
	for _, l := range b.Described(exposure).Levels {
		for _, c := range columns {
			if c.byLevel[l.Value] != nil && !slices.Contains(levels, l.Value) {
				levels = append(levels, l.Value)
			}
		}
	}
	return levels
}

// pickLevel is the row of the given level.
func pickLevel(b *block, rows []*result.Row, variable, level string) *result.Row {
	for _, r := range rows {
		if got, _, ok := b.LevelOf(r, variable); ok && got == level || r.Term == level {
			return r
		}
	}
	return nil
}

// pick lists the rows of a measure.
func pick(rows []*result.Row, measure string) []*result.Row {
	var out []*result.Row
	for _, r := range rows {
		if r.Measure == measure {
			out = append(out, r)
		}
	}
	return out
}

// distinctMeasures lists the measures in the order of their rows.
func distinctMeasures(rows []*result.Row) []string {
	var names []string
	for _, r := range rows {
		if !slices.Contains(names, r.Measure) {
			names = append(names, r.Measure)
		}
	}
	return names
}

// testNotes are the tests of a part, one note each: "Chi-square test:
// statistic 5.43, 2 df, P 0.07 (n = 1,190)".
func testNotes(b *block, part string) []Note {
	var notes []Note
	for _, r := range b.part(part) {
		notes = append(notes, testNote(r, printed.TestName(r.Measure)))
	}
	return notes
}

// testNote is one test under a name.
func testNote(r *result.Row, name string) Note {
	n := Note{Pieces: []Piece{{Text: name + ": "}}}
	if r.Reason != "" && !r.P.Present() {
		n.Pieces = append(n.Pieces, Piece{Text: absentWord(r), Row: r.ID}, Piece{Text: ": " + lowerFirst(sentence(r.Reason))})
		return n
	}
	var said []Piece
	if r.Statistic.Present() {
		said = append(said, Piece{"statistic " + ratio(float64(r.Statistic)), r.ID})
	}
	if r.DF.Present() {
		said = append(said, Piece{plain(float64(r.DF)) + " df", r.ID})
	}
	said = append(said, Piece{"P " + printed.Relation(float64(r.P)), r.ID})
	if r.N.Present() {
		said = append(said, Piece{"n = " + count(float64(r.N)), r.ID})
	}
	for i, p := range said {
		if i > 0 {
			n.Pieces = append(n.Pieces, Piece{Text: ", "})
		}
		n.Pieces = append(n.Pieces, p)
	}
	end := "."
	for _, w := range r.Warnings {
		end += " " + sentence(w)
	}
	n.Pieces = append(n.Pieces, Piece{Text: end})
	return n
}
