package stats

import (
	"fmt"
	"math"
	"slices"
)

const (
	// fisherTolerance makes tables whose probability exceeds the observed one
	// by rounding alone count as equally probable.
	fisherTolerance = 1e-7
	// fisherNodes bounds the partial tables visited, some seconds of work.
	fisherNodes = 20_000_000
	// fisherCells bounds the work of the bounds on partial tables.
	fisherCells = 200_000_000
)

// Fisher is the exact test of independence of the rows and columns of a table,
// two-sided by the probability method: the
// p-value is the sum of the probabilities, given all margins, of the tables
// that are at most as probable as the one observed (a relative tolerance of
// 1e-7 takes up rounding). Statistic and DF are NaN. The counts are of
// independent persons.
//
// Rows and columns that are all zero are left out, which changes nothing. It
// returns ErrNoData for a table without counts, ErrNoVariance when fewer than
// two rows or columns remain, and ErrTooLarge when too many partial tables would
// have to be looked at: FisherSimulated then still estimates the p-value.
//
// References: Fisher RA. The Design of Experiments. Oliver & Boyd, 1935.
// Freeman GH, Halton JH. Biometrika 1951;38:141-149. The bounds that spare most
// tables: Mehta CR, Patel NR. J Am Stat Assoc 1983;78:427-434.
func Fisher(table [][]int) (Test, error) {
	const name = "Fisher exact test"
	_, _, total := margins(table)
	if total == 0 {
		return Test{}, fmt.Errorf("%s: %w", name, ErrNoData)
	}
	table = dropZeroMargins(table)
	rows, columns, _ := margins(table)
	if err := checkMargins(name, rows, columns); err != nil {
		return Test{}, err
	}
	if len(rows) > len(columns) {
		table = transpose(table)
	}
	t := Test{
		Name:      name,
		Statistic: math.NaN(),
		DF:        math.NaN(),
		Method:    "two-sided by the probability method, exact",
	}
	ok := true
	switch {
	case len(table[0]) == 2:
		t.P = fisherTwoByTwo(table[0][0], table[0][1], table[1][0], table[1][1])
	case len(table) == 2:
		t.P, ok = fisherTwoByK(table[0], table[1])
	default:
		t.P, ok = fisherNetwork(table)
	}
	if !ok {
		return Test{}, fmt.Errorf("%s: %w: %d persons in %d by %d cells", name, ErrTooLarge, total, len(rows), len(columns))
	}
	return t, nil
}

func fisherTwoByTwo(a, b, c, d int) float64 {
	return newHypergeometric(a+b, c+d, a+c).asImprobable(a)
}

// A fisherSearch walks over the first rows of tables with two rows, column by
// column. The probability of a table is Π C(c_j, x_j) / C(N, r). HomogeneityExact
// walks over strata instead, with weights of its own.
type fisherSearch struct {
	log        [][]float64               // log C(c_j, x)
	rest       []int                     // columns' totals from j on
	all        func(j, left int) float64 // log of the summed weight of all completions
	most       [][]float64               // largest sum of log over columns from j on, by what is left of the row
	least      [][]float64               // smallest
	limit      float64                   // counts what is at most this
	normaliser float64                   // log of the weight of all tables, log C(N, r)
	p          float64
	nodes      int
}

func fisherTwoByK(first, second []int) (p float64, ok bool) {
	// A canonical order makes the sum the same whatever the columns' order.
	// The largest column goes last, where no walking is left.
	k := len(first)
	order := make([]int, k)
	for j := range order {
		order[j] = j
	}
	slices.SortFunc(order, func(a, b int) int { return first[a] + second[a] - first[b] - second[b] })
	s := &fisherSearch{log: make([][]float64, k), rest: make([]int, k+1)}
	r, r0, observed := 0, 0, 0.0
	for j := k - 1; j >= 0; j-- {
		c := first[order[j]] + second[order[j]]
		s.rest[j] = s.rest[j+1] + c
		r += first[order[j]]
		r0 += second[order[j]]
	}
	swap := r > r0
	if swap {
		r = r0
	}
	work := 0.0
	for j, at := range order {
		x, c := first[at], first[at]+second[at]
		if swap {
			x = second[at]
		}
		work += float64(min(c, r)+1) * float64(r+1)
		s.log[j] = make([]float64, min(c, r)+1)
		for i := range s.log[j] {
			s.log[j][i] = logChoose(c, i)
		}
		observed += s.log[j][x]
	}
	if work > fisherCells {
		return 0, false
	}
	s.bounds(r)
	s.all = func(j, left int) float64 { return logChoose(s.rest[j], left) } // Σ Π C(c, x) is C(Σ c, left)
	s.normaliser = s.all(0, r)
	s.limit = observed + math.Log1p(fisherTolerance)
	if !s.walk(0, r, 0) {
		return 0, false
	}
	return math.Min(1, s.p), true
}

// bounds fills in the most and the least probable completion of every partial
// table.
func (s *fisherSearch) bounds(r int) {
	k := len(s.log)
	s.most, s.least = newMatrix(k+1, r+1), newMatrix(k+1, r+1)
	for left := 1; left <= r; left++ {
		s.most[k][left], s.least[k][left] = math.Inf(-1), math.Inf(1) // impossible
	}
	for j := k - 1; j >= 0; j-- {
		for left := range r + 1 {
			most, least := math.Inf(-1), math.Inf(1)
			for x := 0; x < len(s.log[j]) && x <= left; x++ {
				most = math.Max(most, s.log[j][x]+s.most[j+1][left-x])
				least = math.Min(least, s.log[j][x]+s.least[j+1][left-x])
			}
			s.most[j][left], s.least[j][left] = most, least
		}
	}
}

// walk adds up the probability of the tables that agree in the columns before
// j, whose log weight is sum, and are at most as probable as the one observed.
// It reports whether the search stayed within its bound.
func (s *fisherSearch) walk(j, left int, sum float64) bool {
	if s.nodes++; s.nodes > fisherNodes {
		return false
	}
	if sum+s.least[j][left] > s.limit {
		return true // none counts
	}
	if sum+s.most[j][left] <= s.limit {
		s.p += math.Exp(sum + s.all(j, left) - s.normaliser)
		return true
	}
	for x := max(0, left-s.rest[j+1]); x < len(s.log[j]) && x <= left; x++ {
		if !s.walk(j+1, left-x, sum+s.log[j][x]) {
			return false
		}
	}
	return true
}

func logChoose(n, k int) float64 {
	a, _ := math.Lgamma(float64(n) + 1)
	b, _ := math.Lgamma(float64(k) + 1)
	c, _ := math.Lgamma(float64(n-k) + 1)
	return a - b - c
}

func dropZeroMargins(table [][]int) [][]int {
	rows, columns, _ := margins(table)
	var out [][]int
	for i, row := range table {
		if rows[i] == 0 {
			continue
		}
		var kept []int
		for j, n := range row {
			if columns[j] > 0 {
				kept = append(kept, n)
			}
		}
		out = append(out, kept)
	}
	return out
}

func transpose(table [][]int) [][]int {
	out := make([][]int, len(table[0]))
	for j := range out {
		for _, row := range table {
			out[j] = append(out[j], row[j])
		}
	}
	return out
}
