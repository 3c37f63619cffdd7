package report

import (
	"slices"

	"heelcohort/cmd/heelcohort/internal/result"
)

// lifetimeModels are the parts of parametric models of time, with their names.
var lifetimeModels = []struct{ part, name string }{
	{"exponential model", "Exponential model"},
	{"weibull model", "Weibull model"},
	{"log-normal model", "Log-normal model"},
	{"log-logistic model", "Log-logistic model"},
}

// modelledPart reports whether a part holds what stands beside the curve and the
// Cox model of the event: another model, or the same by another definition.
func modelledPart(part string) bool {
	for _, m := range lifetimeModels {
		if part == m.part {
			return true
		}
	}
	_, _, otherwise := otherwisePart(part)
	return otherwise || part == "frailty model" || causePart(part)
}

// parametricSheets shows the parametric models below one another: their ratios,
// and what they say of the time of each group.
func parametricSheets(b *block) []Sheet {
	ratios := newSheet(b.ID+"-parametric", b.Title+": parametric models of time")
	times := newSheet(b.ID+"-parametric-times", b.Title+": times by the parametric models")
	var all []*result.Row
	for _, m := range lifetimeModels {
		all = append(all, b.part(m.part)...)
	}
	if len(all) == 0 {
		return nil
	}
	level := levelOfRows(append(pick(all, "time ratio"), pick(all, "median time")...)...)
	ratios.Columns = []Column{{Label: "Term", Text: true}, {Label: withLimits("Time ratio", level)}, {Label: withLimits("Hazard ratio", level)}, {Label: "P"}}
	unit := b.Setting("unit of time")
	at := timesOf(pick(all, "survival"))
	times.Columns = []Column{{Label: "Group", Text: true}, {Label: withLimits("Median"+comma(unit), level)}}
	for _, t := range at {
		times.Columns = append(times.Columns, Column{Group: withLimits("Without the event, %", level), Label: "At " + plain(float64(t)) + space(unit)})
	}
	var notes []Note
	for _, m := range lifetimeModels {
		rows := b.part(m.part)
		if len(rows) == 0 {
			continue
		}
		if shown := pick(rows, "time ratio"); len(shown) > 0 {
			ratios.Rows = append(ratios.Rows, section(m.name))
			for _, r := range shown {
				ratios.add(indented(b.timeRatioLabel(r)), ratios.estimate(r, ratio, level),
					ratios.estimate(b.find(m.part, nil, r.Variable, r.Term, "hazard ratio"), ratio, level), ratios.p(r))
			}
		}
		for _, n := range fitNotes(slices.DeleteFunc(slices.Clone(rows), func(r *result.Row) bool { return len(r.Groups) > 0 })) {
			n.Pieces = slices.Insert(n.Pieces, 0, Piece{Text: m.name + ". "})
			notes = append(notes, n)
		}
		medians := pick(rows, "median time")
		if len(medians) == 0 {
			continue
		}
		times.Rows = append(times.Rows, section(m.name))
		for _, r := range medians {
			cells := []Cell{indented(b.groupLabel(r.Groups)), times.median(r, level)}
			for _, t := range at {
				cells = append(cells, times.estimate(b.findAt(m.part, r.Groups, "", "", "survival", t), asPercent(100), level))
			}
			times.add(cells...)
		}
	}
	return []Sheet{ratios.done(notes...), times.done()}
}

// timeRatioLabel names the coefficient of a ratio: the variable, with the level
// against the reference.
func (b *block) timeRatioLabel(r *result.Row) string {
	name := b.termVariable(r)
	if name == "" || r.Term == "" || len(b.Described(name).Levels) == 0 {
		return b.coefficientLabel(r, name)
	}
	label := b.label(name) + ": " + b.LevelLabel(name, r.Term)
	if reference := b.Setting("reference." + name); reference != "" {
		label += " vs " + b.LevelLabel(name, reference)
	}
	return label
}
