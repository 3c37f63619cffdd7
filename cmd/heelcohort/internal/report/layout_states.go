package report

import (
	"slices"

	"heelcohort/cmd/heelcohort/internal/result"
)

// stateSheets shows the states that spells lead through: the share of children in
// each at the plan's days with the mean days up to its horizon, the changes from
// one to another, and how many were under observation. The curves are drawn, not
// listed.
func stateSheets(b *block) []Sheet {
	if len(b.part("states size")) == 0 {
		return nil
	}
	sheets := []Sheet{stateShares(b)}
	if rows := b.part("states changes"); len(rows) > 0 {
		sheets = append(sheets, stateChanges(b, rows))
	}
	if rows := b.part("states risk-table"); len(rows) > 0 {
		sheets = append(sheets, stateAtRisk(b, rows))
	}
	return sheets
}

func stateShares(b *block) Sheet {
	s := newSheet(b.ID+"-states", b.Title+": states")
	read, mean, failed := b.part("states at"), b.part("states mean"), []*result.Row{}
	for _, r := range b.part("states") {
		if !r.At.Present() {
			failed = append(failed, r)
		}
	}
	times, level, meanLevel := timesOf(read), levelOfRows(read...), levelOfRows(mean...)
	s.Columns = []Column{{Label: "State", Text: true}, {Label: upperFirst(unitWord(b))}}
	for _, at := range times {
		s.Columns = append(s.Columns, Column{Group: withLimits("Children in the state, %", level), Label: "On day " + plain(float64(at))})
	}
	horizon := result.None()
	if len(mean) > 0 {
		horizon = mean[0].At
		s.Columns = append(s.Columns, Column{Label: withLimits("Mean days up to day "+plain(float64(horizon)), meanLevel)})
	}
	shown := append(slices.Clone(read), mean...)
	for _, size := range b.part("states size") {
		cells := []Cell{words(b.groupLabel(size.Groups)), s.countCell(size)}
		for range len(s.Columns) - 2 {
			cells = append(cells, words(dash))
		}
		s.add(cells...)
		for _, term := range termsOf(shown) {
			cells, any := []Cell{indented(upperFirst(term)), words(dash)}, false
			for _, at := range times {
				r := b.findAt("states at", size.Groups, "", term, "state occupancy", at)
				cells, any = append(cells, s.estimate(r, asPercent(100), level)), any || r != nil
			}
			if len(mean) > 0 {
				r := b.findAt("states mean", size.Groups, "", term, "mean days in the state", horizon)
				cells, any = append(cells, s.estimate(r, oneDecimal, meanLevel)), any || r != nil
			}
			if any {
				s.add(cells...)
			}
		}
	}
	var notes []Note
	for _, r := range failed {
		notes = append(notes, Note{Pieces: []Piece{{Text: b.groupLabel(r.Groups) + ": "}, {Text: absentWord(r), Row: r.ID}, {Text: ": " + lowerFirst(sentence(r.Reason))}}})
	}
	return s.done(notes...)
}

// stateChanges lists the changes of state seen, a group a column.
func stateChanges(b *block, rows []*result.Row) Sheet {
	s := newSheet(b.ID+"-states-changes", b.Title+": changes of state seen")
	s.Columns = []Column{{Label: "Change", Text: true}}
	var groups [][]result.Group
	for _, size := range b.part("states size") {
		groups = append(groups, size.Groups)
		s.Columns = append(s.Columns, Column{Label: b.groupLabel(size.Groups)})
	}
	for _, term := range termsOf(rows) {
		cells := []Cell{words(upperFirst(term))}
		for _, g := range groups {
			cells = append(cells, s.countCell(b.find("states changes", g, "", term, "count")))
		}
		s.add(cells...)
	}
	return s.done()
}

func stateAtRisk(b *block, rows []*result.Row) Sheet {
	s := newSheet(b.ID+"-states-at-risk", b.Title+": under observation in the states")
	times := timesOf(rows)
	s.Columns = []Column{{Label: "Group", Text: true}}
	for _, at := range times {
		s.Columns = append(s.Columns, Column{Group: "Day", Label: plain(float64(at))})
	}
	for _, g := range groupings(rows) {
		cells := []Cell{words(b.groupLabel(g))}
		for _, at := range times {
			cells = append(cells, s.countCell(b.findAt("states risk-table", g, "", "", "under observation", at)))
		}
		s.add(cells...)
	}
	return s.done(plainNote("Just before the day; on day 0 from then on. Children who gave up are no longer under observation."))
}
