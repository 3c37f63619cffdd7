package instrument

import (
	"fmt"
	"math"
	"slices"
)

// Bands are the classes of a whole number. Upper holds the highest number of
// each class but the last, ascending, so that no number belongs to two.
type Bands struct {
	Upper  []float64
	Labels []string // one more than Upper
}

// AdultPosture are the reference bands of the foot posture index total in
// adults: -12 to -5, -4 to -1, 0 to 5, 6 to 9, 10 to 12 (Redmond AC, Crosbie J,
// Ouvrier RA. Clin Biomech 2006;21:89-98 and the user guide of 2005; bands from
// memory). +6 is pronated, and so belongs to one band.
func AdultPosture() Bands {
	return Bands{
		Upper:  []float64{-5, -1, 5, 9},
		Labels: []string{"highly_supinated", "supinated", "normal", "pronated", "highly_pronated"},
	}
}

// Check refuses bands that do not part the legal values: upper ends that do not
// ascend, are not whole or leave a class empty, and labels that are too many,
// too few, empty or alike.
func (b Bands) Check(legal Legal) error {
	if len(b.Upper) == 0 || len(b.Labels) != len(b.Upper)+1 {
		return fmt.Errorf("found %d upper ends and %d labels, expected at least one upper end and one label more", len(b.Upper), len(b.Labels))
	}
	for i, u := range b.Upper {
		switch {
		case u != math.Trunc(u):
			return fmt.Errorf("the upper end %v is no whole number", u)
		case i > 0 && u <= b.Upper[i-1]:
			return fmt.Errorf("the upper end %v follows %v, expected ascending ones", u, b.Upper[i-1])
		case u < legal.Min || u >= legal.Max:
			return fmt.Errorf("the upper end %v leaves a class without values, expected from %v to %v", u, legal.Min, legal.Max-1)
		}
	}
	for i, l := range b.Labels {
		if l == "" || slices.Contains(b.Labels[:i], l) {
			return fmt.Errorf("the label %q is empty or stands twice", l)
		}
	}
	return nil
}

// Class is the label of the band that x falls into.
func (b Bands) Class(x float64) string {
	for i, u := range b.Upper {
		if x <= u {
			return b.Labels[i]
		}
	}
	return b.Labels[len(b.Labels)-1]
}
