package run

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/stats"
)

// cloud writes what the figure shows of the pairs: each pair where the plan asks
// for points, else counts in cells of mean and difference. Cells of fewer pairs
// than the plan's few are left out, and their pairs are one row together.
//
// A cell is as wide as half a standard deviation, rounded up to 1, 2 or 5 times
// a power of ten, and begins at a multiple of that, so that its edges tell
// nobody's value.
func (s *agreement) cloud(b *builder, first, second []float64) {
	if s.plan.Points {
		for i, x := range first {
			r := b.row("points", "difference")
			r.Term, r.At, r.Unit = fmt.Sprintf("pair %d", i+1), result.Number(x/2+second[i]/2), s.ratings[0].Unit
			b.add(number(r, x-second[i], ""))
		}
		return
	}
	var means, differences []float64
	for i, x := range first {
		means, differences = append(means, x/2+second[i]/2), append(differences, x-second[i])
	}
	wide, high := cellSide(means), cellSide(differences)
	type cell struct{ x, y int }
	counts := map[cell]int{}
	var cells []cell
	for i := range means {
		c := cell{int(math.Floor(means[i]/wide + 1e-9)), int(math.Floor(differences[i]/high + 1e-9))}
		if counts[c] == 0 {
			cells = append(cells, c)
		}
		counts[c]++
	}
	slices.SortFunc(cells, func(a, b cell) int {
		if a.x != b.x {
			return a.x - b.x
		}
		return a.y - b.y
	})
	hidden := 0
	for _, c := range cells {
		if counts[c] < s.few {
			hidden += counts[c]
			continue
		}
		r := b.row("cells", "pairs",
			group("mean", interval(c.x, wide)), group("difference", interval(c.y, high)))
		b.add(number(r, float64(counts[c]), ""))
	}
	r := b.row("cells", "pairs in cells of few")
	r.N = result.Number(len(first))
	b.add(number(r, float64(hidden), ""))
}

// interval is the half-open interval from k times its width on, as text.
func interval(k int, wide float64) string {
	digits := int(-math.Floor(math.Log10(wide) + 1e-9)) // of a width of one digit
	tidy := func(x float64) string { return strconv.FormatFloat(x, 'f', max(0, digits), 64) }
	return "[" + tidy(float64(k)*wide) + ", " + tidy(float64(k+1)*wide) + ")"
}

// cellSide is half a standard deviation, rounded up.
func cellSide(values []float64) float64 {
	half := stats.Describe(values).SD / 2
	if !(half > 0) || math.IsInf(half, 0) {
		return 1
	}
	power := math.Pow(10, math.Floor(math.Log10(half)))
	for _, m := range []float64{1, 2, 5} {
		if m*power >= half {
			return m * power
		}
	}
	return 10 * power
}
