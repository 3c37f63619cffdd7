package instrument

import (
	"fmt"
	"math"
)

// ArchIndex is the area of the middle third of a footprint without toes over
// its whole area: midfoot / (forefoot + midfoot + heel). The areas have one
// unit, whichever it is. A larger index is a flatter foot. The index has 15
// significant digits, so that 2.1 of 10.0 is 0.21 and no more.
//
// Negative areas and a footprint without any are ErrIllegal.
//
// Reference: Cavanagh PR, Rodgers MM. The arch index: a useful measure from
// footprints. J Biomech 1987;20:547-551.
func ArchIndex(forefoot, midfoot, heel float64) (float64, error) {
	for _, a := range []struct {
		what string
		area float64
	}{{"the area of the forefoot", forefoot}, {"the area of the midfoot", midfoot}, {"the area of the heel", heel}} {
		if err := Area.check(a.what, a.area); err != nil {
			return 0, err
		}
	}
	whole := onPaper(forefoot, midfoot, heel)
	if !(whole > 0) || math.IsInf(whole, 0) {
		return 0, fmt.Errorf("%w: the footprint has the area %v, expected more than 0", ErrIllegal, whole)
	}
	return onPaper(midfoot / whole), nil
}

// The classes of the arch index.
const (
	ArchHigh   = "high"
	ArchNormal = "normal"
	ArchFlat   = "flat"
)

// The quartiles of Cavanagh and Rodgers (1987; from memory): an index of at
// most CavanaghHigh is a high arch, of at least CavanaghFlat a flat one.
const (
	CavanaghHigh = 0.21
	CavanaghFlat = 0.26
)

// ArchClass is the class of an arch index: high up to and with the first
// boundary, flat from and with the second one, normal between them. It panics
// unless high < flat.
func ArchClass(index, high, flat float64) (string, error) {
	if !(high < flat) {
		panic("instrument: the boundary of a high arch must lie below that of a flat one")
	}
	if err := Ratio.check("the arch index", index); err != nil {
		return "", err
	}
	switch {
	case index <= high:
		return ArchHigh, nil
	case index >= flat:
		return ArchFlat, nil
	}
	return ArchNormal, nil
}
