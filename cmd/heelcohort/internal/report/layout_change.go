package report

import (
	"slices"
	"strings"

	"heelcohort/cmd/heelcohort/internal/result"
)

// layoutChange shows a number over visits: means and changes of each group, the
// groups against the reference by the model, the share that reach the threshold,
// and the time until then.
func layoutChange(b *block) []Sheet {
	sheets := []Sheet{changeMeans(b)}
	if rows := b.part("adjusted"); len(rows) > 0 {
		sheets = append(sheets, changeDifferences(b, rows))
	}
	if rows := b.part("reached"); len(rows) > 0 {
		sheets = append(sheets, changeReached(b, rows))
	}
	if rows := b.part("time"); len(rows) > 0 {
		s := newSheet(b.ID+"-time", b.Title+": subjects in the time to the threshold")
		s.Columns = []Column{{Label: groupHeading(b, groupings(rows)), Text: true}, {Label: "Subjects"}, {Label: "Reached it"}, {Label: "Not reached"}}
		for _, r := range rows {
			s.add(words(b.groupLabel(r.Groups)), s.countCell(r), number(r, r.Events, count), number(r, r.Censored, count))
		}
		sheets = append(sheets, s.done())
	}
	sheets = append(sheets, betweenSheets(b)...)
	return append(sheets, modelSheets(b, "model", "marginal linear model")...)
}

// withVisit are the groups of a row of a group at a visit.
func withVisit(of []result.Group, visit result.Group) []result.Group {
	return append(slices.Clone(of), visit)
}

// visitsOf lists the visits in their order, and the groups of the sizes.
func visitsOf(b *block) (visits []result.Group, groups [][]result.Group) {
	for _, r := range b.part("visits") {
		visits = append(visits, r.Groups[0])
	}
	return visits, groupings(b.part("size"))
}

func changeMeans(b *block) Sheet {
	s := newSheet(b.ID, b.Title)
	visits, groups := visitsOf(b)
	name := b.Setting("value")
	level := levelOfRows(append(b.part("values"), b.part("change")...)...)
	value := b.unitLabel(name)
	s.Columns = []Column{
		{Label: "Visit", Text: true},
		{Group: value, Label: "n"},
		{Group: value, Label: withLimits("Mean", level)},
		{Group: value, Label: "SD"},
		{Group: value, Label: "Missing", Text: true},
		{Group: "Change from the baseline", Label: "n"},
		{Group: "Change from the baseline", Label: withLimits("Mean", level)},
		{Group: "Change from the baseline", Label: "SD"},
	}
	for _, g := range groups {
		heading := section(b.groupLabel(g))
		if size := b.find("size", g, "", "", "subjects"); size != nil {
			heading = section(b.groupLabel(g) + " (" + count(float64(size.Estimate)) + " subjects)")
		}
		s.Rows = append(s.Rows, heading)
		for _, v := range visits {
			at := withVisit(g, v)
			mean, change := b.find("values", at, name, "", "mean"), b.find("change", at, name, "", "mean change")
			cells := []Cell{
				indented(b.LevelLabel(v.Variable, v.Level)), number(mean, mean.N, count), s.estimate(mean, oneDecimal, level),
				s.estimate(b.find("values", at, name, "", "standard deviation"), oneDecimal, result.None()), changeMissing(b, at, name),
			}
			if change == nil {
				cells = append(cells, words(dash), words("0 (baseline)"), words(dash))
			} else {
				cells = append(cells, number(change, change.N, count), s.estimate(change, oneDecimal, level),
					s.estimate(b.find("change", at, name, "", "standard deviation of the change"), oneDecimal, result.None()))
			}
			s.add(cells...)
		}
	}
	return s.done(plainNote("SD: standard deviation. Change is of the subjects with a value at the baseline and at the visit."))
}

