package figure

import (
	"slices"
	"strings"

	"heelcohort/cmd/heelcohort/internal/printed"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/plots"
)

// mostRows is the number of rows of a forest plot that a page holds.
const mostRows = 48

// rateRatios is the forest plot of an incidence analysis: for each compared
// variable the ratios over all and within the levels of the other, then those
// of the model. Where a page would not hold them all, those within levels are
// left to the table, and the note says so.
func (s *source) rateRatios() plots.Forest {
	rows := s.part("ratios", "rate ratio")
	f := s.forest("rate ratio", append(slices.Clone(rows), s.part("model", "rate ratio")...))
	f.Title += ": rate ratios"
	f.CountHead = "Events"
	lines := func(within bool) []plots.ForestRow {
		var list []plots.ForestRow
		for _, block := range blocks(rows) {
			if within || len(block[0].Groups) == 0 {
				list = append(list, s.ratioBlock(s.ratioHeading(block[0]), block[0].Variable, block, s.eventsBeside(block[0]))...)
			}
		}
		return append(list, s.model("model", "rate ratio")...)
	}
	var notes []string
	f.Rows = lines(true)
	if len(f.Rows) > mostRows {
		all := len(f.Rows)
		if f.Rows = lines(false); len(f.Rows) < all {
			notes = append(notes, "Ratios within levels of the other variable: see the table.")
		}
	}
	if n := s.modelNote("model", "rate ratio"); n != "" {
		notes = append(notes, n)
	}
	f.Note = strings.Join(notes, " ")
	return f
}

// association is the forest plot of an association: crude odds ratios of the
// exposure, then the adjusted model; risk ratios where the model has those.
func (s *source) association() plots.Forest {
	measure := "odds ratio"
	if len(s.part("adjusted", "risk ratio")) > 0 {
		measure = "risk ratio"
	}
	crude := s.part("crude", measure)
	f := s.forest(measure, append(slices.Clone(crude), s.part("adjusted", measure)...))
	f.Title += ": " + measure + "s"
	f.CountHead = "Events/n"
	exposure := s.exposure(crude)
	counts := map[string]string{}
	for _, r := range s.part("counts", "") {
		if level, _, ok := s.LevelOf(&r, exposure); ok {
			counts[level] = printed.Fixed(float64(r.Events), 0) + "/" + printed.Fixed(float64(r.N), 0)
		}
	}
	f.Rows = append(s.ratioBlock(s.label(exposure)+", crude", exposure, crude, counts), s.model("adjusted", measure)...)
	f.Note = s.modelNote("adjusted", measure)
	return f
}

// modelNote says what a model rests on, or that it could not be fitted: then
// it has no ratios. A fitted model may lack a likelihood.
func (s *source) modelNote(part, measure string) string {
	fitted := len(s.part(part, measure)) > 0
	for _, r := range s.part(part, "log likelihood") {
		switch {
		case !fitted && !r.Estimate.Present():
			return "Adjusted model: " + absent(r) + "."
		case r.N.Present() && r.Events.Present():
			return "Adjusted model: n = " + printed.Fixed(float64(r.N), 0) + ", events " + printed.Fixed(float64(r.Events), 0) + "."
		}
	}
	return ""
}

// exposure is the name of the exposure: by the settings, or by the rows.
func (s *source) exposure(rows []result.Row) string {
	if name := s.Setting("exposure"); name != "" {
		return name
	}
	for _, r := range rows {
		if r.Variable != "" {
			return r.Variable
		}
		for _, v := range s.Variables {
			if _, _, ok := s.LevelOf(&r, v.Name); ok {
				return v.Name
			}
		}
	}
	return ""
}

// forest is a forest plot of ratios without its rows.
func (s *source) forest(measure string, rows []result.Row) plots.Forest {
	head := strings.ToUpper(measure[:1]) + measure[1:] + confidence(rows)
	return plots.Forest{Title: s.Title, XLabel: head, TextHead: head, Log: true, Null: 1}
}

