package plots

import "math"

// logReach returns round ends, 1, 2 or 5 times a power of ten, of a log axis
// that shows low to high.
func logReach(low, high float64) (from, to float64) {
	power := math.Pow(10, math.Floor(math.Log10(low)))
	for _, m := range []float64{1, 2, 5} {
		if m*power <= low*(1+1e-9) {
			from = m * power
		}
	}
	to = roundStep(high)
	if from == 0 || to < from*1.5 {
		from, to = min(low, high)/2, high*2
	}
	return from, to
}

// rateTicks returns values with labels for the log axis s of rates, whose ends
// are round: all of 1, 2 and 5 times the powers of ten, or the powers alone,
// or every few of them, as they keep apart.
func rateTicks(s scale) (ticks []float64, labels []string) {
	first, last := int(math.Floor(math.Log10(s.low)+1e-9)), int(math.Ceil(math.Log10(s.high)-1e-9))
	choose := func(every int, of ...float64) []float64 {
		var list []float64
		for k := first; k <= last; k++ {
			if k%every == 0 {
				for _, m := range of {
					list = append(list, m*math.Pow(10, float64(k)))
				}
			}
		}
		return within(list, s.low, s.high)
	}
	length := s.to - s.from
	lists := [][]float64{choose(1, 1, 2, 5), choose(1, 1, 3), choose(1, 1)}
	for _, every := range []int{2, 3, 5, 10, 20, 50, 100} {
		lists = append(lists, choose(every, 1))
	}
	for _, list := range lists {
		if len(list) > 1 && len(list) < 8 && apart(list, s.low, s.high, length) {
			ticks = list
			break
		}
	}
	if ticks == nil { // a very short axis
		ticks = []float64{s.low}
		if both := []float64{s.low, s.high}; apart(both, s.low, s.high, length) {
			ticks = both
		}
	}
	for _, t := range ticks {
		labels = append(labels, ratioLabel(t))
	}
	return ticks, labels
}
