package report

import (
	"strconv"
	"strings"

	"heelcohort/cmd/heelcohort/internal/printed"
)

// shareTime is the measure of a time by which a share has had the event.
const shareTime = "time by which a share has had the event"

// asPercentText is a share of a plan as a percentage.
func asPercentText(share string) string {
	p, err := strconv.ParseFloat(share, 64)
	if err != nil {
		return share
	}
	return strconv.FormatFloat(100*p, 'g', 6, 64)
}

// pairSheets shows the tests of each pair of groups, P as it was and adjusted
// for their number.
func pairSheets(b *block) []Sheet {
	rows := b.part("pairs")
	if len(rows) == 0 {
		return nil
	}
	s := newSheet(b.ID+"-pairs", b.Title+": pairs of groups")
	s.Columns = []Column{{Label: "Groups", Text: true}, {Label: printed.TestName(rows[0].Measure) + ", statistic"}, {Label: "P"}, {Label: "P adjusted"}}
	for _, r := range rows {
		if strings.HasSuffix(r.Measure, ", adjusted") {
			continue
		}
		cells := []Cell{words(b.comparedLabel(r.Variable, r.Term)), number(r, r.Statistic, ratio), s.p(r), words(dash)}
		if adjusted := b.find("pairs", nil, r.Variable, r.Term, r.Measure+", adjusted"); adjusted != nil {
			cells[3] = s.p(adjusted)
		}
		s.add(cells...)
	}
	note := "P adjusted for the number of pairs"
	if method := b.Setting("pairs"); method != "" {
		note += " by the method of " + method
	}
	return []Sheet{s.done(plainNote(note + "."))}
}
