package stats

import (
	"cmp"
	"math"
	"math/bits"
	"slices"
)

// A placed value is a number with the row it belongs to.
type placed struct {
	value float64
	row   int
}

// ordered returns the numbers from 0 to n−1 in order of their keys; those of one
// key keep their order.
func ordered(n int, key func(int) float64) []int {
	order := make([]int, n)
	for i, p := range sorted(n, key) {
		order[i] = p.row
	}
	return order
}

const (
	// fewPlaced is up to how many values comparing is faster than counting.
	fewPlaced = 200
	// digitBits is how many bits of a key are counted at once.
	digitBits = 11
	// countedBits is how many are counted at all: that many tell nearly all
	// values apart that are not tied.
	countedBits = 3 * digitBits
)

// sorted returns the keys of 0 to n−1, which are no NaN, in order with their
// numbers; those of one key keep their order. Their bits are taken for whole
// numbers that begin at that of the smallest key, and sorted by counting, from
// the last digit to the first (radix sort). Days and weeks vary in few bits and
// need few digits; of keys that vary in more, the few that the first bits do not
// tell apart are compared.
func sorted(n int, key func(int) float64) []placed {
	from := make([]placed, n)
	inOrder := true
	for i := range from {
		from[i] = placed{key(i) + 0, i} // −0 is 0
		inOrder = inOrder && (i == 0 || from[i-1].value <= from[i].value)
	}
	switch {
	case inOrder:
		return from
	case n <= fewPlaced:
		slices.SortStableFunc(from, func(a, b placed) int { return cmp.Compare(a.value, b.value) })
		return from
	}
	least, most, varying := orderedBits(from[0].value), uint64(0), uint64(0)
	for _, p := range from {
		k := orderedBits(p.value)
		least, most = min(least, k), max(most, k)
	}
	for _, p := range from {
		varying |= orderedBits(p.value) - least
	}
	high, low := bits.Len64(most-least), bits.TrailingZeros64(varying)
	compared := high-low > countedBits
	low = max(low, high-countedBits)
	digits := (high - low + digitBits - 1) / digitBits
	width := (high - low + digits - 1) / digits
	into := make([]placed, n)
	for d := range digits {
		sortByDigit(from, into, least, low+d*width, width)
		from, into = into, from
	}
	if compared {
		compareWithin(from, least, low)
	}
	return from
}

// orderedBits are the bits of a number so that they are in order as the numbers.
func orderedBits(x float64) uint64 {
	b := math.Float64bits(x)
	return b ^ (uint64(int64(b)>>63) | 1<<63)
}

// sortByDigit moves values in order of some bits of their key.
func sortByDigit(from, into []placed, least uint64, shift, width int) {
	var place [1 << digitBits]int
	mask := uint64(1)<<width - 1
	for _, p := range from {
		place[(orderedBits(p.value)-least)>>shift&mask]++
	}
	sum := 0
	for d, count := range place[:mask+1] {
		place[d] = sum
		sum += count
	}
	for _, p := range from {
		d := (orderedBits(p.value) - least) >> shift & mask
		into[place[d]] = p
		place[d]++
	}
}

// compareWithin sorts the stretches whose keys differ in the bits below a shift
// only.
func compareWithin(values []placed, least uint64, shift int) {
	first := func(i int) uint64 { return (orderedBits(values[i].value) - least) >> shift }
	for i := 0; i < len(values); {
		to := i + 1
		for stretch := first(i); to < len(values) && first(to) == stretch; to++ {
		}
		if to > i+1 {
			slices.SortStableFunc(values[i:to], func(a, b placed) int { return cmp.Compare(a.value, b.value) })
		}
		i = to
	}
}
