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

// label is a variable's label.
func (b *block) label(name string) string { return b.Described(name).Label }

// unitLabel is a variable's label with its unit.
func (b *block) unitLabel(name string) string {
	v := b.Described(name)
	if v.Unit == "" {
		return v.Label
	}
	return v.Label + ", " + v.Unit
}

// groupLabel names a group: "All", "Normal", "10 to 11, Football".
func (b *block) groupLabel(groups []result.Group) string {
	if len(groups) == 0 {
		return "All"
	}
	labels := make([]string, len(groups))
	for i, g := range groups {
		labels[i] = b.LevelLabel(g.Variable, g.Level)
	}
	return strings.Join(labels, ", ")
}

// levelRows are the rows that compare the levels of a variable, by level, and
// the reference, "" when it is not known.
func (b *block) levelRows(rows []*result.Row, variable string) (byLevel map[string]*result.Row, reference string) {
	byLevel = map[string]*result.Row{}
	for _, r := range rows {
		if level, against, ok := b.LevelOf(r, variable); ok {
			byLevel[level] = r
			if against != "" {
				reference = against
			}
		}
	}
	if len(byLevel) > 0 {
		reference = b.Reference(variable, reference, func(level string) bool { return byLevel[level] != nil })
	}
	return byLevel, reference
}
