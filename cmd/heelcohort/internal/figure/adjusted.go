package figure

import (
	"fmt"
	"slices"

	"heelcohort/cmd/heelcohort/internal/printed"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/plots"
)

// adjusted ends the id of the figure of adjusted survival curves.
const adjusted = "-adjusted"

// adjustedCurves reports whether an analysis has adjusted survival curves.
func adjustedCurves(a result.Analysis, rows []result.Row) bool {
	return a.Kind == "time-to-event" && slices.ContainsFunc(rows, func(r result.Row) bool {
		return r.Analysis == a.ID && r.Part == "adjusted curve" && r.At.Present()
	})
}

// adjusted is the figure of the curves that the model predicts were all its rows
// in each group. Nobody is at risk on them, and they have no table.
func (s *source) adjusted() (plots.Survival, error) {
	rows := slices.DeleteFunc(s.part("adjusted curve", "survival"), func(r result.Row) bool { return !r.At.Present() })
	if len(rows) == 0 {
		return plots.Survival{}, fmt.Errorf("%w: no rows of an adjusted curve", plots.ErrNoData)
	}
	f := plots.Survival{
		Title: s.Title + ": adjusted", XLabel: "Time", YLabel: "Without the event", Ticks: s.adjustedTicks(rows),
		Note: "By the Cox model, averaged over its rows with their other covariates as observed.",
	}
	if unit := s.timeUnit(); unit != "" {
		f.XLabel += " (" + unit + ")"
	}
	gaps := map[string]int{}
	for _, r := range rows {
		if !r.Estimate.Present() {
			gaps[absent(r)]++
		}
	}
	for _, r := range rows {
		if r.Level.Present() && (r.Lower.Present() || r.Upper.Present()) {
			f.Note = sentenceOf(f.Note, "Bands: pointwise "+printed.Level(float64(r.Level))+".")
			break
		}
	}
	f.Note = sentenceOf(f.Note, gapNote(gaps))
	for _, g := range s.groups(rows) {
		c := curve(rowsOf(rows, g))
		for i := range c.Censored { // of nobody
			c.AtRisk[i], c.Events[i], c.Censored[i] = 0, 0, 0
		}
		f.Curves = append(f.Curves, plots.SurvivalCurve{Name: s.groupName(g), Curve: c})
	}
	return f, nil
}

// adjustedTicks are those of the table of numbers at risk as far as the curves go,
// so that the figures can be compared; round times where they are few.
func (s *source) adjustedTicks(rows []result.Row) []float64 {
	end := slices.Max(times(rows))
	ticks := slices.DeleteFunc(times(s.part("risk-table", "at risk")), func(t float64) bool { return t > end })
	if len(ticks) < 3 {
		return roundTicks(times(rows))
	}
	return ticks
}
