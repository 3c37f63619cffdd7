package report

import (
	"heelcohort/cmd/heelcohort/internal/result"
)

// pooledSheets shows, for each level compared with the reference, its strata,
// all of them crude, and the Mantel-Haenszel estimates; the test of one ratio
// in all strata stands below.
func pooledSheets(b *block) []Sheet {
	rows := b.part("pooled")
	if len(rows) == 0 {
		return nil
	}
	over := b.Setting("stratify")
	s := newSheet(b.ID+"-pooled", b.Title+": pooled over "+lowerFirst(b.label(over))+" (Mantel-Haenszel)")
	ratios, differences := pick(rows, "pooled rate ratio"), pick(rows, "pooled rate difference")
	level := levelOfRows(append(ratios, differences...)...)
	per, unit := "", ""
	var shown []float64
	for _, r := range differences {
		per, unit = " "+r.Unit, timeUnit(r.Unit)
	}
	for _, r := range b.part("rates") {
		shown = append(shown, float64(r.Estimate))
	}
	rate := rateFormat(shown)
	const compared, reference = "Compared", "Reference"
	s.Columns = []Column{
		{Label: b.unitLabel(over), Text: true},
		{Group: compared, Label: "Events"},
		{Group: compared, Label: "Person-time" + unit},
		{Group: reference, Label: "Events"},
		{Group: reference, Label: "Person-time" + unit},
		{Label: withLimits("Rate ratio", level)},
		{Label: "P"},
		{Label: withLimits("Rate difference"+per, level)},
		{Label: "P"},
	}
	var notes []Note
	for i, pooled := range ratios {
		v := pooled.Variable
		one, zero, ok := b.LevelOf(pooled, v)
		if !ok {
			continue
		}
		title := b.LevelLabel(v, one) + " vs " + b.LevelLabel(v, zero)
		s.Rows = append(s.Rows, section(title))
		add := func(name string, held []result.Group, counted bool, ratioRow, differenceRow *result.Row) {
			cells := []Cell{indented(name)}
			for _, l := range []string{one, zero} {
				r := b.rateOf(held, v, l)
				if !counted || r == nil {
					cells = append(cells, words(dash), words(dash))
					continue
				}
				cells = append(cells, number(r, r.Events, count), number(r, r.PersonTime, amount))
			}
			s.add(append(cells, s.estimate(ratioRow, ratio, level), s.p(ratioRow), s.estimate(differenceRow, rate, level), s.p(differenceRow))...)
		}
		for _, l := range b.Described(over).Levels {
			held := []result.Group{{Variable: over, Level: l.Value}}
			add(b.LevelLabel(over, l.Value), held, true,
				b.find("ratios", held, v, pooled.Term, "rate ratio"), b.find("differences", held, v, pooled.Term, "rate difference"))
		}
		add("Crude", nil, true, b.find("ratios", nil, v, pooled.Term, "rate ratio"), b.find("differences", nil, v, pooled.Term, "rate difference"))
		var difference *result.Row
		if i < len(differences) {
			difference = differences[i]
		}
		add("Pooled", nil, false, pooled, difference)
		if test := b.find("pooled", nil, v, pooled.Term, "homogeneity of rate ratios"); test != nil {
			notes = append(notes, testNote(test, "Homogeneity of rate ratios, "+title))
		}
	}
	return []Sheet{s.done(notes...)}
}

// rateOf is the rate of a level of a variable within held groups, whatever the
// order of the variables.
func (b *block) rateOf(held []result.Group, variable, level string) *result.Row {
	own := result.Group{Variable: variable, Level: level}
	if len(held) == 0 {
		return b.find("rates", []result.Group{own}, "", "", "incidence rate")
	}
	if r := b.find("rates", []result.Group{held[0], own}, "", "", "incidence rate"); r != nil {
		return r
	}
	return b.find("rates", []result.Group{own, held[0]}, "", "", "incidence rate")
}
