package report

import (
	"heelcohort/cmd/heelcohort/internal/result"
)

// incidenceAccount shows how person-time and events came from what was read to
// what the rates hold: the total first, what each reason removes, and the rest.
func incidenceAccount(b *block, lines []*result.Row) Sheet {
	s := newSheet(b.ID+"-account", b.Title+": person-time and events accounted for")
	unit := lines[0].Unit
	if unit == "" || unit == "person-time" {
		unit = ""
	} else {
		unit = ", " + unit
	}
	s.Columns = []Column{{Label: "", Text: true}, {Label: "Person-time" + unit}, {Label: "Events"}}
	for i, r := range lines {
		name := indented("Not entered: " + r.Term)
		switch i {
		case 0:
			name = words("Read (the sum of what follows)")
		case len(lines) - 1:
			name = words(upperFirst(r.Term))
		}
		s.add(name, number(r, r.Estimate, amount), number(r, r.Events, count))
	}
	return s.done()
}
