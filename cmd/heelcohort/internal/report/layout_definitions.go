package report

import (
	"slices"
	"strings"

	"heelcohort/cmd/heelcohort/internal/result"
)

// otherwisePart takes a part by another definition of the event apart into the
// part it is beside and the definition's label.
func otherwisePart(part string) (beside, label string, ok bool) {
	for _, beside := range []string{"size", "quantile", "at", "model"} {
		if label, ok := strings.CutPrefix(part, beside+" by "); ok {
			return beside, label, true
		}
	}
	return "", "", false
}

// definitionSheets shows the median, the curve at the times of the plan and the
// ratios of the model by each definition of the event.
func definitionSheets(b *block) []Sheet {
	labels := []string{""}
	for i := range b.rows {
		if _, label, ok := otherwisePart(b.rows[i].Part); ok && !slices.Contains(labels, label) {
			labels = append(labels, label)
		}
	}
	if len(labels) == 1 {
		return nil
	}
	of := func(part, label string) string {
		if label == "" {
			return part
		}
		return part + " by " + label
	}
	level, unit := levelOfRows(b.part("quantile")...), b.Setting("unit of time")
	s := newSheet(b.ID+"-definitions", b.Title+": by definition of the event")
	s.Columns = []Column{{Label: "Event", Text: true}, {Label: "Events"}, {Label: "Censored"}, {Label: withLimits("Median"+comma(unit), level)}}
	times := timesOf(b.part("at"))
	for _, t := range times {
		s.Columns = append(s.Columns, Column{Group: withLimits("Without the event, %", level), Label: "At " + plain(float64(t)) + space(unit)})
	}
	for _, label := range labels {
		s.Rows = append(s.Rows, section(definitionHeading(label)))
		sizes := b.part(of("size", label))
		for _, g := range groupings(sizes) {
			size := b.find(of("size", label), g, "", "", "rows")
			cells := []Cell{indented(b.groupLabel(g)), number(size, size.Events, count), number(size, size.Censored, count), s.median(b.find(of("quantile", label), g, "", "", "median time"), level)}
			for _, t := range times {
				cells = append(cells, s.estimate(b.findAt(of("at", label), g, "", "", "survival", t), asPercent(100), level))
			}
			s.add(cells...)
		}
	}
	sheets := []Sheet{s.done()}
	shown := ratioRows(b.part("model"))
	if len(shown) == 0 {
		return sheets
	}
	m := newSheet(b.ID+"-definitions-model", b.Title+": regression model by definition of the event")
	m.Columns = []Column{{Label: "Term", Text: true}, {Label: withLimits(upperFirst(shown[0].Measure), level)}, {Label: "P"}}
	for _, r := range shown {
		m.Rows = append(m.Rows, section(b.timeRatioLabel(r)))
		for _, label := range labels {
			own := b.find(of("model", label), nil, r.Variable, r.Term, r.Measure)
			if own == nil {
				own = unfitted(b.part(of("model", label)))
			}
			m.add(indented(definitionHeading(label)), m.estimate(own, ratio, level), m.p(own))
		}
	}
	return append(sheets, m.done())
}

// definitionHeading names a definition of the event, the analysis's own by "".
func definitionHeading(label string) string {
	if label == "" {
		return "As defined"
	}
	return upperFirst(label)
}

// unfitted is the row that says why a model has no estimates, or nil.
func unfitted(rows []*result.Row) *result.Row {
	for _, r := range rows {
		if r.Reason != "" {
			return r
		}
	}
	return nil
}
