package report

import (
	"strings"

	"heelcohort/cmd/heelcohort/internal/printed"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/dataset"
)

// shownPlaces is how many places of a rule the report names.
const shownPlaces = 3

// findingsSheet lists the findings by severity and rule, the worst first, with
// their number, their first places, and what they mean.
// Places only: what stands in the cells stays in the study's own files.
func findingsSheet(counts []result.Count, findings []dataset.Finding) Sheet {
	s := newSheet("findings", "Findings of validation, by rule")
	s.Columns = []Column{
		{Label: "Rule", Text: true},
		{Label: "Findings"},
		{Label: "First places", Text: true},
		{Label: "What it means", Text: true},
		{Label: "What to do", Text: true},
	}
	severity := ""
	for _, c := range counts {
		if c.Severity != severity {
			severity = c.Severity
			_, totals := severities(counts)
			s.Rows = append(s.Rows, section(printed.Plural(totals[severity], severity)))
		}
		text := dataset.Finding{Rule: c.Rule, Message: c.Message}.Explain()
		s.add(indented(c.Rule), whole(c.N), words(firstPlaces(c, findings)), words(text.Sentence), words(text.Ask))
	}
	if len(counts) == 0 {
		s.Notes = append(s.Notes, plainNote("No findings."))
	} else {
		s.Notes = append(s.Notes, plainNote("Every finding with its cell is in findings.csv."))
	}
	return s.done()
}

// firstPlaces names the first places of a rule's findings: those listed, else
// the one that the count carries.
func firstPlaces(c result.Count, findings []dataset.Finding) string {
	var places []string
	before := dataset.Origin{}
	for _, f := range findings {
		if f.Rule == c.Rule && f.Severity.String() == c.Severity && len(places) < shownPlaces {
			place := f.Where.String()
			if len(places) > 0 && f.Where.File == before.File && f.Where.Sheet == before.Sheet && f.Where.Cell() != "" {
				place = f.Where.Cell()
			}
			places, before = append(places, place), f.Where
		}
	}
	if len(places) == 0 {
		places = append(places, c.First)
	}
	text := strings.Join(places, "; ")
	if c.N > len(places) && len(places) > 1 {
		text += "; …"
	}
	return text
}

// severities counts findings by severity, in the order met.
func severities(counts []result.Count) (names []string, totals map[string]int) {
	totals = map[string]int{}
	for _, c := range counts {
		if _, seen := totals[c.Severity]; !seen {
			names = append(names, c.Severity)
		}
		totals[c.Severity] += c.N
	}
	return names, totals
}
