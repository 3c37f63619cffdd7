package instrument

import "math"

// A PainScale is one of the scales of pain. Scores of different scales are
// different quantities and are never pooled.
type PainScale string

// The scales: a visual analogue scale in mm, a numerical rating scale, and the
// revised faces pain scale.
const (
	ScaleVAS   PainScale = "vas"
	ScaleNRS   PainScale = "nrs"
	ScaleFaces PainScale = "faces"
)

// Legal is the set of scores of the scale: 0 to 100 mm; 0 to 10, whole; 0, 2, 4,
// 6, 8, 10. It panics for an unknown scale.
func (s PainScale) Legal() Legal {
	switch s {
	case ScaleVAS:
		return VAS
	case ScaleNRS:
		return NRS
	case ScaleFaces:
		return FacesScore
	}
	panic("instrument: no pain scale " + string(s))
}

// PainScore is x where it is a score of the scale, and ErrIllegal otherwise.
func PainScore(s PainScale, x float64) (float64, error) {
	return x, s.Legal().check("the score", x)
}

// FaceScore is the score of a face of the revised faces pain scale by its
// number from the left, 1 to 6: 0, 2, 4, 6, 8, 10.
//
// Reference: Hicks CL, von Baeyer CL, Spafford PA, van Korlaar I, Goodenough B.
// Pain 2001;93:173-183 (scoring from memory).
func FaceScore(number float64) (float64, error) {
	if err := FaceNumber.check("the number of the face", number); err != nil {
		return 0, err
	}
	return 2 * (number - 1), nil
}

// LikelyCentimetres reports whether scores meant in mm look entered in cm: some
// are there, none is above 10, and at least one has decimals.
func LikelyCentimetres(scores []float64) bool {
	decimals := false
	for _, x := range scores {
		if x > 10 {
			return false
		}
		decimals = decimals || x != math.Trunc(x)
	}
	return decimals
}
