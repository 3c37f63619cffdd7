package figure

import (
	"slices"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/plots"
)

// DistributionSetting is the setting of a description that wants figures of its
// variables with categories.
const DistributionSetting = "distributions"

// distribution begins the end of the id of a figure of a variable's
// distribution, which the variable's name follows.
const distribution = "-distribution-"

// distributionPart is the part whose counts a figure of distributions shows; ""
// for an analysis that has none.
func distributionPart(a result.Analysis) string {
	switch {
	case a.Kind == "association":
		return "table"
	case a.Kind == "describe" && a.Setting(DistributionSetting) != "":
		return "values"
	}
	return ""
}

// distributed lists the variables of which an analysis has counts in groups.
func distributed(a result.Analysis, rows []result.Row) (variables []string) {
	part := distributionPart(a)
	for _, r := range rows {
		if part != "" && r.Analysis == a.ID && r.Part == part && r.Measure == "count" && len(r.Groups) == 1 && !slices.Contains(variables, r.Variable) {
			variables = append(variables, r.Variable)
		}
	}
	return variables
}

// distribution is the figure of a variable's distribution in groups.
func (s *source) distribution(variable string) (plots.Distribution, error) {
	d := plots.Distribution{Title: s.Title + ": " + s.label(variable), XLabel: s.Described(variable).Label + ", % of the group"}
	var rows []result.Row
	var groups, levels []string
	by := ""
	for _, r := range s.part(distributionPart(s.Analysis), "count") {
		if r.Variable != variable || len(r.Groups) != 1 {
			continue
		}
		rows = append(rows, r)
		by = r.Groups[0].Variable
		if !slices.Contains(groups, r.Groups[0].Level) {
			groups = append(groups, r.Groups[0].Level)
		}
		if !slices.Contains(levels, r.Term) {
			levels = append(levels, r.Term)
		}
	}
	groups, levels = s.levels(by, groups), s.levels(variable, levels)
	d.GroupLabel, d.Groups, d.Levels = s.Described(by).Label, s.labels(by, groups), s.labels(variable, levels)
	for range groups {
		d.Counts = append(d.Counts, make([]int, len(levels)))
	}
	withheld := 0
	for _, r := range rows {
		if !r.Estimate.Present() {
			withheld++
			continue
		}
		d.Counts[slices.Index(groups, r.Groups[0].Level)][slices.Index(levels, r.Term)] = int(r.Estimate)
	}
	if withheld > 0 {
		d.Note = "Counts that are not shown are taken as 0."
	}
	return d, nil
}
