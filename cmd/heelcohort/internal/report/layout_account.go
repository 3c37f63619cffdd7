package report

import (
	"math"

	"heelcohort/cmd/heelcohort/internal/printed"
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
	decimals := accountDecimals(lines)
	time := func(x float64) string { return printed.Fixed(x, decimals) }
	for i, r := range lines {
		name := indented("Not entered: " + r.Term)
		switch i {
		case 0:
			name = words("Read (the sum of what follows)")
		case len(lines) - 1:
			name = words(upperFirst(r.Term))
		}
		s.add(name, number(r, r.Estimate, time), number(r, r.Events, count))
	}
	return s.done()
}

// accountDecimals is the number of decimals of all lines, so that they add up
// as printed: those that the amounts have, at most two.
func accountDecimals(lines []*result.Row) int {
	for decimals, unit := 0, 1.0; decimals < 2; decimals, unit = decimals+1, 10*unit {
		whole := true
		for _, r := range lines {
			x := float64(r.Estimate) * unit
			whole = whole && math.Abs(x-math.Round(x)) <= 1e-6
		}
		if whole {
			return decimals
		}
	}
	return 2
}
