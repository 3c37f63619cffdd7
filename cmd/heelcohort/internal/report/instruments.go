package report

import (
	"fmt"
	"strings"

	"heelcohort/cmd/heelcohort/internal/result"
)

// instrumentsTitle heads the list of instruments wherever it stands.
const instrumentsTitle = "Scores of instruments"

// instrumentsSheet lists the derived variables that score an instrument. The
// counts are of all rows, before the steps of the population.
func instrumentsSheet(instruments []result.Instrument) Sheet {
	s := newSheet("instruments", instrumentsTitle)
	s.Columns = []Column{
		{Label: "Variable", Text: true},
		{Label: "Instrument", Text: true},
		{Label: "Values"},
		{Label: "Missing, by code", Text: true},
		{Label: "Choices", Text: true},
		{Label: "Methods", Text: true},
		{Label: "Rights", Text: true},
	}
	for _, i := range instruments {
		name := words(i.Table + "." + i.Variable)
		for _, w := range i.Warnings {
			name.Marks = append(name.Marks, s.mark(w))
		}
		s.add(name, words(i.Name), whole(i.Values), words(orDash(missingByCode(i.Missing))), words(orDash(choices(i.Settings))), words(i.Methods), words(i.Rights))
	}
	return s.done()
}

func orDash(text string) string {
	if text == "" {
		return dash
	}
	return text
}

// missingByCode writes counts of missing values: "NM 3, undefined 1".
func missingByCode(missing []result.MissingCount) string {
	parts := make([]string, len(missing))
	for k, m := range missing {
		code := m.Code
		if code == "" {
			code = "empty"
		}
		parts[k] = fmt.Sprintf("%s %d", code, m.N)
	}
	return strings.Join(parts, ", ")
}

// choices writes settings on one line.
func choices(settings []result.Setting) string {
	parts := make([]string, len(settings))
	for k, s := range settings {
		parts[k] = s.Key + ": " + s.Value
		if !s.Written {
			parts[k] += " (default)"
		}
	}
	return strings.Join(parts, "; ")
}

// writeInstruments lists the instruments in the methods: what each gave, what
// was chosen, what is doubted, and the rights in it.
func writeInstruments(b *strings.Builder, instruments []result.Instrument) {
	if len(instruments) == 0 {
		return
	}
	fmt.Fprintf(b, "\n## %s\n\n", instrumentsTitle)
	b.WriteString("The counts are of all rows, before the steps of the population.\n\n")
	for _, i := range instruments {
		fmt.Fprintf(b, "- %s (%s, plan line %d): %d with a value", markdown(i.Table+"."+i.Variable), markdown(i.Name), i.Line, i.Values)
		if m := missingByCode(i.Missing); m != "" {
			fmt.Fprintf(b, "; missing: %s", markdown(m))
		}
		b.WriteString(".")
		if c := choices(i.Settings); c != "" {
			fmt.Fprintf(b, " Choices: %s.", markdown(c))
		}
		for _, w := range i.Warnings {
			fmt.Fprintf(b, " *Doubt:* %s", markdown(w))
		}
		fmt.Fprintf(b, " Rights: %s\n", markdown(i.Rights))
	}
}
