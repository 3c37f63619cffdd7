package instrument

import "heelcohort/codebook/value"

// onPaper adds decimals as they are added on paper, so that a sum that is a
// boundary stands on it.
func onPaper(list ...float64) float64 {
	var s value.Sum
	for _, x := range list {
		s.Add(x)
	}
	return s.Value()
}

// FootMean is the mean of two feet.
func FootMean(right, left float64) float64 { return onPaper(right, left) / 2 }

// NavicularDrop is the height of the navicular above the floor in the sitting
// child less that in the standing child, in their unit. It may be negative:
// whether that is a fault of measurement is for the study to say. It is taken on
// paper, so that 36.4 less 26.4 is 10 and no more.
//
// Negative heights are ErrIllegal.
//
// Reference: Brody DM. Techniques in the evaluation and treatment of the injured
// runner. Orthop Clin North Am 1982;13:541-558 (from memory).
func NavicularDrop(sitting, standing float64) (float64, error) {
	if err := Height.check("the sitting height of the navicular", sitting); err != nil {
		return 0, err
	}
	if err := Height.check("the standing height of the navicular", standing); err != nil {
		return 0, err
	}
	return onPaper(sitting, -standing), nil
}

// MostNavicularDrop is the drop in mm above which a value is doubted.
const MostNavicularDrop = 25

// RearfootValgus is a rearfoot angle in degrees with valgus positive, from an
// angle of which valgus is positive or, where varus is true, varus. Papers differ in their
// sign, so there is no default. An angle beyond ±90 is ErrIllegal.
func RearfootValgus(angle float64, varus bool) (float64, error) {
	if err := Angle.check("the angle", angle); err != nil {
		return 0, err
	}
	if varus && angle != 0 {
		return -angle, nil
	}
	return angle, nil
}