// blocks sorts rows that compare the same variable within the same groups
// together, in the order of their first rows.
func blocks(rows []result.Row) [][]result.Row {
	var list [][]result.Row
	for _, r := range rows {
		i := slices.IndexFunc(list, func(b []result.Row) bool {
			return b[0].Variable == r.Variable && slices.Equal(b[0].Groups, r.Groups)
		})
		if i < 0 {
			list = append(list, []result.Row{r})
			continue
		}
		list[i] = append(list[i], r)
	}
	return list
}

// ratioHeading names a block of rate ratios: "Sport", or "Sport; current age:
// 6 to 7" within a level.
func (s *source) ratioHeading(r result.Row) string {
	heading := s.label(r.Variable)
	for _, g := range r.Groups {
		heading += "; " + s.label(g.Variable) + ": " + s.LevelLabel(g.Variable, g.Level)
	}
	return heading
}

// eventsBeside are the events of each level of the variable that a rate ratio
// compares, within the groups of the ratio. They come from the rows of the
// rates: those of the ratio count both levels together.
func (s *source) eventsBeside(ratio result.Row) map[string]string {
	counts := map[string]string{}
	for _, r := range s.part("rates", "incidence rate") {
		at := slices.IndexFunc(r.Groups, func(g result.Group) bool { return g.Variable == ratio.Variable })
		if at >= 0 && slices.Equal(slices.Delete(slices.Clone(r.Groups), at, at+1), ratio.Groups) {
			counts[r.Groups[at].Level] = printed.Fixed(float64(r.Events), 0)
		}
	}
	return counts
}

// ratioBlock is a heading with the levels of a variable in order, the
// reference among them, each with its count. Rows that name no level of the
// variable follow by their term.
func (s *source) ratioBlock(heading, variable string, rows []result.Row, counts map[string]string) []plots.ForestRow {
	if len(rows) == 0 {
		return nil
	}
	list := []plots.ForestRow{{Label: heading, Heading: true}}
	c := s.compare(rows, variable)
	for _, l := range s.Described(variable).Levels {
		line := plots.ForestRow{Label: s.LevelLabel(variable, l.Value)}
		if r, ok := c.byLevel[l.Value]; ok {
			line = ratioRow(line.Label, r)
		} else if l.Value == c.reference {
			line.NoValue = "1 (reference)"
		} else {
			continue
		}
		line.Count = counts[l.Value]
		list = append(list, line)
	}
	for _, r := range rows {
		if _, _, ok := s.LevelOf(&r, variable); !ok {
			label := s.LevelLabel(variable, r.Term)
			if r.Term == "" || r.Term == variable {
				label = "per unit"
			}
			list = append(list, ratioRow(label, r))
		}
	}
	return list
}

// ratioRow is the line of one ratio.
func ratioRow(label string, r result.Row) plots.ForestRow {
	line := plots.ForestRow{Label: label, Estimate: estimate(r)}
	if !r.Estimate.Present() {
		line.NoValue = absent(r)
		return line
	}
	line.Text = printed.Fixed(float64(r.Estimate), 2)
	if r.Lower.Present() || r.Upper.Present() {
		line.Text += " (" + printed.Fixed(float64(r.Lower), 2) + " to " + printed.Fixed(float64(r.Upper), 2) + ")"
	}
	return line
}

// model is the ratios of a model, a heading a variable.
func (s *source) model(part, measure string) []plots.ForestRow {
	rows := s.part(part, measure)
	var names []string
	byName := map[string][]result.Row{}
	for _, r := range rows {
		name := s.termVariable(r)
		names = append(names, name)
		byName[name] = append(byName[name], r)
	}
	var list []plots.ForestRow
	for _, name := range unique(names) {
		heading := "Adjusted"
		if name != "" {
			heading = s.label(name) + ", adjusted"
		}
		list = append(list, s.ratioBlock(heading, name, byName[name], nil)...)
	}
	return list
}

// termVariable is the variable that a coefficient belongs to, or "".
func (s *source) termVariable(r result.Row) string {
	if r.Variable != "" {
		return r.Variable
	}
	for _, v := range s.Variables {
		if _, _, ok := s.LevelOf(&r, v.Name); ok || r.Term == v.Name {
			return v.Name
		}
	}
	return ""
}
