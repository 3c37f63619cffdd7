package report

import (
	"slices"
	"strings"

	"heelcohort/cmd/heelcohort/internal/result"
)

// restrictedSheets shows the restricted mean times and their differences.
func restrictedSheets(b *block) []Sheet {
	rows := b.part("restricted")
	if len(rows) == 0 {
		return nil
	}
	level, unit := levelOfRows(rows...), rows[0].Unit
	s := newSheet(b.ID+"-restricted", b.Title+": restricted mean time up to "+plain(float64(rows[0].At))+space(unit))
	s.Columns = []Column{{Label: "Group", Text: true}, {Label: withLimits("Mean"+comma(unit), level)}, {Label: withLimits("Difference"+comma(unit), level)}, {Label: "P"}}
	for _, r := range pick(rows, "restricted mean time") {
		cells := []Cell{words(b.groupLabel(r.Groups)), s.estimate(r, oneDecimal, level), words(dash), words(dash)}
		if len(r.Groups) == 1 {
			for _, d := range pick(rows, "restricted mean difference") {
				one, against, _ := strings.Cut(d.Term, " vs ")
				switch r.Groups[0].Level {
				case one:
					cells[2], cells[3] = s.estimate(d, oneDecimal, level), s.p(d)
				case against:
					cells[2] = words("0 (reference)")
				}
			}
		}
		s.add(cells...)
	}
	return []Sheet{s.done()}
}

// betweenSheets shows curves of events seen only between visits, read in three
// ways.
func betweenSheets(b *block) []Sheet {
	quantiles, at := b.part("interval quantile"), b.part("interval at")
	if len(quantiles) == 0 {
		return nil
	}
	level, unit := levelOfRows(quantiles...), b.Setting("unit of time")
	title, event, without := ": events seen between visits", "Event taken to fall", "Without the event, %"
	if b.Kind == "change" {
		title, event, without = ": time from the baseline to the threshold", "Threshold taken to be reached", "Not yet reached, %"
	}
	s := newSheet(b.ID+"-interval", b.Title+title)
	s.Columns = []Column{{Label: event, Text: true}, {Label: withLimits("Median"+comma(unit), level)}}
	times := timesOf(at)
	for _, t := range times {
		s.Columns = append(s.Columns, Column{Group: withLimits(without, level), Label: "At " + plain(float64(t)) + space(unit)})
	}
	groups := groupings(quantiles)
	for _, g := range groups {
		if len(g) > 0 || len(groups) > 1 {
			s.Rows = append(s.Rows, section(b.groupLabel(g)))
		}
		for _, r := range quantiles {
			if !slices.Equal(r.Groups, g) {
				continue
			}
			cells := []Cell{indented(upperFirst(r.Term)), s.median(r, level)}
			for _, t := range times {
				i := slices.IndexFunc(at, func(x *result.Row) bool { return x.At == t && x.Term == r.Term && slices.Equal(x.Groups, g) })
				if i < 0 {
					cells = append(cells, words(dash))
					continue
				}
				cells = append(cells, s.estimate(at[i], asPercent(100), level))
			}
			s.add(cells...)
		}
	}
	return []Sheet{s.done()}
}
