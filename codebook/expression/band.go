package expression

import (
	"math"
	"slices"
	"strconv"

	"heelcohort/codebook/value"
)

// CodeOutsideBands marks the band of a number below the first bound or not
// below the last one.
const CodeOutsideBands = "outside bands"

var bandFunctions = []function{
	{Function{"band", "band(x, b1, b2, ...)", "The band that a number falls into, as a text. The bounds are ascending number literals, at least two; " +
		`a band has its lower bound and not its upper: band(age, 6, 8, 10) is "6 to <8" or "8 to <10". ` +
		`Outside the bounds it is missing with the code "` + CodeOutsideBands + `".`}, 3, -1, buildBand},
}

// BandLabel names the half-open band [lower, upper): "6 to <8". With an
// infinite bound it is "<6" or "16 or more". It panics unless lower < upper
// and at least one of them is finite.
func BandLabel(lower, upper float64) string {
	write := func(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
	switch open, endless := math.IsInf(lower, -1), math.IsInf(upper, 1); {
	case !(lower < upper) || open && endless:
		panic("expression: the bounds of a band must ascend")
	case open:
		return "<" + write(upper)
	case endless:
		return write(lower) + " or more"
	}
	return write(lower) + " to <" + write(upper)
}

// BandLabels names the bands between ascending bounds, one fewer than there
// are bounds. It panics where BandLabel does, and for fewer than two bounds.
func BandLabels(bounds []float64) []string {
	if len(bounds) < 2 {
		panic("expression: bands need at least two bounds")
	}
	labels := make([]string, len(bounds)-1)
	for i := range labels {
		labels[i] = BandLabel(bounds[i], bounds[i+1])
	}
	return labels
}

func buildBand(c call) (term, error) {
	if err := c.argument(0, value.Number); err != nil {
		return term{}, err
	}
	bounds := make([]float64, len(c.args)-1)
	for i, t := range c.args[1:] {
		if t.kind != value.Number || t.literal == nil {
			return term{}, c.fault(t.at, "found %v as a bound of a band, expected a number such as 12", t)
		}
		bounds[i] = t.literal.Number
		if i > 0 && !(bounds[i-1] < bounds[i]) {
			return term{}, c.fault(t.at, "found the bound %v after %v, expected ascending bounds", *t.literal, *c.args[i].literal)
		}
	}
	labels := BandLabels(bounds)
	x := c.args[0].number
	return term{kind: value.Text, words: labels, text: func(row Row) (string, gap) {
		v, g := x(row)
		if g.missing {
			return "", g
		}
		// The number of bounds that are not above v.
		i, exact := slices.BinarySearch(bounds, v)
		if exact {
			i++
		}
		if i == 0 || i == len(bounds) {
			return "", gap{CodeOutsideBands, true}
		}
		return labels[i-1], gap{}
	}}, nil
}
