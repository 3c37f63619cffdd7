// Package figure builds the figures of a run from its result rows. It computes
// nothing: what a figure shows is an estimate, a limit or a count of a row.
//
// An incidence analysis with groups has the figure of its rates that its
// setting "figure" names (a rate plot, a heat map, a dot plot, a step curve over
// bands; a rate plot unless it names one) and a forest plot of its rate ratios,
// an association a forest plot of crude and adjusted odds ratios, a time-to-event
// analysis survival curves with their table of numbers at risk, a recurrence
// analysis mean cumulative counts with theirs and, where it has them, the shares
// of its states, an analysis of change means over visits, an agreement of numbers by two
// raters their differences against their means. A category in groups has a figure
// of its distribution. A number that a row withholds is
// a gap or a dash in the figure, and a note says how many there are.
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

// IDs lists the figures of an analysis by its kind and rows: its own id, for
// incidence by groups with rate ratios the id with "-ratios" too, and those of
// curves that its rows bear. The rows may still hold nothing to draw; Build
// then says so with plots.ErrNoData.
func IDs(a result.Analysis, rows []result.Row) []string {
	var ids []string
	switch a.Kind {
	case "incidence":
		if a.Setting(Setting) == None {
			return nil
		}
		if slices.ContainsFunc(a.Variables, func(v result.Variable) bool { return len(v.Levels) > 0 }) {
			ids = append(ids, a.ID)
			if slices.ContainsFunc(rows, func(r result.Row) bool { return r.Analysis == a.ID && r.Measure == "rate ratio" }) {
				ids = append(ids, a.ID+ratios)
			}
		}
	case "association":
		if forested(a, rows) {
			ids = append(ids, a.ID)
		}
	case "change":
		ids = append(ids, a.ID)
	case "time-to-event", "recurrence":
		ids = append(ids, a.ID)
		if adjustedCurves(a, rows) {
			ids = append(ids, a.ID+adjusted)
		}
		if hasStates(a, rows) {
			ids = append(ids, a.ID+statesSuffix)
		}
	case "agreement":
		if agreed(a, rows) {
			ids = append(ids, a.ID)
		}
	}
	for _, c := range curvesOf(a, rows) {
		ids = append(ids, a.ID+c.suffix)
	}
	for _, v := range distributed(a, rows) {
		ids = append(ids, a.ID+distribution+v)
	}
	return ids
}

// forested reports whether an association has ratios to draw; the table of an
// outcome with categories has none.
func forested(a result.Analysis, rows []result.Row) bool {
	return !slices.ContainsFunc(rows, func(r result.Row) bool { return r.Analysis == a.ID && r.Part == "table" }) ||
		slices.ContainsFunc(rows, func(r result.Row) bool {
			return r.Analysis == a.ID && strings.HasSuffix(r.Measure, " ratio") && r.Part != "table"
		})
}

// curvesOf lists the figures of curves that an analysis has.
func curvesOf(a result.Analysis, rows []result.Row) (list []curveFigure) {
	for _, c := range curveFigures {
		list = append(list, c.of(a, rows)...)
	}
	return list
}

// Build makes the figure with the given id ("table-2"), one of those that IDs
// lists, from the rows of its analysis. Its error wraps plots.ErrNoData when
// no row has a value to draw, plots.ErrNoRoom when there are too many groups.
func Build(res *result.Results, id string) (*plots.Figure, error) {
	build := func(a result.Analysis, make func(s *source) (*plots.Figure, error)) (*plots.Figure, error) {
		f, err := make(&source{Analysis: a, rows: res.Of(a.ID, "")})
		if err != nil {
			return nil, fmt.Errorf("figure %q: %w", id, err)
		}
		return f, nil
	}
	if a, ok := res.Analysis(id); ok {
		return build(a, func(s *source) (*plots.Figure, error) { return s.build("") })
	}
	for _, a := range res.Analyses {
		suffix, ok := strings.CutPrefix(id, a.ID)
		if !ok {
			continue
		}
		for _, c := range curvesOf(a, res.Of(a.ID, "")) {
			if c.suffix == suffix {
				return build(a, func(s *source) (*plots.Figure, error) { return draw(s.curves(c.curveOf)) })
			}
		}
		if v, ok := strings.CutPrefix(suffix, distribution); ok && slices.Contains(distributed(a, res.Rows), v) {
			return build(a, func(s *source) (*plots.Figure, error) { return draw(s.distribution(v)) })
		}
		if suffix == ratios || suffix == adjusted || suffix == statesSuffix && hasStates(a, res.Rows) {
			return build(a, func(s *source) (*plots.Figure, error) { return s.build(suffix) })
		}
	}
	return nil, fmt.Errorf("figure %q: no analysis has it", id)
}

// build makes the figure of the analysis with the given suffix.
func (s *source) build(suffix string) (*plots.Figure, error) {
	switch {
	case s.Kind == "incidence" && suffix == ratios:
		return s.rateRatios().Draw()
	case s.Kind == "time-to-event" && suffix == adjusted:
		return drawSurvival(s.adjusted())
	case s.Kind == "recurrence" && suffix == statesSuffix:
		return drawStates(s.states())
	case suffix != "":
		return nil, fmt.Errorf("an analysis of kind %s has no figure of %s", s.Kind, strings.TrimPrefix(suffix, "-"))
	case s.Kind == "incidence":
		return s.ofRates()
	case s.Kind == "association":
		return s.association().Draw()
	case s.Kind == "time-to-event":
		return drawSurvival(s.survival())
	case s.Kind == "agreement":
		return draw(s.agreement())
	case s.Kind == "change":
		return draw(s.visits())
	case s.Kind == "recurrence":
		return drawMeanCount(s.meanCount())
	}
	return nil, fmt.Errorf("an analysis of kind %s has no figure", s.Kind)
}

// draw draws a figure unless there is nothing to draw.
func draw(d interface{ Draw() (*plots.Figure, error) }, err error) (*plots.Figure, error) {
	if err != nil {
		return nil, err
	}
	return d.Draw()
}
