package figure

import (
	"slices"
	"strings"

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

// variable describes a variable; one that the analysis does not list is known
// by its name alone.
func (s *source) variable(name string) result.Variable {
	v, ok := s.Analysis.Variable(name)
	if !ok || v.Label == "" {
		v.Name, v.Label = name, name
	}
	return v
}

// label is a variable's label with its unit.
func (s *source) label(name string) string {
	v := s.variable(name)
	if v.Unit == "" {
		return v.Label
	}
	return v.Label + " (" + v.Unit + ")"
}

// levelLabel is the label of a level, or the level itself.
func (s *source) levelLabel(variable, level string) string {
	for _, l := range s.variable(variable).Levels {
		if l.Value == level && l.Label != "" {
			return l.Label
		}
	}
	switch level {
	case "true":
		return "Yes"
	case "false":
		return "No"
	case "":
		return "(empty)"
	}
	return level
}

// levels lists the levels of a variable in order, then those that only rows
// name, in the order of the rows.
func (s *source) levels(variable string, named []string) []string {
	var list []string
	for _, l := range s.variable(variable).Levels {
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

// setting is the value of a setting of the analysis, or "".
func (s *source) setting(name string) string {
	for _, set := range s.Settings {
		if set.Key == name {
			return set.Value
		}
	}
	return ""
}

// level is the level of variable that the row's term names: "pronated",
// "arch=pronated" or "pronated vs normal", the last with its reference.
func (s *source) level(r result.Row, variable string) (level, reference string, ok bool) {
	term, named := strings.CutPrefix(r.Term, variable+"=")
	if r.Variable != variable && r.Variable != "" && !named {
		return "", "", false
	}
	levels := s.variable(variable).Levels
	for _, l := range levels {
		if l.Value == term {
			return term, "", true
		}
		rest, found := strings.CutPrefix(term, l.Value+" vs ")
		if found && slices.ContainsFunc(levels, func(other result.Level) bool { return other.Value == rest }) {
			return l.Value, rest, true
		}
	}
	return "", "", false
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
		if level, against, ok := s.level(r, variable); ok {
			c.byLevel[level] = r
			if against != "" {
				c.reference = against
			}
		}
	}
	if c.reference != "" || len(c.byLevel) == 0 {
		return c
	}
	var without []string
	for _, l := range s.variable(variable).Levels {
		if _, has := c.byLevel[l.Value]; !has {
			without = append(without, l.Value)
		}
	}
	for _, key := range []string{"reference." + variable, "reference " + variable, "reference"} {
		if v := s.setting(key); slices.Contains(without, v) {
			c.reference = v
			return c
		}
	}
	if len(without) == 1 {
		c.reference = without[0]
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
			return " (" + percent(float64(r.Level)) + " CI)"
		}
	}
	return ""
}
