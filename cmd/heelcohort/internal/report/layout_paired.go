package report

// layoutPaired shows the pairs as a square table, then both shares and what
// compares them; the test stands below.
func layoutPaired(b *block) []Sheet {
	first, second := b.label(b.Setting("first")), b.label(b.Setting("second"))
	pairs := newSheet(b.ID, b.Title)
	pairs.Columns = []Column{
		{Label: first, Text: true},
		{Group: second, Label: "Yes"},
		{Group: second, Label: "No"},
	}
	cell := func(term string) Cell {
		for _, r := range b.part("pairs") {
			if r.Term == term {
				return number(r, r.Estimate, count)
			}
		}
		return words(dash)
	}
	pairs.add(words("Yes"), cell("both"), cell("first alone"))
	pairs.add(words("No"), cell("second alone"), cell("neither"))

	shares, comparison := b.part("shares"), b.part("comparison")
	level := levelOfRows(shares...)
	s := newSheet(b.ID+"-comparison", b.Title+": comparison of pairs")
	s.Columns = []Column{{Label: "", Text: true}, {Label: upperFirst(unitWord(b))}, {Label: "With it, or discordant"}, {Label: withLimits("Estimate", level)}, {Label: "P"}}
	for _, r := range shares {
		s.add(words(b.label(r.Variable)+", percent"), number(r, r.N, count), number(r, r.Events, count), s.estimate(r, asPercent(float64(r.N)), level), words(dash))
	}
	var notes []Note
	for _, r := range comparison {
		if r.Measure == "McNemar test" {
			notes = append(notes, testNote(r, r.Measure))
			continue
		}
		label, format := upperFirst(r.Measure), ratio
		if r.Measure == "paired difference" {
			label, format = label+", percentage points", asPoints
		}
		s.add(words(label), number(r, r.N, count), number(r, r.Events, count), s.estimate(r, format, level), s.p(r))
	}
	return []Sheet{pairs.done(), s.done(notes...)}
}
