package report

import (
	"slices"
	"strings"

	"heelcohort/cmd/heelcohort/internal/printed"
	"heelcohort/cmd/heelcohort/internal/result"
)

// ratioRows lists the rows with a ratio for a coefficient.
func ratioRows(rows []*result.Row) []*result.Row {
	var out []*result.Row
	for _, r := range rows {
		if strings.HasSuffix(r.Measure, " ratio") && (r.Term != "" || r.Variable != "") {
			out = append(out, r)
		}
	}
	return out
}

// modelSheets shows the coefficients of a model, as ratios where the rows hold
// ratios, with what the rows say of the fit below. Without a model there is no
// sheet.
func modelSheets(b *block, part, title string) []Sheet {
	rows := b.part(part)
	if len(rows) == 0 {
		return nil
	}
	shown := ratioRows(rows)
	if len(shown) == 0 {
		shown = pick(rows, "coefficient")
	}
	s := newSheet(b.ID+"-"+strings.ReplaceAll(part, " ", "-"), b.Title+": "+title)
	measure := "Estimate"
	if names := distinctMeasures(shown); len(names) > 0 {
		measure = upperFirst(names[0])
	}
	level := levelOfRows(shown...)
	s.Columns = []Column{{Label: "Term", Text: true}, {Label: withLimits(measure, level)}, {Label: "P"}}
	var done []string
	for _, r := range shown {
		name := b.termVariable(r)
		switch {
		case name == "" || len(b.Described(name).Levels) == 0:
			s.add(words(b.coefficientLabel(r, name)), s.estimate(r, ratio, level), s.p(r))
		case !slices.Contains(done, name):
			done = append(done, name)
			s.modelLevels(b, name, shown, level)
		}
	}
	notes := fitNotes(rows)
	if len(shown) == 0 && len(notes) == 0 {
		return nil
	}
	return []Sheet{s.done(notes...)}
}

// modelLevels adds the levels of a category, the reference among them.
func (b *sheetBuilder) modelLevels(data *block, name string, rows []*result.Row, level result.Number) {
	b.Rows = append(b.Rows, section(data.unitLabel(name)))
	byLevel, reference := data.levelRows(rows, name)
	for _, l := range data.Described(name).Levels {
		heading := indented(data.LevelLabel(name, l.Value))
		if r := byLevel[l.Value]; r != nil {
			b.add(heading, b.estimate(r, ratio, level), b.p(r))
		} else if l.Value == reference && reference != "" {
			none := "1 (reference)"
			if rows[0].Measure == "coefficient" {
				none = "0 (reference)"
			}
			b.add(heading, words(none), words(dash))
		}
	}
}

// termVariable is the variable that a coefficient belongs to, or "".
func (b *block) termVariable(r *result.Row) string {
	for _, v := range b.Variables {
		if r.Term == v.Name || r.Variable == v.Name && r.Term == "" {
			return v.Name
		}
		if _, _, ok := b.LevelOf(r, v.Name); ok {
			return v.Name
		}
	}
	if r.Variable != "" && r.Term == "" {
		return r.Variable
	}
	return ""
}

// coefficientLabel names the coefficient of a number, or a term that is not
// one variable's.
func (b *block) coefficientLabel(r *result.Row, name string) string {
	if name == "" {
		if r.Term == "" {
			return r.Variable
		}
		if label := b.productLabel(r); label != "" {
			return label
		}
		if r.Variable != "" { // a column of a spline or a season
			return b.label(r.Variable) + ", " + r.Term
		}
		return r.Term
	}
	return b.unitLabel(name) + " (per unit)"
}

// productLabel names a column that is the product of two variables' columns, by
// their labels and levels, or "" for any other.
func (b *block) productLabel(r *result.Row) string {
	first, second, ok := strings.Cut(r.Variable, " × ")
	if !ok {
		return ""
	}
	label := b.label(first) + " × " + b.label(second)
	one, two, both := strings.Cut(r.Term, " × ")
	switch {
	case r.Term == "":
		return label
	case both:
		return label + ", " + b.LevelLabel(first, one) + " × " + b.LevelLabel(second, two)
	case len(b.Described(first).Levels) > 0:
		return label + ", " + b.LevelLabel(first, r.Term)
	}
	return label + ", " + b.LevelLabel(second, r.Term)
}

// fitNotes says what is known of the whole fit, a note a row: "Log likelihood
// −512.3 (n = 1,190, events 214)".
func fitNotes(rows []*result.Row) []Note {
	var notes []Note
	for _, r := range rows {
		if r.Term != "" || r.Variable != "" {
			continue
		}
		value := r.Estimate
		if !value.Present() {
			value = r.Statistic
		}
		n := Note{Pieces: []Piece{{Text: upperFirst(r.Measure) + " "}}}
		if value.Present() {
			n.Pieces = append(n.Pieces, Piece{fitValue(r, value), r.ID})
		} else {
			n.Pieces = append(n.Pieces, Piece{absentWord(r), r.ID}, Piece{Text: ": " + strings.TrimSuffix(lowerFirst(sentence(r.Reason)), ".")})
		}
		for _, more := range []struct {
			before string
			value  result.Number
			after  string
			format func(float64) string
		}{
			{"", r.DF, " df", plain},
			{"P ", r.P, "", printed.Relation},
			{"n = ", r.N, "", count},
			{"events ", r.Events, "", count},
		} {
			if more.value.Present() {
				n.Pieces = append(n.Pieces, Piece{Text: ", "}, Piece{more.before + more.format(float64(more.value)) + more.after, r.ID})
			}
		}
		end := "."
		for _, w := range r.Warnings {
			end += " " + sentence(w)
		}
		n.Pieces = append(n.Pieces, Piece{Text: end})
		notes = append(notes, n)
	}
	return notes
}

// fitValue is what a row of a fit says: a count as it is, an estimate with the
// limits it has, any other number with two decimals.
func fitValue(r *result.Row, value result.Number) string {
	switch {
	case r.Measure == "children":
		return count(float64(value))
	case r.Lower.Present() && r.Upper.Present():
		return ratio(float64(value)) + " (" + printed.Level(float64(r.Level)) + " " + ratio(float64(r.Lower)) + " to " + ratio(float64(r.Upper)) + ")"
	}
	return ratio(float64(value))
}
