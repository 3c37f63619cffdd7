package report

import (
	"slices"
	"strings"

	"heelcohort/cmd/heelcohort/internal/result"
)

// adjustedSheets shows what a Cox model predicts were all its rows in each group,
// a line a time, with the differences from the reference beside. The curves are
// drawn.
func adjustedSheets(b *block) []Sheet {
	rows := b.part("adjusted")
	if len(rows) == 0 {
		return nil
	}
	s := newSheet(b.ID+"-adjusted", b.Title+": adjusted for the other terms of the model")
	if r := rows[0]; !r.At.Present() { // there are none
		return []Sheet{s.done(Note{Pieces: []Piece{{Text: "Adjusted curves: ", Row: r.ID}, {Text: lowerFirst(sentence(r.Reason))}}})}
	}
	level, unit := levelOfRows(rows...), b.Setting("unit of time")
	s.Columns = []Column{
		{Label: "Group", Text: true}, {Label: withLimits("Adjusted", level)}, {Label: withLimits("Difference", level)}, {Label: "P"},
	}
	lines := func(rows []*result.Row, measure, difference string, format func(float64) string) {
		for _, r := range pick(rows, measure) {
			cells := []Cell{indented(b.groupLabel(r.Groups)), s.estimate(r, format, level), words(dash), words(dash)}
			for _, d := range pick(rows, difference) {
				one, against, _ := strings.Cut(d.Term, " vs ")
				switch {
				case d.At != r.At || len(r.Groups) != 1:
				case r.Groups[0].Level == one:
					cells[2], cells[3] = s.estimate(d, format, level), s.p(d)
				case r.Groups[0].Level == against:
					cells[2] = words("0 (reference)")
				}
			}
			s.add(cells...)
		}
	}
	for _, t := range timesOf(pick(rows, "survival")) {
		s.Rows = append(s.Rows, section("Without the event at "+plain(float64(t))+space(unit)+", %"))
		own := slices.DeleteFunc(slices.Clone(rows), func(r *result.Row) bool { return r.At != t })
		lines(own, "survival", "survival difference", asPoints)
	}
	if restricted := pick(rows, "restricted mean time"); len(restricted) > 0 {
		s.Rows = append(s.Rows, section("Mean time up to "+plain(float64(restricted[0].At))+space(unit)+comma(unit)))
		lines(rows, "restricted mean time", "restricted mean difference", oneDecimal)
	}
	return []Sheet{s.done(plainNote("What the Cox model predicts were all its rows in the group, averaged over their other covariates as observed."))}
}
