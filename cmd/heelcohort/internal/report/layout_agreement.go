package report

import (
	"strings"

	"heelcohort/cmd/heelcohort/internal/printed"
	"heelcohort/cmd/heelcohort/internal/result"
)

// layoutAgreement shows, of categories, the table of each two raters, their
// agreement and kappa, and kappa over all raters; of numbers the intraclass
// correlation and the differences of each two raters. What the figure draws
// (cells, points) is not listed; missing ratings are notes.
func layoutAgreement(b *block) []Sheet {
	var sheets []Sheet
	if s := agreementSummary(b); len(s.Rows) > 0 {
		sheets = append(sheets, s)
	}
	table := b.part("table")
	for i, pair := range termsOf(table) {
		id := b.ID + "-table"
		if i > 0 {
			id += "-" + count(float64(i+1))
		}
		sheets = append(sheets, ratingSheet(b, id, pair, table))
	}
	return sheets
}

// agreementSummary lists the estimates.
func agreementSummary(b *block) Sheet {
	s := newSheet(b.ID, b.Title)
	agreement, kappa, all := b.part("agreement"), b.part("kappa"), b.part("all raters")
	correlation, differences := b.part("correlation"), b.part("differences")
	var estimates []*result.Row
	for _, part := range [][]*result.Row{kappa, all, correlation, differences, agreement} {
		estimates = append(estimates, part...)
	}
	level := levelOfRows(estimates...)
	s.Columns = []Column{{Label: "Measure", Text: true}, {Label: "Subjects"}, {Label: withLimits("Estimate", level)}, {Label: "P"}}
	line := func(name string, r *result.Row, format func(float64) string) {
		if r.Unit != "" {
			name += " (" + r.Unit + ")"
		}
		s.add(indented(name), number(r, r.N, count), s.estimate(r, format, level), s.p(r))
	}
	for _, pair := range termsOf(kappa) {
		s.Rows = append(s.Rows, section(b.raters(pair)))
		for _, part := range [][]*result.Row{agreement, kappa} {
			for _, r := range part {
				if r.Term == pair {
					line(measureName(b, r), r, coefficient)
				}
			}
		}
	}
	if len(all) > 0 {
		s.Rows = append(s.Rows, section("All raters"))
		for _, r := range all {
			line(measureName(b, r), r, coefficient)
		}
	}
	if len(correlation) > 0 {
		s.Rows = append(s.Rows, section("Intraclass correlation, "+b.Setting("model")))
		for _, r := range correlation {
			if r.Term != "" {
				line(upperFirst(r.Term), r, coefficient)
				continue
			}
			line(upperFirst(r.Measure), r, spread(r.Estimate))
		}
	}
	for _, pair := range termsOf(differences) {
		sd := b.find("differences", nil, "", pair, "standard deviation of the differences")
		s.Rows = append(s.Rows, section("Differences: "+b.raters(pair)))
		for _, r := range differences {
			switch {
			case r.Term != pair:
			case sd == nil || strings.HasPrefix(r.Measure, "slope"):
				line(upperFirst(r.Measure), r, coefficient)
			default:
				line(upperFirst(r.Measure), r, spread(sd.Estimate))
			}
		}
	}
	return s.done(missingRatings(b), cellsNote(b))
}

// measureName is a measure with the category it is about.
func measureName(b *block, r *result.Row) string {
	if len(r.Groups) == 0 {
		return upperFirst(r.Measure)
	}
	return upperFirst(r.Measure) + ": " + b.LevelLabel(r.Groups[0].Variable, r.Groups[0].Level)
}

// raters names two raters by their labels.
func (b *block) raters(pair string) string {
	first, second, ok := result.Raters(pair)
	if !ok {
		return "Raters"
	}
	return b.label(first) + " and " + b.label(second)
}

// ratingSheet is the table of the ratings of two raters.
func ratingSheet(b *block, id, pair string, rows []*result.Row) Sheet {
	first, second, _ := result.Raters(pair)
	s := newSheet(id, b.Title+": ratings, "+b.label(first)+" in rows and "+b.label(second)+" in columns")
	s.Columns = []Column{{Label: b.label(first), Text: true}}
	scale := ratedVariable(b)
	var cells []Cell
	last := ""
	flush := func() {
		if len(cells) > 0 {
			s.add(cells...)
		}
		cells = nil
	}
	head := true
	for _, r := range rows {
		if r.Term != pair || len(r.Groups) != 2 {
			continue
		}
		row, column := r.Groups[0].Level, r.Groups[1].Level
		if len(cells) == 0 || row != last {
			head = head && len(cells) == 0
			flush()
			cells, last = []Cell{words(b.LevelLabel(scale, row))}, row
		}
		if head {
			s.Columns = append(s.Columns, Column{Group: b.label(second), Label: b.LevelLabel(scale, column)})
		}
		cells = append(cells, number(r, r.Estimate, count))
	}
	flush()
	return s.done()
}

// ratedVariable is the variable whose categories the raters used.
func ratedVariable(b *block) string {
	for _, v := range b.Variables {
		if len(v.Levels) > 0 {
			return v.Name
		}
	}
	return ""
}

// missingRatings lists the missing ratings by rater and code.
func missingRatings(b *block) Note {
	var n Note
	for _, r := range b.part("missing") {
		if !r.Estimate.Present() {
			continue
		}
		text := "; "
		if len(n.Pieces) == 0 {
			text = "Missing ratings: "
		}
		name := b.label(r.Variable)
		if len(r.Groups) > 0 {
			name = b.LevelLabel(r.Groups[0].Variable, r.Groups[0].Level)
		}
		n.Pieces = append(n.Pieces,
			Piece{Text: text + name + ", " + missingLabel(b.Described(r.Variable), r.Term) + " "},
			Piece{Text: count(float64(r.Estimate)), Row: r.ID})
	}
	if len(n.Pieces) > 0 {
		n.Pieces = append(n.Pieces, Piece{Text: "."})
	}
	return n
}

// cellsNote says how many pairs the figure leaves out.
func cellsNote(b *block) Note {
	for _, r := range b.part("cells") {
		if r.Measure == "pairs in cells of few" && r.Estimate > 0 {
			return Note{Pieces: []Piece{
				{Text: "Pairs in cells of the figure of fewer than " + b.Setting("figure.few pairs") + ", which it leaves out: "},
				{Text: count(float64(r.Estimate)), Row: r.ID},
				{Text: "."},
			}}
		}
	}
	return Note{}
}

// coefficient formats a coefficient or a share.
func coefficient(x float64) string { return printed.Fixed(x, 2) }

// spread formats what is in the unit of a standard deviation.
func spread(sd result.Number) func(float64) string {
	return func(x float64) string { return printed.Fixed(x, printed.SpreadDecimals(float64(sd))) }
}
