package figure

import (
	"slices"
	"strings"

	"heelcohort/cmd/heelcohort/internal/printed"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/stats"
)

// A source is one analysis with its rows.
type source struct {
	result.Analysis
	rows []result.Row
}

// part lists the rows of a part that have the measure; of every measure when
// it is "".
func (s *source) part(name, measure string) []result.Row {
	var rows []result.Row
	for _, r := range s.rows {
		if r.Part == name && (measure == "" || r.Measure == measure) {
			rows = append(rows, r)
		}
	}
	return rows
}

// label is a variable's label with its unit.
func (s *source) label(name string) string {
	v := s.Described(name)
	if v.Unit == "" {
		return v.Label
	}
	return v.Label + " (" + v.Unit + ")"
}

// levels lists the levels of a variable in order, then those that only rows
// name, in the order of the rows.
func (s *source) levels(variable string, named []string) []string {
	var list []string
	for _, l := range s.Described(variable).Levels {
		if slices.Contains(named, l.Value) {
			list = append(list, l.Value)
		}
	}
	for _, n := range named {
		if !slices.Contains(list, n) {
			list = append(list, n)
		}
	}
	return list
}

// A comparison holds the rows that compare the levels of one variable.
type comparison struct {
	byLevel   map[string]result.Row
	reference string // "" when it is not known
}

// compare sorts rows by the level of variable that they are about. The
// reference is the one that the terms name, else the one that the settings
// name, else the only level without a row.
func (s *source) compare(rows []result.Row, variable string) comparison {
	c := comparison{byLevel: map[string]result.Row{}}
	for _, r := range rows {
		if level, against, ok := s.LevelOf(&r, variable); ok {
			c.byLevel[level] = r
			if against != "" {
				c.reference = against
			}
		}
	}
	if len(c.byLevel) > 0 {
		c.reference = s.Reference(variable, c.reference, func(level string) bool { _, has := c.byLevel[level]; return has })
	}
	return c
}

// estimate is the estimate of a row as it stands.
func estimate(r result.Row) stats.Estimate {
	return stats.Estimate{
		Measure: r.Measure, Term: r.Term, Value: float64(r.Estimate), Lower: float64(r.Lower), Upper: float64(r.Upper),
		SE: float64(r.SE), Level: float64(r.Level), P: float64(r.P), Method: r.Method,
	}
}

// absent is what stands in the place of an estimate, by the row's reason.
func absent(r result.Row) string {
	if strings.Contains(strings.ToLower(r.Reason), "suppress") {
		return "suppressed"
	}
	return "not estimable"
}

// confidence is the level of the first row that has one, as in " (95% CI)".
func confidence(rows []result.Row) string {
	for _, r := range rows {
		if r.Level.Present() {
			return " (" + printed.Level(float64(r.Level)) + ")"
		}
	}
	return ""
}
