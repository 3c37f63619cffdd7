package report

import (
	"slices"

	"heelcohort/cmd/heelcohort/internal/result"
)

// gradedSheets shows an outcome with categories by the levels of the exposure.
func gradedSheets(b *block, exposure string) []Sheet {
	rows := b.part("table")
	if len(rows) == 0 {
		return nil
	}
	outcome := rows[0].Variable
	s := newSheet(b.ID, b.Title)
	s.Columns = []Column{{Label: b.unitLabel(exposure), Text: true}, {Label: upperFirst(unitWord(b))}}
	var levels []string
	var groups [][]result.Group
	for _, r := range rows {
		if !slices.Contains(levels, r.Term) {
			levels = append(levels, r.Term)
			s.Columns = append(s.Columns, Column{Group: b.label(outcome) + ", n (%)", Label: b.LevelLabel(outcome, r.Term)})
		}
		if len(groups) == 0 || groups[len(groups)-1][0] != r.Groups[0] {
			groups = append(groups, r.Groups)
		}
	}
	for _, g := range groups {
		cells := []Cell{words(b.groupLabel(g))}
		for i, level := range levels {
			n := b.find("table", g, outcome, level, "count")
			share := b.find("table", g, outcome, level, "percent")
			if i == 0 {
				cells = append(cells, number(n, n.N, count))
			}
			cells = append(cells, s.share(n, n.Estimate, share, share.Estimate))
		}
		s.add(cells...)
	}
	return []Sheet{s.done(testNotes(b, "tests")...)}
}

// checkSheets shows what a model can bear: inflation of variance by the other
// terms, and the change without one row or cluster.
func checkSheets(b *block) []Sheet {
	rows := b.part("checks")
	if len(rows) == 0 {
		return nil
	}
	s := newSheet(b.ID+"-checks", b.Title+": what the model can bear")
	s.Columns = []Column{{Label: "Term", Text: true}, {Label: "Check", Text: true}, {Label: "Value"}, {Label: "n"}}
	for _, r := range rows {
		name := b.unitLabel(r.Variable)
		if r.Term != "" {
			name += ": " + b.LevelLabel(r.Variable, r.Term)
		}
		check := upperFirst(r.Measure)
		if r.Unit != "" {
			check += ", " + r.Unit
		}
		s.add(words(name), words(check), s.estimate(r, ratio, result.None()), number(r, r.N, count))
	}
	return []Sheet{s.done()}
}
