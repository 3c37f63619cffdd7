// Package figure builds the figures of a run from its result rows. It computes
// nothing: what a figure shows is an estimate, a limit or a count of a row.
//
// An incidence analysis with groups has a rate plot and a forest plot of its
// rate ratios, an association a forest plot of crude and adjusted odds ratios,
// a time-to-event analysis survival curves with their table of numbers at
// risk, a recurrence analysis mean cumulative counts with theirs. A number that a row withholds is a gap or a dash in the figure, and a
// note says how many there are.
package figure

import (
	"fmt"
	"slices"
	"strings"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/plots"
)

// ratios ends the id of the second figure of an incidence analysis.
const ratios = "-ratios"

// IDs lists the figures of an analysis by its kind and rows: its own id, and for
// incidence by groups with rate ratios the id with "-ratios" too. The rows may
// still hold nothing to draw; Build then says so with plots.ErrNoData.
func IDs(a result.Analysis, rows []result.Row) []string {
	switch a.Kind {
	case "incidence":
		if !slices.ContainsFunc(a.Variables, func(v result.Variable) bool { return len(v.Levels) > 0 }) {
			return nil
		}
		if slices.ContainsFunc(rows, func(r result.Row) bool { return r.Analysis == a.ID && r.Measure == "rate ratio" }) {
			return []string{a.ID, a.ID + ratios}
		}
		return []string{a.ID}
	case "association", "time-to-event", "recurrence":
		return []string{a.ID}
	}
	return nil
}

// Build makes the figure with the given id ("table-2"), one of those that IDs
// lists, from the rows of its analysis. Its error wraps plots.ErrNoData when
// no row has a value to draw, plots.ErrNoRoom when there are too many groups.
func Build(res *result.Results, id string) (*plots.Figure, error) {
	a, ok := res.Analysis(id)
	suffix := ""
	if !ok {
		var base string
		if base, ok = strings.CutSuffix(id, ratios); ok {
			suffix = ratios
			a, ok = res.Analysis(base)
		}
	}
	if !ok {
		return nil, fmt.Errorf("figure %q: no analysis has it", id)
	}
	s := &source{Analysis: a, rows: res.Of(a.ID, "")}
	var f *plots.Figure
	var err error
	switch {
	case a.Kind == "incidence" && suffix == ratios:
		f, err = s.rateRatios().Draw()
	case suffix != "":
		err = fmt.Errorf("an analysis of kind %s has no figure of ratios", a.Kind)
	case a.Kind == "incidence":
		f, err = draw(s.rates())
	case a.Kind == "association":
		f, err = s.association().Draw()
	case a.Kind == "time-to-event":
		f, err = drawSurvival(s.survival())
	case a.Kind == "recurrence":
		f, err = drawMeanCount(s.meanCount())
	default:
		err = fmt.Errorf("an analysis of kind %s has no figure", a.Kind)
	}
	if err != nil {
		return nil, fmt.Errorf("figure %q: %w", id, err)
	}
	return f, nil
}

// draw draws the rates unless there are none.
func draw(r plots.Rates, err error) (*plots.Figure, error) {
	if err != nil {
		return nil, err
	}
	return r.Draw()
}
