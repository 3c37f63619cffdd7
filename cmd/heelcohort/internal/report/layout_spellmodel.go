package report

import "strings"

// spellModelSheets shows the Cox model of spells, and of the marginal layout the
// models of each number of a spell.
func spellModelSheets(b *block) []Sheet {
	sheets := modelSheets(b, "model", "model of spells")
	if len(sheets) == 0 {
		return nil
	}
	s := &sheets[len(sheets)-1]
	for _, r := range b.part("model") {
		if r.Variable != "" && r.Measure == "test of equal ratios" {
			s.Notes = append(s.Notes, testNote(r, "Test of equal ratios for all spells, "+b.label(r.Variable)))
		}
	}
	for _, r := range b.part("proportionality") {
		name := "Test of proportional hazards"
		if r.Variable != "" {
			name += ", " + b.label(r.Variable)
		}
		s.Notes = append(s.Notes, testNote(r, name))
	}
	done := map[string]bool{}
	for _, r := range b.rows {
		if number, of := strings.CutPrefix(r.Part, "model of spell "); of && !done[r.Part] {
			done[r.Part] = true
			sheets = append(sheets, modelSheets(b, r.Part, "model of spell "+number)...)
		}
	}
	return sheets
}
