package report

// hazardSheets shows cumulative hazards at the times of the plan.
func hazardSheets(b *block) []Sheet {
	rows := b.part("hazard at")
	if len(rows) == 0 {
		return nil
	}
	level, unit := levelOfRows(rows...), b.Setting("unit of time")
	s := newSheet(b.ID+"-hazard", b.Title+": cumulative hazard")
	s.Columns = []Column{{Label: "Group", Text: true}}
	times := timesOf(rows)
	for _, t := range times {
		s.Columns = append(s.Columns, Column{Group: withLimits("Cumulative hazard", level), Label: "At " + plain(float64(t)) + space(unit)})
	}
	for _, g := range groupings(rows) {
		cells := []Cell{words(b.groupLabel(g))}
		for _, t := range times {
			cells = append(cells, s.estimate(b.findAt("hazard at", g, "", "", "cumulative hazard", t), ratio, level))
		}
		s.add(cells...)
	}
	return []Sheet{s.done()}
}