// changeMissing lists what is missing at a visit: "no visit 3, not measured (NM)
// 2".
func changeMissing(b *block, at []result.Group, name string) Cell {
	c := Cell{Value: result.None()}
	add := func(what string, r *result.Row) {
		if r == nil || r.Estimate == 0 {
			return
		}
		if len(c.Pieces) > 0 {
			what = ", " + what
		}
		shown := absentWord(r)
		if r.Estimate.Present() {
			shown = count(float64(r.Estimate))
		}
		c.Pieces = append(c.Pieces, Piece{Text: what + " "}, Piece{Text: shown, Row: r.ID})
	}
	add("no visit", b.find("missing", at, name, "", "no visit"))
	for _, r := range b.part("missing") {
		if r.Measure == "count" && slices.Equal(r.Groups, at) {
			add(missingLabel(b.Described(name), r.Term), r)
		}
	}
	if len(c.Pieces) == 0 {
		return words("0")
	}
	return c
}

func changeDifferences(b *block, rows []*result.Row) Sheet {
	s := newSheet(b.ID+"-differences", b.Title+": change by the model")
	differences := b.part("differences")
	level, unit := levelOfRows(append(slices.Clone(rows), differences...)...), comma(rows[0].Unit)
	s.Columns = []Column{
		{Label: groupHeading(b, groupings(rows)), Text: true},
		{Label: withLimits("Mean change"+unit, level)},
		{Label: withLimits("Difference"+unit, level)},
		{Label: "P"},
	}
	visit := ""
	for _, r := range rows {
		if r.Groups[1].Level != visit {
			visit = r.Groups[1].Level
			s.Rows = append(s.Rows, section(b.LevelLabel(r.Groups[1].Variable, visit)))
		}
		cells := []Cell{indented(b.LevelLabel(r.Groups[0].Variable, r.Groups[0].Level)), s.estimate(r, oneDecimal, level)}
		at := slices.IndexFunc(differences, func(d *result.Row) bool { return slices.Equal(d.Groups, r.Groups) })
		if at < 0 {
			cells = append(cells, words("0 (reference)"), words(dash))
		} else {
			cells = append(cells, s.estimate(differences[at], oneDecimal, level), s.p(differences[at]))
		}
		s.add(cells...)
	}
	notes := []Note{plainNote("Mean change of each group at the mean of the baseline and of all else in the model.")}
	for _, r := range b.part("model size") {
		n := Note{Pieces: []Piece{{Text: "Model of "}, {Text: count(float64(r.N)) + " values", Row: r.ID}, {Text: " in "}, {Text: count(float64(r.Estimate)) + " clusters", Row: r.ID}, {Text: "."}}}
		for _, w := range r.Warnings {
			n.Pieces = append(n.Pieces, Piece{Text: " " + sentence(w)})
		}
		if r.Estimate.Present() {
			notes = append(notes, n)
		}
	}
	for _, r := range b.part("model") {
		if strings.HasPrefix(r.Measure, "test of ") {
			notes = append(notes, testNote(r, upperFirst(r.Measure)))
		}
	}
	return s.done(notes...)
}

func changeReached(b *block, rows []*result.Row) Sheet {
	s := newSheet(b.ID+"-reached", b.Title+": "+b.Setting("threshold"))
	_, groups := visitsOf(b)
	shares, differences := pick(rows, "proportion"), pick(rows, "risk difference")
	level := levelOfRows(rows...)
	s.Columns = []Column{
		{Label: groupHeading(b, groups), Text: true}, {Label: "Subjects with both values"}, {Label: "Reached it"}, {Label: withLimits("Percent", level)},
	}
	if len(differences) > 0 {
		s.Columns = append(s.Columns, Column{Label: withLimits("Risk difference, percentage points", level)})
	}
	visit := ""
	for _, r := range shares {
		at := r.Groups[len(r.Groups)-1]
		if at.Level != visit {
			visit = at.Level
			s.Rows = append(s.Rows, section(b.LevelLabel(at.Variable, visit)))
		}
		of := r.Groups[:len(r.Groups)-1]
		cells := []Cell{indented(b.groupLabel(of)), number(r, r.N, count), number(r, r.Events, count), s.estimate(r, asPercent(float64(r.N)), level)}
		if len(differences) > 0 {
			i := slices.IndexFunc(differences, func(d *result.Row) bool { return slices.Equal(d.Groups, r.Groups) })
			switch {
			case i >= 0:
				cells = append(cells, s.estimate(differences[i], asPoints, level))
			case len(of) == 0:
				cells = append(cells, words(dash))
			default:
				cells = append(cells, words("0 (reference)"))
			}
		}
		s.add(cells...)
	}
	return s.done()
}
