package run

import (
	"fmt"
	"slices"
	"strconv"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/figure"
)

// bindFigure checks that the analysis has what its figure of rates needs.
func (s *incidence) bindFigure(m *cohort.Model) error {
	f := s.plan.Figure
	if f == nil {
		return nil
	}
	fault := func(format string, args ...any) error {
		return m.Plan.Fault(f.Position, "", fmt.Sprintf(format, args...))
	}
	switch {
	case f.Few != nil && f.Draw != figure.HeatMap:
		return fault("few goes with a heat map, expected none beside %s", f.Draw)
	case f.Axis != "" && f.Draw != figure.Dots:
		return fault("axis goes with dots, expected none beside %s", f.Draw)
	case f.Width != nil && f.Draw == figure.None:
		return fault("width goes with a figure, expected none beside none")
	case f.Draw == figure.HeatMap && len(s.by) != 2:
		return fault("a heat map shows rates by two variables, and by has %d", len(s.by))
	case f.Draw != figure.None && len(s.by) == 0:
		return fault("%s shows rates by group, and by has no variable", f.Draw)
	case f.Draw == figure.Curve && !slices.ContainsFunc(s.by, grouping.inBands):
		return fault("a curve runs over bands one after the other (6 to <8, 8 to <10), and no variable of by has them")
	}
	return nil
}

// inBands reports whether the levels are bands one after the other.
func (g grouping) inBands() bool {
	_, ok := figure.BandBounds(g.variable.Levels())
	return ok
}

// figureSettings notes the figure of rates.
func (s *incidence) figureSettings(b *builder) {
	if len(s.by) == 0 {
		return
	}
	f := s.plan.Figure
	draw := figure.Rates
	if f != nil {
		draw = f.Draw
	}
	b.set(figure.Setting, draw, f != nil)
	switch draw {
	case figure.HeatMap:
		few := figure.DefaultFew
		if f.Few != nil {
			few = *f.Few
		}
		b.set(figure.FewSetting, strconv.Itoa(few), f.Few != nil)
	case figure.Dots:
		axis := "log"
		if f.Axis != "" {
			axis = f.Axis
		}
		b.set(figure.AxisSetting, axis, f.Axis != "")
	}
	if f != nil && f.Width != nil {
		b.set(figure.WidthSetting, strconv.FormatFloat(*f.Width, 'f', -1, 64)+" mm", true)
	}
}
