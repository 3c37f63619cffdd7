package instrument

import (
	"fmt"
	"math"
)

// OxfordDomains lists the domains of the Oxford ankle foot questionnaire for
// children with their numbers of items.
func OxfordDomains() []Domain {
	return []Domain{{"physical", 6}, {"school_play", 4}, {"emotional", 4}, {"footwear", 1}}
}

// A Domain is one part of a questionnaire.
type Domain struct {
	Name  string
	Items int
}

// A MissingRule says what becomes of a domain with items that are missing.
type MissingRule string

// AnyMissing, the rule unless a study declares another, gives no score where an
// item is missing. HalfAnswered puts the mean of the answered items in the
// place of the others where at least half are answered.
const (
	AnyMissing   MissingRule = "none"
	HalfAnswered MissingRule = "half"
)

// OxfordScore is the score of one domain: the sum of its items, each 0 to 4 with
// 4 as never a problem, as a percentage of the greatest sum: 0 to 100, higher is
// better. NaN is an item without an answer. Child and parent forms are
// different measures; so are domains, and there is no total of them.
//
// An item other than 0, 1, 2, 3, 4 is ErrIllegal. Too few answers for the rule
// are ErrTooFewItems.
//
// References: Morris C, Doll HA, Wainwright A, Theologis T, Fitzpatrick R. J Bone
// Joint Surg Br 2008;90:1451-1456; Morris C, Doll H, Davies N, et al. Qual Life
// Res 2009;18:1367-1376 (coding and percentage from memory).
func OxfordScore(items []float64, rule MissingRule) (float64, error) {
	sum, answered := 0.0, 0
	for i, x := range items {
		if math.IsNaN(x) {
			continue
		}
		if err := OxfordItem.check(fmt.Sprintf("item %d", i+1), x); err != nil {
			return 0, err
		}
		sum += x
		answered++
	}
	need := len(items)
	if rule == HalfAnswered {
		need = (len(items) + 1) / 2
	}
	if answered < need || answered == 0 {
		return 0, fmt.Errorf("%w: %d of %d, expected at least %d", ErrTooFewItems, answered, len(items), max(need, 1))
	}
	return 100 * sum / (OxfordItem.Max * float64(answered)), nil
}
