package report

import (
	"slices"
	"strings"

	"heelcohort/cmd/heelcohort/internal/result"
)

// A block is one analysis with its rows, ready to be laid out.
type block struct {
	result.Analysis
	rows  []result.Row
	byKey map[string]int // position in rows
}

// newBlock collects the rows of an analysis.
func newBlock(res *result.Results, a result.Analysis) *block {
	b := &block{Analysis: a, rows: res.Of(a.ID, ""), byKey: map[string]int{}}
	for i, r := range b.rows {
		b.byKey[key(r.Part, r.Groups, r.Variable, r.Term, r.Measure, r.At)] = i
	}
	return b
}

// key tells rows of one analysis apart.
func key(part string, groups []result.Group, variable, term, measure string, at result.Number) string {
	parts := []string{part, variable, term, measure, at.String()}
	for _, g := range groups {
		parts = append(parts, g.Variable, g.Level)
	}
	return strings.Join(parts, "\x00")
}

// find is the row with the given key, or nil.
func (b *block) find(part string, groups []result.Group, variable, term, measure string) *result.Row {
	return b.findAt(part, groups, variable, term, measure, result.None())
}

// findAt is the row with the given key and time, or nil.
func (b *block) findAt(part string, groups []result.Group, variable, term, measure string, at result.Number) *result.Row {
	if i, ok := b.byKey[key(part, groups, variable, term, measure, at)]; ok {
		return &b.rows[i]
	}
	return nil
}

// part lists the rows of a part.
func (b *block) part(name string) []*result.Row {
	var rows []*result.Row
	for i := range b.rows {
		if b.rows[i].Part == name {
			rows = append(rows, &b.rows[i])
		}
	}
	return rows
}

// groupings lists the distinct groups of rows in their order.
func groupings(rows []*result.Row) [][]result.Group {
	var list [][]result.Group
	for _, r := range rows {
		if !slices.ContainsFunc(list, func(g []result.Group) bool { return slices.Equal(g, r.Groups) }) {
			list = append(list, r.Groups)
		}
	}
	return list
}

// variable describes a variable; one that the analysis does not list is known
// by its name alone.
func (b *block) variable(name string) result.Variable {
	v, ok := b.Analysis.Variable(name)
	if !ok || v.Label == "" {
		v.Name, v.Label = name, name
	}
	return v
}

// label is a variable's label.
func (b *block) label(name string) string { return b.variable(name).Label }

// unitLabel is a variable's label with its unit.
func (b *block) unitLabel(name string) string {
	v := b.variable(name)
	if v.Unit == "" {
		return v.Label
	}
	return v.Label + ", " + v.Unit
}

// levelLabel is the label of a level, or the level itself.
func (b *block) levelLabel(variable, level string) string {
	return labelIn(b.variable(variable).Levels, level)
}

// labelIn is the label of value; true and false read Yes and No.
func labelIn(levels []result.Level, value string) string {
	for _, l := range levels {
		if l.Value == value && l.Label != "" {
			return l.Label
		}
	}
	switch value {
	case "true":
		return "Yes"
	case "false":
		return "No"
	case "":
		return "(empty)"
	}
	return value
}

// groupLabel names a group: "All", "Normal", "10 to 11, Football".
func (b *block) groupLabel(groups []result.Group) string {
	if len(groups) == 0 {
		return "All"
	}
	labels := make([]string, len(groups))
	for i, g := range groups {
		labels[i] = b.levelLabel(g.Variable, g.Level)
	}
	return strings.Join(labels, ", ")
}

// setting is the value of a setting of the analysis, or "".
func (b *block) setting(name string) string {
	for _, s := range b.Settings {
		if s.Key == name {
			return s.Value
		}
	}
	return ""
}

// levelOf is the level of variable that the row's term names: "pronated",
// "arch=pronated" or "pronated vs normal", the last with its reference.
func (b *block) levelOf(r *result.Row, variable string) (level, reference string, ok bool) {
	levels := b.variable(variable).Levels
	term, named := strings.CutPrefix(r.Term, variable+"=")
	if r.Variable != variable && r.Variable != "" && !named {
		return "", "", false
	}
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

// levelRows are the rows that compare the levels of a variable, by level, and
// the reference, "" when it is not known.
func (b *block) levelRows(rows []*result.Row, variable string) (byLevel map[string]*result.Row, reference string) {
	byLevel = map[string]*result.Row{}
	for _, r := range rows {
		if level, against, ok := b.levelOf(r, variable); ok {
			byLevel[level] = r
			if against != "" {
				reference = against
			}
		}
	}
	if reference != "" || len(byLevel) == 0 {
		return byLevel, reference
	}
	for _, name := range []string{"reference." + variable, "reference " + variable, "reference"} {
		for _, l := range b.variable(variable).Levels {
			if b.setting(name) == l.Value && byLevel[l.Value] == nil {
				return byLevel, l.Value
			}
		}
	}
	missing := []string{}
	for _, l := range b.variable(variable).Levels {
		if byLevel[l.Value] == nil {
			missing = append(missing, l.Value)
		}
	}
	if len(missing) == 1 {
		return byLevel, missing[0]
	}
	return byLevel, ""
}
