package figure

import (
	"fmt"
	"slices"
	"strings"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/plots"
)

// statesSuffix ends the id of the figure of the states of an analysis of
// recurrence.
const statesSuffix = "-states"

// stacked lists the states from the bottom of the figure up: those who are well,
// those in a spell, those who have given up.
var stacked = []string{"before the first spell", "back", "symptomatic", "relapsed", "gave up"}

// hasStates reports whether an analysis has shares of states at days.
func hasStates(a result.Analysis, rows []result.Row) bool {
	return a.Kind == "recurrence" && slices.ContainsFunc(rows, func(r result.Row) bool {
		return r.Analysis == a.ID && r.Part == "states" && r.At.Present()
	})
}

// states is the figure of the states.
func (s *source) states() (plots.Occupancy, error) {
	rows, table := s.part("states", "state occupancy"), s.part("states risk-table", "under observation")
	rows = slices.DeleteFunc(slices.Clone(rows), func(r result.Row) bool { return !r.At.Present() })
	if len(rows) == 0 {
		return plots.Occupancy{}, fmt.Errorf("%w: no rows of states", plots.ErrNoData)
	}
	f := plots.Occupancy{Title: s.Title + ": states", XLabel: "Days since the first onset", YLabel: "Children, %", Note: s.statesNote(rows)}
	if s.Setting("clock of the states") != "onset: the first known onset of each child" {
		f.XLabel = "Days"
	}
	for _, state := range stacked {
		if slices.ContainsFunc(rows, func(r result.Row) bool { return r.Term == state }) {
			f.States = append(f.States, state)
		}
	}
	ticks, tabled := curveTicks(table, rows)
	f.Ticks = ticks
	for _, g := range s.groups(append(slices.Clone(table), rows...)) {
		own := rowsOf(rows, g)
		p := plots.OccupancyPanel{Name: s.groupName(g), Time: times(own)}
		for _, state := range f.States {
			shares := make([]float64, len(p.Time))
			for i, at := range p.Time {
				shares[i] = float64(result.None())
				for _, r := range own {
					if r.Term == state && float64(r.At) == at {
						shares[i] = float64(r.Estimate)
					}
				}
			}
			p.Share = append(p.Share, shares)
		}
		if tabled {
			p.Observed, _, _ = counts(rowsOf(table, g), f.Ticks)
		}
		f.Panels = append(f.Panels, p)
	}
	return f, nil
}

// statesNote says what is taken of states nobody is seen in, and where a share is
// withheld.
func (s *source) statesNote(rows []result.Row) string {
	gaps := map[string]int{}
	for _, r := range rows {
		if !r.Estimate.Present() {
			gaps[absent(r)]++
		}
	}
	var parts []string
	if share := s.Setting("share that may be in states without anybody under observation"); share != "" && share != "0" {
		parts = append(parts, "States in which nobody is under observation any more are taken to hold what they held, up to a share of "+share+" together.")
	}
	if n := gapNote(gaps); n != "" {
		parts = append(parts, n)
	}
	return strings.Join(parts, " ")
}

// drawStates draws the figure.
func drawStates(f plots.Occupancy, err error) (*plots.Figure, error) {
	if err != nil {
		return nil, err
	}
	return thinned(&f.Ticks, func() (*plots.Figure, error) { return f.Draw() }, func() {
		for i := range f.Panels {
			f.Panels[i].Observed = halved(f.Panels[i].Observed)
		}
	})
}
