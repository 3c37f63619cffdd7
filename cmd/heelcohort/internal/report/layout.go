package report

import (
	"slices"

	"heelcohort/cmd/heelcohort/internal/result"
)

// A layout turns the rows of one kind of analysis into sheets.
type layout struct {
	kind  string
	parts []string // that it shows; curve is drawn, not listed
	sheet func(b *block) []Sheet
}

// layouts lists the kinds.
var layouts = []layout{
	{"describe", []string{"size", "values", "tests", "differences", "missing"}, layoutDescribe},
	{
		"incidence",
		[]string{"rates", "ratios", "differences", "tests", "pooled", "standard", "standardised", "model", "shapes", "marginal", "account"},
		layoutIncidence,
	},
	{"proportion", []string{"proportions", "comparisons", "missing"}, layoutProportion},
	{"association", []string{"counts", "crude", "tests", "pooled", "model", "adjusted", "shapes", "marginal", "confounding", "misclassification", "control", "table", "checks", "imputed"}, layoutAssociation},
	{"multiplicity", []string{"family"}, layoutMultiplicity},
	{"paired", []string{"pairs", "shares", "comparison"}, layoutPaired},
	{
		"time-to-event",
		[]string{"size", "curve", "quantile", "at", "risk-table", "incidence", "incidence at", "tests", "pairs", "expected", "model", "band", "restricted", "interval", "interval at", "interval quantile", "proportionality", "over time", "checks", "hazard", "hazard at", "fitted", "shapes", "smooth", "adjusted", "adjusted curve"},
		layoutSurvival,
	},
	{
		"recurrence",
		[]string{
			"size", "curve", "at", "risk-table", "spells", "rates", "ratios", "return", "tests", "expected", "model", "proportionality",
			"states", "states size", "states at", "states mean", "states changes", "states risk-table",
		},
		layoutRecurrence,
	},
	{"burden", []string{"burden", "severity"}, layoutBurden},
	{
		"change",
		[]string{"size", "visits", "values", "change", "missing", "adjusted", "differences", "model size", "model", "reached", "time", "interval", "interval at", "interval quantile"},
		layoutChange,
	},
	{
		"agreement",
		[]string{"size", "missing", "table", "agreement", "kappa", "all raters", "correlation", "differences", "points", "cells"},
		layoutAgreement,
	},
}

// sheetsOf lists the sheets of an analysis. Parts that the kind's layout does
// not show, and kinds without a layout, come as plain lists of rows.
func sheetsOf(res *result.Results, a result.Analysis) []Sheet {
	b := newBlock(res, a)
	shown := map[string]bool{}
	var sheets []Sheet
	for _, l := range layouts {
		if l.kind == a.Kind && len(b.rows) > 0 {
			sheets = append(sheets, l.sheet(b)...)
			for _, part := range l.parts {
				shown[part] = true
			}
		}
	}
	for _, r := range b.rows {
		if !shown[r.Part] && !modelledPart(r.Part) {
			shown[r.Part] = true
			sheets = append(sheets, layoutList(b, r.Part))
		}
	}
	return slices.DeleteFunc(sheets, func(s Sheet) bool { return len(s.Rows) == 0 && len(s.Notes) == 0 })
}

// layoutList shows the rows of a part one by one.
func layoutList(b *block, part string) Sheet {
	s := newSheet(b.ID+"-"+part, b.Title+": "+part)
	rows := b.part(part)
	level := levelOfRows(rows...)
	s.Columns = []Column{
		{Label: "Group", Text: true},
		{Label: "Term", Text: true},
		{Label: "Measure", Text: true},
		{Label: "At"},
		{Label: withLimits("Estimate", level)},
		{Label: "P"},
		{Label: "n"},
		{Label: "Events"},
	}
	for _, r := range rows {
		s.add(
			words(b.groupLabel(r.Groups)), words(b.termLabel(r)), words(r.Measure), number(r, r.At, plain),
			s.estimate(r, plain, level), s.p(r), number(r, r.N, count), number(r, r.Events, count),
		)
	}
	return s.done()
}

// termLabel names what a row is about: the variable, its level, or the term as
// it stands.
func (b *block) termLabel(r *result.Row) string {
	switch {
	case r.Variable == "" && r.Term == "":
		return dash
	case r.Term == "":
		return b.label(r.Variable)
	}
	for _, v := range b.Variables {
		if level, reference, ok := b.LevelOf(r, v.Name); ok && (r.Variable != "" || len(v.Levels) > 0) {
			text := b.label(v.Name) + ": " + b.LevelLabel(v.Name, level)
			if reference != "" {
				text += " vs " + b.LevelLabel(v.Name, reference)
			}
			return text
		}
		if r.Term == v.Name {
			return b.label(v.Name)
		}
	}
	return r.Term
}
