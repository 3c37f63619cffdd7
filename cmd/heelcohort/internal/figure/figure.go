// Package figure builds the figures of a run from its result rows. It computes
// nothing: what a figure shows is an estimate, a limit or a count of a row.
//
// An incidence analysis with groups has the figure of its rates that its
// setting "figure" names (a rate plot, a heat map, a dot plot, a step curve over
// bands; a rate plot unless it names one) and a forest plot of its rate ratios,
// an association a forest plot of crude and adjusted odds ratios, a time-to-event
// analysis survival curves with their table of numbers at risk, a recurrence
// analysis mean cumulative counts with theirs, an agreement of numbers by two
// raters their differences against their means. A number that a row withholds is
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
	case "association", "time-to-event", "recurrence":
		ids = append(ids, a.ID)
	case "agreement":
		if agreed(a, rows) {
			ids = append(ids, a.ID)
		}
	}
	for _, c := range curveFigures {
		if c.of(a, rows) {
			ids = append(ids, a.ID+c.suffix)
		}
	}
	return ids
}

// suffixes ends the ids of figures that are not an analysis's first.
func suffixes() []string {
	list := []string{ratios}
	for _, c := range curveFigures {
		list = append(list, c.suffix)
	}
	return list
}

// Build makes the figure with the given id ("table-2"), one of those that IDs
// lists, from the rows of its analysis. Its error wraps plots.ErrNoData when
// no row has a value to draw, plots.ErrNoRoom when there are too many groups.
func Build(res *result.Results, id string) (*plots.Figure, error) {
	a, ok := res.Analysis(id)
	suffix := ""
	for _, end := range suffixes() {
		if base, has := strings.CutSuffix(id, end); has && !ok {
			suffix = end
			a, ok = res.Analysis(base)
		}
	}
	if !ok {
		return nil, fmt.Errorf("figure %q: no analysis has it", id)
	}
	s := &source{Analysis: a, rows: res.Of(a.ID, "")}
	f, err := s.build(suffix)
	if err != nil {
		return nil, fmt.Errorf("figure %q: %w", id, err)
	}
	return f, nil
}

// build makes the figure of the analysis with the given suffix.
func (s *source) build(suffix string) (*plots.Figure, error) {
	for _, c := range curveFigures {
		if suffix == c.suffix && s.Kind == c.kind {
			return draw(s.curves(c.curveOf))
		}
	}
	switch {
	case s.Kind == "incidence" && suffix == ratios:
		return s.rateRatios().Draw()
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
