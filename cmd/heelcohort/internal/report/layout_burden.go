package report

import "heelcohort/cmd/heelcohort/internal/result"

// layoutBurden shows days lost: the burden of each group with its episodes, and
// the episodes by severity, a sheet a scheme.
func layoutBurden(b *block) []Sheet {
	rows := b.part("burden")
	if len(rows) == 0 {
		return nil
	}
	sheets := []Sheet{burdenSummary(b, rows)}
	bands := b.part("severity")
	var schemes []string
	for _, r := range bands {
		schemes = append(schemes, r.Variable)
	}
	for _, scheme := range unique(schemes) {
		sheets = append(sheets, severitySheet(b, scheme, bands))
	}
	return sheets
}

func burdenSummary(b *block, rows []*result.Row) Sheet {
	s := newSheet(b.ID, b.Title)
	var burdens, rates []*result.Row
	for _, r := range rows {
		switch r.Measure {
		case "burden":
			burdens = append(burdens, r)
		case "incidence rate":
			rates = append(rates, r)
		}
	}
	lost, per, unit := ratesWithUnit(burdens)
	rate, _, _ := ratesWithUnit(rates)
	level := levelOfRows(burdens...)
	s.Columns = []Column{
		{Label: "Group", Text: true},
		{Label: upperFirst(unitWord(b)) + " at risk"},
		{Label: "Episodes"},
		{Label: "Not finished"},
		{Label: "Days lost"},
		{Label: "Person-time" + unit},
		{Label: withLimits("Days lost"+per, level)},
		{Label: withLimits("Episodes"+per, levelOfRows(rates...))},
	}
	heading := ""
	for _, r := range burdens {
		if title, one := rateSection(b, r); title != heading {
			heading = title
			if one {
				s.Rows = append(s.Rows, section(title))
			}
		}
		days := b.find("burden", r.Groups, "", "", "days lost")
		cells := []Cell{
			groupCell(b, r.Groups), number(r, r.N, count), number(r, r.Events, count), number(r, r.Censored, count), words(dash),
			number(r, r.PersonTime, amount), s.estimate(r, lost, level),
			s.estimate(b.find("burden", r.Groups, "", "", "incidence rate"), rate, level),
		}
		if days != nil {
			cells[4] = number(days, days.Estimate, count)
		}
		s.add(cells...)
	}
	return s.done()
}

// groupCell names a group by its last level, under the heading of its section.
func groupCell(b *block, groups []result.Group) Cell {
	if n := len(groups); n > 0 {
		return indented(b.LevelLabel(groups[n-1].Variable, groups[n-1].Level))
	}
	return words("All")
}

// schemeTitles are the words for the schemes of severity.
var schemeTitles = map[string]string{
	"bahr-2020":   "severity (2020 consensus)",
	"fuller-2006": "severity (2006 football consensus)",
}

func severitySheet(b *block, scheme string, rows []*result.Row) Sheet {
	title := schemeTitles[scheme]
	if title == "" {
		title = "severity, " + scheme
	}
	s := newSheet(b.ID+"-"+scheme, b.Title+": "+title)
	var own, rates []*result.Row
	for _, r := range rows {
		if r.Variable == scheme {
			own = append(own, r)
			if r.Measure == "incidence rate" {
				rates = append(rates, r)
			}
		}
	}
	rate, per, _ := ratesWithUnit(rates)
	level := levelOfRows(rates...)
	s.Columns = []Column{{Label: "Days lost", Text: true}, {Label: "Episodes"}, {Label: withLimits("Episodes"+per, level)}}
	for _, g := range groupings(own) {
		s.Rows = append(s.Rows, section(b.groupLabel(g)))
		for _, term := range termsOf(own) {
			n := b.find("severity", g, scheme, term, "count")
			if n == nil {
				continue
			}
			s.add(indented(upperFirst(term)), number(n, n.Estimate, count), s.estimate(b.find("severity", g, scheme, term, "incidence rate"), rate, level))
		}
	}
	return s.done(plainNote("Not finished: the episode may yet come into a higher band."))
}
