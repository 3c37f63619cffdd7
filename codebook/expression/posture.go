package expression

import (
	"math"
	"slices"

	"heelcohort/codebook/document"
	"heelcohort/codebook/value"
)

var postureFunctions = []function{
	{Function{"foot_posture_class", `foot_posture_class(total, "three")`, "The class of a six-item foot posture index total: highly_supinated (-12 to -5), " +
		"supinated (-4 to -1), normal (0 to 5), pronated (6 to 9), highly_pronated (10 to 12); with the second argument \"three\" supinated, " +
		"normal and pronated, the outer classes joined to their neighbours. Missing as undefined where the total is no integer from -12 to 12."}, 1, 2, buildPosture},
}

// The classes of the foot posture index, from the reference bands of Redmond
// AC, Crosbie J, Ouvrier RA (Clin Biomech 2006;21:89-98) and the index's user
// guide of 2005.
var (
	fivePostures  = []string{"highly_supinated", "supinated", "normal", "pronated", "highly_pronated"}
	threePostures = fivePostures[1:4:4]
)

// posture is the index in fivePostures of a total, or -1 for a number that is
// no total of six items from -2 to 2.
func posture(total float64) int {
	switch {
	case total != math.Trunc(total) || total < -12 || total > 12:
		return -1
	case total <= -5:
		return 0
	case total <= -1:
		return 1
	case total <= 5:
		return 2
	case total <= 9:
		return 3
	}
	return 4
}

func buildPosture(c call) (term, error) {
	if err := c.argument(0, value.Number); err != nil {
		return term{}, err
	}
	// words[i] is the class that is shown for class i of the five.
	words, known := fivePostures, fivePostures
	if len(c.args) == 2 {
		choices := []string{"three", "five"}
		t := c.args[1]
		switch {
		case t.kind != value.Text || t.literal == nil:
			return term{}, c.fault(t.at, `found %v as the classes of %s, expected "three" or "five"`, t, c.Name)
		case !slices.Contains(choices, t.literal.Text):
			return term{}, c.fault(t.at, `found %v as the classes of %s, expected "three" or "five"`, t, c.Name).near(document.Nearest(t.literal.Text, choices))
		case t.literal.Text == "three":
			known = threePostures
			words = []string{known[0], known[0], known[1], known[2], known[2]}
		}
	}
	total := c.args[0].number
	return term{kind: value.Text, words: slices.Clone(known), text: func(row Row) (string, gap) {
		x, g := total(row)
		if g.missing {
			return "", g
		}
		i := posture(x)
		if i < 0 {
			return "", undefined
		}
		return words[i], gap{}
	}}, nil
}
