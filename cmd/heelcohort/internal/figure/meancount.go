package figure

import (
	"fmt"
	"slices"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/plots"
	"heelcohort/stats"
)

// meanCount is the figure of an analysis of recurrence.
func (s *source) meanCount() (plots.MeanCount, error) {
	curves, table := s.part("curve", "mean cumulative count"), s.part("risk-table", "at risk")
	if len(curves) == 0 {
		return plots.MeanCount{}, fmt.Errorf("%w: no rows of a count", plots.ErrNoData)
	}
	f := plots.MeanCount{Title: s.Title, XLabel: "Time (days)", YLabel: "Mean spells per child", Note: s.survivalNote(curves)}
	if s.Setting("days of a spell and the gap after it in the count") == "left-out" {
		f.YLabel = "Cumulative rate of spells"
	}
	ticks, tabled := curveTicks(table, curves)
	f.Ticks = ticks
	for _, g := range s.groups(append(slices.Clone(table), curves...)) {
		c := plots.MeanCountCurve{Name: s.groupName(g), Curve: countCurve(rowsOf(curves, g))}
		if tabled {
			c.AtRisk, c.Events, _ = counts(rowsOf(table, g), f.Ticks)
		}
		for i, t := range f.Ticks { // the count is known where somebody is at risk
			if tabled && c.AtRisk[i] > 0 {
				c.End = t
			}
		}
		f.Curves = append(f.Curves, c)
	}
	return f, nil
}

// countCurve is the curve of the rows of one group.
func countCurve(rows []result.Row) stats.CountCurve {
	k := curve(rows)
	return stats.CountCurve{Time: k.Time, AtRisk: k.AtRisk, Events: k.Events, Count: k.Survival, SE: k.SE, Lower: k.Lower, Upper: k.Upper}
}

// drawMeanCount draws the figure.
func drawMeanCount(f plots.MeanCount, err error) (*plots.Figure, error) {
	if err != nil {
		return nil, err
	}
	return thinned(&f.Ticks, func() (*plots.Figure, error) { return f.Draw() }, func() {
		for i := range f.Curves {
			c := &f.Curves[i]
			c.AtRisk, c.Events = halved(c.AtRisk), halved(c.Events)
		}
	})
}
