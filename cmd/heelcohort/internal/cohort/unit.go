package cohort

import (
	"slices"
	"strings"
)

// units are the spellings of the units that instruments know, the first of
// each being its name here.
var units = [][]string{
	{"years", "year", "yr", "yrs", "y", "a"},
	{"months", "month", "mo"},
	{"days", "day", "d"},
	{"cm", "centimetre", "centimetres", "centimeter", "centimeters"},
	{"mm", "millimetre", "millimetres", "millimeter", "millimeters"},
	{"kg", "kilogram", "kilograms"},
	{"kg/m2", "kg/m²", "kg/m^2"},
	{"degrees", "degree", "deg", "°"},
	{"points", "point", "score", "scores"},
	{"%", "percent"},
}

// unitName is the name of a unit, itself where no instrument knows it.
func unitName(unit string) string {
	word := strings.TrimSpace(unit)
	for _, spellings := range units {
		if slices.Contains(spellings, word) || slices.Contains(spellings, strings.ToLower(word)) {
			return spellings[0]
		}
	}
	return word
}

// noUnit stands among the units of what is a plain number.
const noUnit = ""

// listUnits joins names of units for a message.
func listUnits(names []string) string {
	shown := make([]string, len(names))
	for i, n := range names {
		shown[i] = n
		if n == noUnit {
			shown[i] = "no unit"
		}
	}
	return strings.Join(shown, " or ")
}
