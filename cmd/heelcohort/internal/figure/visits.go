package figure

import (
	"fmt"
	"math"
	"slices"

	"heelcohort/cmd/heelcohort/internal/printed"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/plots"
	"heelcohort/stats"
)

// visits is the figure of an analysis of change: means at the visits by group,
// over all where there are no groups.
func (s *source) visits() (plots.Visits, error) {
	means, days := s.part("values", "mean"), s.part("visits", "median day")
	f := plots.Visits{Title: s.Title}
	if len(means) == 0 || len(days) == 0 {
		return f, fmt.Errorf("%w: no rows of means at visits", plots.ErrNoData)
	}
	var visits []string
	for _, r := range days {
		visit := r.Groups[0]
		f.XLabel = s.label(visit.Variable)
		visits = append(visits, visit.Level)
		f.Visits, f.Days = append(f.Visits, s.LevelLabel(visit.Variable, visit.Level)), append(f.Days, float64(r.Estimate))
	}
	variable := s.Described(means[0].Variable)
	f.YLabel = variable.Label + ", mean"
	if variable.Unit != "" {
		f.YLabel += " in " + variable.Unit
	}
	f.YLabel += confidence(means)
	gaps := map[string]int{}
	for _, of := range visitGroups(means) {
		one := plots.VisitSeries{Name: s.groupName(of)}
		drawn := false
		for _, visit := range visits {
			e, n := stats.Estimate{Value: math.NaN()}, -1
			i := slices.IndexFunc(means, func(r result.Row) bool {
				last := len(r.Groups) - 1
				return slices.Equal(r.Groups[:last], of) && r.Groups[last].Level == visit
			})
			if i >= 0 {
				e = estimate(means[i])
				if means[i].N.Present() {
					n = int(means[i].N)
				}
				if math.IsNaN(e.Value) {
					gaps[absent(means[i])]++
				}
			}
			drawn = drawn || !math.IsNaN(e.Value)
			one.Estimates, one.Counts = append(one.Estimates, e), append(one.Counts, n)
		}
		if drawn {
			f.Series = append(f.Series, one)
		}
	}
	f.Note = gapNote(gaps)
	for _, r := range s.part("model", "test of group by visit") {
		if r.P.Present() {
			f.Note = sentenceOf(f.Note, "Group by visit, adjusted for the baseline: P "+printed.Relation(float64(r.P))+".")
		}
	}
	return f, nil
}

// visitGroups are the groups of means without their visit; over all is left
// out where there are others.
func visitGroups(means []result.Row) (list [][]result.Group) {
	for _, r := range means {
		of := r.Groups[:len(r.Groups)-1]
		if !slices.ContainsFunc(list, func(g []result.Group) bool { return slices.Equal(g, of) }) {
			list = append(list, of)
		}
	}
	if len(list) > 1 {
		list = slices.DeleteFunc(list, func(g []result.Group) bool { return len(g) == 0 })
	}
	return list
}
