package report

import (
	"fmt"
	"strings"

	"heelcohort/cmd/heelcohort/internal/printed"
	"heelcohort/cmd/heelcohort/internal/result"
)

// exceptionsTitle heads the list of exceptions wherever it stands.
const exceptionsTitle = "Exceptions to the identifier screen"

// exceptionsSheet lists the columns that the codebook lets through the screen
// for identifiers, with its reasons.
func exceptionsSheet(exceptions []result.Exception) Sheet {
	s := newSheet("exceptions", exceptionsTitle)
	s.Columns = []Column{
		{Label: "Variable", Text: true},
		{Label: "Screen", Text: true},
		{Label: "Cells held"},
		{Label: "Reason given in the codebook", Text: true},
	}
	for _, e := range exceptions {
		s.add(words(e.Table+"."+e.Variable), words(e.Screen), whole(e.Cells), words(e.Reason))
	}
	return s.done()
}

// writeExceptions lists the exceptions in the methods.
func writeExceptions(b *strings.Builder, exceptions []result.Exception) {
	if len(exceptions) == 0 {
		return
	}
	fmt.Fprintf(b, "\n## %s\n\n", exceptionsTitle)
	b.WriteString("The data were screened for what names people. The codebook lets these variables through:\n\n")
	for _, e := range exceptions {
		fmt.Fprintf(b, "- %s (%s, %s): %s\n", markdown(e.Table+"."+e.Variable), markdown(e.Screen), printed.Plural(e.Cells, "cell"), markdown(e.Reason))
	}
}
