package instrument

import "fmt"

// PostureItems is the number of items of the foot posture index.
const PostureItems = 6

// PostureSum is the total of the six items of the foot posture index of one
// foot: their sum, -12 (supinated) to 12 (pronated).
//
// Any other number of items and an item other than -2, -1, 0, 1, 2 is
// ErrIllegal: there is no total of five.
//
// Reference: Redmond AC, Crosbie J, Ouvrier RA. Clin Biomech 2006;21:89-98.
func PostureSum(items []float64) (float64, error) {
	if len(items) != PostureItems {
		return 0, fmt.Errorf("%w: %d items, expected %d", ErrIllegal, len(items), PostureItems)
	}
	total := 0.0
	for i, x := range items {
		if err := PostureItem.check(fmt.Sprintf("item %d", i+1), x); err != nil {
			return 0, err
		}
		total += x
	}
	return total, nil
}

// PostureClass is the band of a total. A total that is no whole number from -12
// to 12, such as the mean of two feet, is ErrIllegal.
func PostureClass(total float64, bands Bands) (string, error) {
	if err := PostureTotal.check("the total", total); err != nil {
		return "", err
	}
	return bands.Class(total), nil
}
