package verdict

import (
	"math"
	"strings"

	"heelcohort/cmd/heelcohort/internal/printedtable"
)

// Chance is the most that the changes tried for one cell may amount to of wrong
// numbers that they would meet by chance.
const Chance = 0.03

// A change is one way in which the results of a cell could have come out
// otherwise.
type change struct {
	kind, text string
	values     []float64 // one for each number of the cell
}

// explain looks for changes that give every digit of the cell.
//
// Changes are tried in the order of their likelihood. A change can only meet a
// cell whose other numbers agree as they are; each that could costs the chance
// with which a wrong number would be met by it (see wrong), and when the next
// one would bring the sum above Chance it is left out. What was left out is
// never offered, whether it would have met the cell or not, so that the sum
// bounds the share of wrong cells that are explained by chance.
func (ix *index) explain(cell []bound) []Explanation {
	out := []Explanation{}
	if len(cell) == 0 {
		return out
	}
	differs := make([]bool, len(cell))
	own := make([]string, len(cell))
	any := false
	for i, b := range cell {
		sort, _ := judge(b.number, b.value)
		differs[i] = sort == Differs
		own[i] = written(b.value, b.number.Decimals)
		any = any || differs[i]
	}
	if !any {
		return out
	}
	spent := 0.0
	tried := map[string]bool{} // digits that a change gave, and whether they were within Chance
	for _, c := range ix.changes(cell) {
		cost, met, possible := 1.0, true, true
		var digits []string
		for i, b := range cell {
			x := c.values[i]
			text := written(x, b.number.Decimals)
			digits = append(digits, text)
			fits := Nearest(b.number, x)
			switch {
			case exact(x) == nil:
				possible = false
			case differs[i] && b.number.Relation != printedtable.Equal:
				cost *= 0.5 // one of two sides of a bound
			case differs[i]:
				cost *= wrong(own[i], text)
			case !fits && text != own[i]:
				possible = false
			}
			met = met && (fits || !differs[i] && text == own[i])
		}
		key := strings.Join(digits, " ")
		if !possible || key == strings.Join(own, " ") {
			continue
		}
		within, before := tried[key]
		if !before {
			if within = spent+cost <= Chance; within {
				spent += cost
			}
			tried[key] = within
		}
		if within && met {
			out = append(out, Explanation{c.kind, c.text})
		}
	}
	return out
}

// wrong is the chance that a wrong number has the given digits, where the right
// one has those of own. Wrong numbers are taken to be, with equal chances, any
// number with as many decimals between a quarter and four times of the right
// one; the right one with one digit replaced or two neighbours swapped; or one
// within nine units of its last digit.
func wrong(own, digits string) float64 {
	own, digits = plain(own), plain(digits)
	if own == "" || digits == "" || own == digits {
		return 0
	}
	a, b := units(own), units(digits)
	size := math.Max(math.Abs(a), 1)
	total := 1 / math.Max(3.75*size, 9) / 3
	if off := math.Abs(a - b); off <= 9 {
		total += 1. / 18 / 3
	}
	if len(own) != len(digits) {
		return total
	}
	var places []int
	count := 0
	for i := range own {
		if own[i] >= '0' && own[i] <= '9' {
			count++
		}
		if own[i] != digits[i] {
			places = append(places, i)
		}
	}
	switch {
	case len(places) == 1:
		total += 0.8 / float64(9*count) / 3
	case len(places) == 2 && own[places[0]] == digits[places[1]] && own[places[1]] == digits[places[0]] && count > 1:
		total += 0.2 / float64(count-1) / 3
	}
	return total
}

// plain leaves the sign out.
func plain(text string) string { return strings.TrimPrefix(text, "-") }

// units is a decimal text as a number of units of its last digit.
func units(text string) float64 {
	x := 0.0
	for _, c := range text {
		if c >= '0' && c <= '9' {
			x = 10*x + float64(c-'0')
		}
	}
	return x
}
