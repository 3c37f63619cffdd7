// Package instrument scores the instruments that studies of children's feet
// and heels use: foot posture, arch index, navicular drop, rearfoot angle, pain
// scales, a questionnaire, maturity offset and body mass index for age.
//
// It holds scores, item numbers and formulas alone, never an instrument's
// wording or pictures: these belong to their owners, and a study needs their
// leave to use them. List names the source and the rights of each.
//
// Values are in the units that a function names; nothing is converted. A value
// that an instrument does not allow is refused with ErrIllegal, never scored:
// a total of five items out of six is no smaller total but none.
// Where classes have boundaries the caller names them, by a published set or a
// list of its own; there is no default.
package instrument

import "errors"

var (
	// ErrIllegal is a value that the instrument does not allow.
	ErrIllegal = errors.New("not a legal value of the instrument")
	// ErrOutsideReference is an age that the reference does not cover.
	ErrOutsideReference = errors.New("outside the ages of the reference")
	// ErrTooFewItems is a questionnaire with too few answers for its rule.
	ErrTooFewItems = errors.New("too few items answered")
)
