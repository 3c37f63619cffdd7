package report

import (
	"strings"

	"heelcohort/cmd/heelcohort/internal/result"
)

// robustSheets shows what could be wrong with an association: the confounding
// needed to explain it away, the errors of rating, the negative control.
func robustSheets(b *block, exposure string) []Sheet {
	var sheets []Sheet
	if rows := b.part("confounding"); len(rows) > 0 {
		s := newSheet(b.ID+"-confounding", b.Title+": unmeasured confounding needed to explain it away")
		s.Columns = []Column{{Label: b.unitLabel(exposure), Text: true}, {Label: "E-value"}, {Label: "E-value of the limit"}}
		for _, term := range termsOf(rows) {
			cells := []Cell{words(b.LevelLabel(exposure, term))}
			for _, m := range []string{"E-value", "E-value of the limit"} {
				if r := b.find("confounding", nil, exposure, term, m); r != nil {
					cells = append(cells, s.estimate(r, ratio, result.None()))
				} else {
					cells = append(cells, words(dash))
				}
			}
			s.add(cells...)
		}
		sheets = append(sheets, s.done())
	}
	if rows := b.part("misclassification"); len(rows) > 0 {
		s := newSheet(b.ID+"-misclassification", b.Title+": corrected for errors of rating")
		s.Columns = []Column{{Label: b.unitLabel(exposure), Text: true}}
		measures := distinctMeasures(rows)
		for _, m := range measures {
			s.Columns = append(s.Columns, Column{Label: upperFirst(m) + ": median (" + percentiles(rows) + ")"})
		}
		for _, term := range termsOf(rows) {
			cells := []Cell{words(b.LevelLabel(exposure, term))}
			for _, m := range measures {
				cells = append(cells, s.estimate(b.find("misclassification", nil, exposure, term, m), ratio, levelOfRows(rows...)))
			}
			s.add(cells...)
		}
		sheets = append(sheets, s.done())
	}
	return append(sheets, modelSheets(b, "control", "negative control, "+lowerFirst(b.label(b.Setting("negative control"))))...)
}

// percentiles names what the limits of draws are.
func percentiles(rows []*result.Row) string {
	if level := levelOfRows(rows...); level.Present() {
		return plain(100*float64(level)) + "% of draws"
	}
	return "percentiles of draws"
}

// layoutMultiplicity shows the P values of a family, adjusted for their number.
func layoutMultiplicity(b *block) []Sheet {
	s := newSheet(b.ID, b.Title)
	rows := b.part("family")
	s.Columns = []Column{{Label: "Test", Text: true}, {Label: "P"}, {Label: "Adjusted P (" + b.Setting("method") + ")"}}
	var notes []Note
	for _, r := range rows {
		if !r.Estimate.Present() {
			s.add(words(strings.ReplaceAll(r.Term, "/", ", ")), words(dash), words(dash))
			notes = append(notes, Note{Pieces: []Piece{{Text: r.Term + ": " + lowerFirst(sentence(r.Reason))}}})
			continue
		}
		was := *r
		was.P = r.Estimate
		s.add(words(strings.ReplaceAll(r.Term, "/", ", ")), s.p(&was), s.p(r))
	}
	for _, r := range rows {
		if r.N.Present() {
			notes = append(notes, Note{Pieces: []Piece{{Text: "Tests in the family: "}, {Text: count(float64(r.N)), Row: r.ID}, {Text: "."}}})
			break
		}
	}
	return []Sheet{s.done(notes...)}
}
