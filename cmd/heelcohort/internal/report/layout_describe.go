package report

import (
	"slices"

	"heelcohort/cmd/heelcohort/internal/printed"
	"heelcohort/cmd/heelcohort/internal/result"
)

// layoutDescribe shows a description as the first table of a paper: a column
// for all and one for each group, below each variable its values and its
// missing codes.
func layoutDescribe(b *block) []Sheet {
	s := newSheet(b.ID, b.Title)
	groups := groupings(b.part("size"))
	by := ""
	for _, g := range groups {
		if len(g) > 0 {
			by = b.label(g[0].Variable)
		}
	}
	s.Columns = []Column{{Label: "Characteristic", Text: true}}
	sizes := []Cell{words("Number of " + unitWord(b))}
	for _, g := range groups {
		column := Column{Label: b.groupLabel(g), Group: by}
		if len(g) == 0 {
			column.Group = ""
		}
		s.Columns = append(s.Columns, column)
		size := b.find("size", g, "", "", "count")
		sizes = append(sizes, s.countCell(size))
	}
	extra := describeColumns(b)
	for _, c := range extra {
		s.Columns = append(s.Columns, c.column)
		sizes = append(sizes, blank())
	}
	s.add(sizes...)
	for _, name := range describedVariables(b) {
		first := len(s.Rows)
		if b.isNumber(name) {
			s.describeNumber(b, name, groups)
		} else {
			s.describeCategory(b, name, groups)
		}
		s.describeMissing(b, name, groups)
		shown := false // beside the first row of the variable that is no heading
		for i := first; i < len(s.Rows); i++ {
			if s.Rows[i].Section {
				continue
			}
			for _, c := range extra {
				cell := blank()
				if !shown {
					cell = c.cell(s, name)
				}
				s.Rows[i].Cells = append(s.Rows[i].Cells, cell)
			}
			shown = true
		}
	}
	return []Sheet{s.done(plainNote("SD: standard deviation. Percentages are of those with a value."))}
}

// A describeColumn is one beside the groups: P, or the standardised difference.
type describeColumn struct {
	column Column
	cell   func(s *sheetBuilder, variable string) Cell
}

func describeColumns(b *block) []describeColumn {
	var list []describeColumn
	if len(b.part("tests")) > 0 {
		list = append(list, describeColumn{Column{Label: "P"}, func(s *sheetBuilder, variable string) Cell {
			return s.p(b.find("tests", nil, variable, "", "test of no difference"))
		}})
	}
	if len(b.part("differences")) > 0 {
		list = append(list, describeColumn{Column{Label: "Standardised difference"}, func(s *sheetBuilder, variable string) Cell {
			return s.estimate(b.find("differences", nil, variable, "", "standardised difference"), ratio, result.None())
		}})
	}
	return list
}

// blank is a cell that says nothing.
func blank() Cell { return words("\u00a0") }

// unitWord is the unit of analysis, in the plural.
func unitWord(b *block) string {
	if b.Unit == "" {
		return "rows"
	}
	return b.Unit
}

// countCell is a cell with the estimate of a count row as a number.
func (b *sheetBuilder) countCell(r *result.Row) Cell {
	c := b.estimate(r, count, result.None())
	if r != nil && r.Estimate.Present() {
		c.Value = r.Estimate
	}
	return c
}

// describedVariables lists the variables in the order of their rows.
func describedVariables(b *block) []string {
	var names []string
	for _, r := range b.rows {
		if (r.Part == "values" || r.Part == "missing") && !slices.Contains(names, r.Variable) {
			names = append(names, r.Variable)
		}
	}
	return names
}

// isNumber reports whether the described variable has a mean or a median.
func (b *block) isNumber(name string) bool {
	return slices.ContainsFunc(b.rows, func(r result.Row) bool {
		return r.Part == "values" && r.Variable == name && r.Term == "" && (r.Measure == "mean" || r.Measure == "median")
	})
}

