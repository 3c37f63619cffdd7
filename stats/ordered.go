package stats

import (
	"cmp"
	"math"
	"math/bits"
	"runtime"
	"slices"
	"sync"
)

// A placed key is a number, as bits that are in order as the numbers are, with
// the row it belongs to.
type placed struct {
	key uint64
	row int
}

func place(x float64, row int) placed {
	b := math.Float64bits(x + 0) // −0 is 0
	return placed{b ^ (uint64(int64(b)>>63) | 1<<63), row}
}

func (p placed) value() float64 {
	return math.Float64frombits(p.key ^ (uint64(int64(^p.key)>>63) | 1<<63))
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
	// severalPlaced is from how many values on, for each, another core helps.
	severalPlaced = 1 << 16
)

// sorted returns the keys of 0 to n−1, which are no NaN, in order with their
// numbers; those of one key keep their order. The bits are taken for whole
// numbers that begin at that of the smallest key, and sorted by counting, from
// the last digit to the first (radix sort). Days and weeks vary in few bits and
// need few digits; of keys that vary in more, the few that the first bits do not
// tell apart are compared.
func sorted(n int, key func(int) float64) []placed {
	from := make([]placed, n)
	if n == 0 {
		return from
	}
	inOrder := true
	least, most, varying := uint64(math.MaxUint64), uint64(0), uint64(0)
	for i := range from {
		p := place(key(i), i)
		from[i] = p
		inOrder = inOrder && most <= p.key
		least, most = min(least, p.key), max(most, p.key)
		varying |= p.key ^ from[0].key
	}
	switch {
	case inOrder:
		return from
	case n <= fewPlaced:
		slices.SortStableFunc(from, func(a, b placed) int { return cmp.Compare(a.key, b.key) })
		return from
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

// sortByDigit moves values in order of some bits of their key. Each core takes a
// stretch of them, and where its values go is known from the counts of all.
func sortByDigit(from, into []placed, least uint64, shift, width int) {
	mask := uint64(1)<<width - 1
	cores := max(1, min(runtime.GOMAXPROCS(0), len(from)/severalPlaced))
	places := make([][1 << digitBits]int, cores)
	stretches := func(work func(stretch []placed, place *[1 << digitBits]int)) {
		var wg sync.WaitGroup
		for c := range cores {
			stretch := from[c*len(from)/cores : (c+1)*len(from)/cores]
			wg.Go(func() { work(stretch, &places[c]) })
		}
		wg.Wait()
	}
	stretches(func(stretch []placed, place *[1 << digitBits]int) {
		for _, p := range stretch {
			place[(p.key-least)>>shift&mask&(1<<digitBits-1)]++
		}
	})
	sum := 0
	for d := range mask + 1 {
		for c := range places {
			count := places[c][d]
			places[c][d] = sum
			sum += count
		}
	}
	stretches(func(stretch []placed, place *[1 << digitBits]int) {
		for _, p := range stretch {
			d := (p.key - least) >> shift & mask & (1<<digitBits - 1)
			into[place[d]] = p
			place[d]++
		}
	})
}

// compareWithin sorts the stretches whose keys differ in the bits below a shift
// only.
func compareWithin(values []placed, least uint64, shift int) {
	for i := 0; i < len(values); {
		to := i + 1
		for first := (values[i].key - least) >> shift; to < len(values) && (values[to].key-least)>>shift == first; to++ {
		}
		if to > i+1 {
			slices.SortStableFunc(values[i:to], func(a, b placed) int { return cmp.Compare(a.key, b.key) })
		}
		i = to
	}
}
