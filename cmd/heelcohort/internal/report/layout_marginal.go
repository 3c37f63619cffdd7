package report

import (
	"cmp"
	"slices"
	"strings"

	"heelcohort/cmd/heelcohort/internal/printed"
	"heelcohort/cmd/heelcohort/internal/result"
)

// marginalSheets shows the marginal rates or risks of a model, level by level of
// each variable, with their ratios and differences against the reference.
func marginalSheets(b *block) []Sheet {
	rows := b.part("marginal")
	if len(rows) == 0 {
		return nil
	}
	of := "marginal rate"
	if len(pick(rows, "marginal risk")) > 0 {
		of = "marginal risk"
	}
	rates, ratios, differences := pick(rows, of), pick(rows, of+" ratio"), pick(rows, of+" difference")
	s := newSheet(b.ID+"-marginal", b.Title+": "+of+"s")
	unit := ""
	var shown []float64
	for _, r := range rates {
		unit = cmp.Or(unit, r.Unit)
		shown = append(shown, float64(r.Estimate))
	}
	if unit != "" {
		unit = " " + unit
	}
	decimals := rateDecimals(shown)
	rate := func(x float64) string { return printed.Fixed(x, decimals) }
	difference := rate
	if of == "marginal risk" {
		unit, rate, difference = ", percent", asPoints, asPoints
		for _, r := range rates {
			if r.Reason != "" {
				return []Sheet{s.done(Note{Pieces: []Piece{{Text: "Marginal risks: ", Row: r.ID}, {Text: lowerFirst(sentence(r.Reason))}}})}
			}
		}
	}
	level := levelOfRows(rows...)
	s.Columns = []Column{
		{Label: "Group", Text: true},
		{Label: withLimits(upperFirst(of)+unit, level)},
		{Label: withLimits("Ratio", level)},
		{Label: "P"},
		{Label: withLimits("Difference"+unit, level)},
	}
	var done []string
	for _, r := range rates {
		name := r.Variable
		if slices.Contains(done, name) {
			continue
		}
		done = append(done, name)
		s.Rows = append(s.Rows, section(b.unitLabel(name)))
		byRate, _ := b.levelRows(rates, name)
		byRatio, reference := b.levelRows(ratios, name)
		byDifference, _ := b.levelRows(differences, name)
		for _, l := range b.Described(name).Levels {
			r := byRate[l.Value]
			switch {
			case r == nil:
			case l.Value == reference && reference != "":
				s.add(indented(b.LevelLabel(name, l.Value)), s.estimate(r, rate, level), words("1 (reference)"), words(dash), words("0 (reference)"))
			default:
				s.add(indented(b.LevelLabel(name, l.Value)), s.estimate(r, rate, level), s.estimate(byRatio[l.Value], ratio, level),
					s.p(byRatio[l.Value]), s.estimate(byDifference[l.Value], difference, level))
			}
		}
	}
	return []Sheet{s.done()}
}

// shapeSheets shows what splines and seasons of a model say, and splines of its
// models of other ends.
func shapeSheets(b *block) []Sheet {
	var sheets []Sheet
	var seen []string
	for _, r := range b.rows {
		if of, is := strings.CutPrefix(r.Part, "shapes"); is && !slices.Contains(seen, r.Part) {
			seen = append(seen, r.Part)
			sheets = append(sheets, shapeSheet(b, b.part(r.Part), of))
		}
	}
	return sheets
}

func shapeSheet(b *block, rows []*result.Row, of string) Sheet {
	s := newSheet(b.ID+"-shapes"+strings.ReplaceAll(of, " ", "-"), b.Title+": curves and seasons"+of)
	level := levelOfRows(rows...)
	s.Columns = []Column{{Label: "Term", Text: true}, {Label: withLimits("Estimate", level)}, {Label: "P"}}
	name := ""
	for _, r := range rows {
		if r.Variable != name {
			name = r.Variable
			s.Rows = append(s.Rows, section(b.unitLabel(name)))
		}
		label := upperFirst(r.Measure)
		if r.Term != "" {
			label += ", " + r.Term
		}
		value := s.estimate(r, ratio, level)
		if r.Statistic.Present() && !r.Estimate.Present() {
			value = statistic(r)
		}
		s.add(indented(label), value, s.p(r))
	}
	return s.done()
}

// statistic is a cell with a test's statistic and degrees of freedom.
func statistic(r *result.Row) Cell {
	text := ratio(float64(r.Statistic))
	if r.DF.Present() {
		text += " on " + plain(float64(r.DF)) + " df"
	}
	return Cell{Pieces: []Piece{{Text: text, Row: r.ID}}, Value: result.None()}
}