// describeNumber adds the rows of a number: n, mean (SD), median (quartiles).
func (b *sheetBuilder) describeNumber(data *block, name string, groups [][]result.Group) {
	value := func(g []result.Group, measure string) *result.Row { return data.find("values", g, name, "", measure) }
	decimals := 1
	var places []float64
	for _, g := range groups {
		if sd := value(g, "standard deviation"); sd != nil && sd.Estimate.Present() && len(places) == 0 {
			decimals = printed.SpreadDecimals(float64(sd.Estimate))
		}
		for _, measure := range []string{"lower quartile", "median", "upper quartile"} {
			if r := value(g, measure); r != nil && r.Estimate.Present() {
				places = append(places, float64(r.Estimate))
			}
		}
	}
	means := func(x float64) string { return printed.Fixed(x, decimals) }
	few := neededDecimals(places, decimals)
	medians := func(x float64) string { return printed.Fixed(x, few) }

	b.Rows = append(b.Rows, section(data.unitLabel(name)))
	n, mean, median := []Cell{indented("Number with a value")}, []Cell{indented("Mean (SD)")},
		[]Cell{indented("Median (lower to upper quartile)")}
	for _, g := range groups {
		withValue := value(g, "mean")
		if withValue == nil {
			withValue = value(g, "median")
		}
		if withValue == nil {
			n = append(n, words(dash))
		} else {
			n = append(n, number(withValue, withValue.N, count))
		}
		mean = append(mean, b.joined(means, "", value(g, "mean"), " (", value(g, "standard deviation"), ")"))
		median = append(median, b.joined(medians, "", value(g, "median"), " (", value(g, "lower quartile"), " to ",
			value(g, "upper quartile"), ")"))
	}
	b.add(n...)
	b.add(mean...)
	b.add(median...)
}

// joined is a cell of several rows' estimates with words between them. When
// the first is not there the cell says so alone.
func (b *sheetBuilder) joined(format func(float64) string, parts ...any) Cell {
	c := Cell{Value: result.None()}
	first := true
	for _, part := range parts {
		switch part := part.(type) {
		case string:
			if part != "" {
				c.Pieces = append(c.Pieces, Piece{Text: part})
			}
		case *result.Row:
			one := b.estimate(part, format, result.None())
			if first && (part == nil || !part.Estimate.Present()) {
				return one
			}
			first = false
			c.Pieces = append(c.Pieces, one.Pieces...)
			c.Marks = append(c.Marks, one.Marks...)
		}
	}
	c.Marks = unique(c.Marks)
	return c
}

// describeCategory adds a row for each level: n (%).
func (b *sheetBuilder) describeCategory(data *block, name string, groups [][]result.Group) {
	b.Rows = append(b.Rows, section(data.unitLabel(name)+", n (%)"))
	var levels []string
	for _, r := range data.rows {
		if r.Part == "values" && r.Variable == name && r.Measure == "count" && !slices.Contains(levels, r.Term) {
			levels = append(levels, r.Term)
		}
	}
	if len(levels) == 0 {
		b.add(b.pad([]Cell{indented("No values")})...)
	}
	for _, level := range levels {
		cells := []Cell{indented(data.LevelLabel(name, level))}
		for _, g := range groups {
			n := data.find("values", g, name, level, "count")
			share := data.find("values", g, name, level, "percent")
			if n == nil {
				cells = append(cells, words(dash))
				continue
			}
			shareOf := result.None()
			if share != nil {
				shareOf = share.Estimate
			}
			cells = append(cells, b.share(n, n.Estimate, share, shareOf))
		}
		b.add(cells...)
	}
}

// describeMissing adds a row for each missing code that occurs.
func (b *sheetBuilder) describeMissing(data *block, name string, groups [][]result.Group) {
	var codes []string
	for _, r := range data.rows {
		if r.Part == "missing" && r.Variable == name && !slices.Contains(codes, r.Term) {
			codes = append(codes, r.Term)
		}
	}
	for _, code := range codes {
		cells := []Cell{indented("Missing: " + missingLabel(data.Described(name), code))}
		occurs := false
		for _, g := range groups {
			r := data.find("missing", g, name, code, "count")
			occurs = occurs || r != nil && r.Estimate != 0
			cells = append(cells, b.countCell(r))
		}
		if occurs {
			b.add(cells...)
		}
	}
}

// missingLabel names a missing code: "not measured (NM)".
func missingLabel(v result.Variable, code string) string {
	for _, l := range v.Missing {
		if l.Value == code && l.Label != "" && l.Label != code {
			if code == "" {
				return l.Label
			}
			return l.Label + " (" + code + ")"
		}
	}
	if code == "" {
		return "empty cell"
	}
	return code
}
