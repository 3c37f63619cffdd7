package report

import (
	"heelcohort/cmd/heelcohort/internal/printed"
	"heelcohort/cmd/heelcohort/internal/result"
)

// standardisedSheets shows crude and directly standardised rates of all and of
// each group, the ratios to the reference, and observed over expected events.
func standardisedSheets(b *block) []Sheet {
	rows := b.part("standardised")
	if len(rows) == 0 {
		return nil
	}
	over := b.Setting("standardise over")
	s := newSheet(b.ID+"-standardised", b.Title+": standardised over "+lowerFirst(b.label(over)))
	direct, ratios := pick(rows, "standardised rate"), pick(rows, "standardised rate ratio")
	incidence, expected := pick(rows, "standardised incidence ratio"), pick(rows, "expected events")
	crude := b.part("rates")
	per, unit := "", ""
	var shown []float64
	for _, r := range crude {
		if r.Unit != "" {
			per, unit = " "+r.Unit, timeUnit(r.Unit)
		}
	}
	for _, r := range append(append([]*result.Row{}, crude...), direct...) {
		if len(r.Groups) < 2 {
			shown = append(shown, float64(r.Estimate))
		}
	}
	rate, level := rateFormat(shown), levelOfRows(rows...)
	s.Columns = []Column{
		{Label: "Group", Text: true},
		{Label: "Events"},
		{Label: "Person-time" + unit},
		{Label: withLimits("Crude rate"+per, level)},
	}
	if len(direct) > 0 {
		s.Columns = append(s.Columns, Column{Label: withLimits("Standardised rate"+per, level)})
	}
	if len(ratios) > 0 {
		const heading = "Standardised rate ratio"
		s.Columns = append(s.Columns, Column{Group: heading, Label: withLimits("Ratio", level)}, Column{Group: heading, Label: "P"})
	}
	if len(incidence) > 0 {
		const heading = "Standardised incidence ratio"
		s.Columns = append(s.Columns, Column{Group: heading, Label: "Expected events"},
			Column{Group: heading, Label: withLimits("Observed/expected", level)}, Column{Group: heading, Label: "P"})
	}
	add := func(name Cell, groups []result.Group, variable, own string) {
		r := b.find("rates", groups, "", "", "incidence rate")
		if r == nil {
			return
		}
		cells := []Cell{name, number(r, r.Events, count), number(r, r.PersonTime, amount), s.estimate(r, rate, level)}
		if len(direct) > 0 {
			cells = append(cells, s.estimate(b.find("standardised", groups, "", "", "standardised rate"), rate, level))
		}
		compared := func(list []*result.Row, columns func(r *result.Row) []Cell) []Cell {
			for _, r := range list {
				one, zero, ok := b.LevelOf(r, variable)
				switch {
				case own == "" || !ok:
				case one == own:
					return columns(r)
				case zero == own:
					blank := columns(nil)
					blank[len(blank)-2] = words("1 (reference)")
					return blank
				}
			}
			return columns(nil)
		}
		if len(ratios) > 0 {
			cells = append(cells, compared(ratios, func(r *result.Row) []Cell { return []Cell{s.estimate(r, ratio, level), s.p(r)} })...)
		}
		if len(incidence) > 0 {
			cells = append(cells, compared(incidence, func(r *result.Row) []Cell {
				expect := words(dash)
				for _, e := range expected {
					if r != nil && e.Term == r.Term {
						expect = s.estimate(e, oneDecimal, result.None())
					}
				}
				return []Cell{expect, s.estimate(r, ratio, level), s.p(r)}
			})...)
		}
		s.add(cells...)
	}
	add(words("All"), nil, "", "")
	for _, v := range b.Variables {
		if v.Name == over || len(v.Levels) == 0 {
			continue
		}
		s.Rows = append(s.Rows, section("By "+lowerFirst(b.unitLabel(v.Name))))
		for _, l := range v.Levels {
			add(indented(b.LevelLabel(v.Name, l.Value)), []result.Group{{Variable: v.Name, Level: l.Value}}, v.Name, l.Value)
		}
	}
	return []Sheet{s.done(standardNote(b))}
}

// standardNote lists the weights of the standard; without one it is empty.
func standardNote(b *block) Note {
	var n Note
	for i, r := range b.part("standard") {
		text := ", "
		if i == 0 {
			text = "Standard: " + b.Setting("standard") + ", weights "
		}
		share := absentWord(r)
		if r.Estimate.Present() {
			share = printed.Fixed(float64(r.Estimate), 3)
		}
		n.Pieces = append(n.Pieces, Piece{Text: text + b.groupLabel(r.Groups) + ": "}, Piece{Text: share, Row: r.ID})
	}
	if len(n.Pieces) > 0 {
		n.Pieces = append(n.Pieces, Piece{Text: "."})
	}
	return n
}
