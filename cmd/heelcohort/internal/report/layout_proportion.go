package report

import (
	"slices"

	"heelcohort/cmd/heelcohort/internal/result"
)

// layoutProportion shows, under each condition, the share with it over all and
// by group, the comparisons with the reference, and the missing values by code.
func layoutProportion(b *block) []Sheet {
	s := newSheet(b.ID, b.Title)
	shares, comparisons, missing := b.part("proportions"), b.part("comparisons"), b.part("missing")
	level := levelOfRows(append(slices.Clone(shares), comparisons...)...)
	s.Columns = []Column{
		{Label: "Group", Text: true},
		{Label: upperFirst(unitWord(b)) + " with a value"},
		{Label: "With the condition"},
		{Label: withLimits("Percent", level)},
	}
	tested := func(rows []*result.Row) bool {
		return slices.ContainsFunc(rows, func(r *result.Row) bool { return r.P.Present() })
	}
	measures := distinctMeasures(comparisons)
	for _, m := range measures {
		label := upperFirst(m)
		if m == "risk difference" {
			label += ", percentage points"
		}
		s.Columns = append(s.Columns, Column{Label: withLimits(label, level)})
		if tested(pick(comparisons, m)) {
			s.Columns = append(s.Columns, Column{Label: "P"})
		}
	}
	if len(missing) > 0 {
		s.Columns = append(s.Columns, Column{Label: "Missing", Text: true})
	}
	condition := ""
	for _, r := range shares {
		if r.Variable != condition {
			condition = r.Variable
			s.Rows = append(s.Rows, section(b.label(condition)))
		}
		name := "All"
		if len(r.Groups) > 0 {
			g := r.Groups[0]
			name = b.label(g.Variable) + ": " + b.LevelLabel(g.Variable, g.Level)
		}
		cells := []Cell{indented(name), number(r, r.N, count), number(r, r.Events, count), s.estimate(r, asPercent(float64(r.N)), level)}
		for _, m := range measures {
			rows := pick(comparisons, m)
			cells = append(cells, s.against(b, rows, r, m, level))
			if tested(rows) {
				cells = append(cells, s.p(comparisonOf(rows, r)))
			}
		}
		if len(missing) > 0 {
			cells = append(cells, missingCell(b, missing, r))
		}
		s.add(cells...)
	}
	return []Sheet{s.done()}
}

// comparisonOf is the comparison of the group and condition of a share.
func comparisonOf(rows []*result.Row, share *result.Row) *result.Row {
	for _, r := range rows {
		if r.Variable == share.Variable && slices.Equal(r.Groups, share.Groups) && len(r.Groups) > 0 {
			return r
		}
	}
	return nil
}

// against is the comparison of a share, no effect at the reference.
func (b *sheetBuilder) against(data *block, rows []*result.Row, share *result.Row, measure string, level result.Number) Cell {
	format, none := ratio, "1 (reference)"
	if measure == "risk difference" {
		format, none = asPoints, "0 (reference)"
	}
	if r := comparisonOf(rows, share); r != nil {
		return b.estimate(r, format, level)
	}
	if len(share.Groups) > 0 && data.Setting("reference."+share.Groups[0].Variable) == share.Groups[0].Level {
		return words(none)
	}
	return words(dash)
}

// missingCell lists the missing values of a share by code: "not measured (NM)
// 2, empty cell 1".
func missingCell(b *block, rows []*result.Row, share *result.Row) Cell {
	c := Cell{Value: result.None()}
	for _, r := range rows {
		if r.Variable != share.Variable || !slices.Equal(r.Groups, share.Groups) || r.Estimate == 0 {
			continue
		}
		text := missingLabel(b.Described(r.Variable), r.Term) + " "
		if len(c.Pieces) > 0 {
			text = ", " + text
		}
		shown := absentWord(r)
		if r.Estimate.Present() {
			shown = count(float64(r.Estimate))
		}
		c.Pieces = append(c.Pieces, Piece{Text: text}, Piece{Text: shown, Row: r.ID})
	}
	if len(c.Pieces) == 0 {
		return words("0")
	}
	return c
}
