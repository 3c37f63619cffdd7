package stats

import (
	"fmt"
	"math"
	"math/rand/v2"
)

// DefaultTables is the number of random tables drawn where an option leaves it
// zero.
const DefaultTables = 100_000

// SimulationOptions are the choices of FisherSimulated; the zero value draws
// 100,000 tables with seed 0.
type SimulationOptions struct {
	Tables int    // random tables to draw; 0 means DefaultTables
	Seed   uint64 // of the random numbers; the same seed draws the same tables
}

// A SimulatedTest is a test whose p-value was estimated from random tables.
type SimulatedTest struct {
	Test
	SE     float64 // Monte Carlo standard error of P
	Tables int     // random tables drawn
	Seed   uint64
}

// FisherSimulated estimates the p-value of Fisher's exact test, for tables too
// large for Fisher, from B random tables with the margins of the one observed:
// P = (1 + k)/(1 + B), where k of them are at most as probable as that. SE is
// sqrt(P(1−P)/B), the error of the draw; Method and the warning simulated say
// that P is an estimate and give it. P is never below 1/(1+B).
//
// Rows and columns that are all zero are left out. It returns ErrNoData for a
// table without counts and ErrNoVariance when fewer than two rows or columns
// remain. A negative number of tables is the caller's mistake.
//
// References: Patefield WM. Algorithm AS 159: an efficient method of generating
// random R × C tables with given row and column totals. Appl Stat
// 1981;30:91-97. Hope ACA. J R Stat Soc B 1968;30:582-598 (the added ones).
func FisherSimulated(table [][]int, opts SimulationOptions) (SimulatedTest, error) {
	const name = "Fisher exact test"
	b := opts.Tables
	if b == 0 {
		b = DefaultTables
	}
	if b < 0 {
		panic(fmt.Sprintf("stats: %d random tables, expected 1 or more", b))
	}
	_, _, total := margins(table)
	if total == 0 {
		return SimulatedTest{}, fmt.Errorf("%s: %w", name, ErrNoData)
	}
	table = dropZeroMargins(table)
	rows, columns, _ := margins(table)
	if err := checkMargins(name, rows, columns); err != nil {
		return SimulatedTest{}, err
	}
	logs := logFactorials(total)
	weight := func(table [][]int) (w float64) {
		for _, row := range table {
			for _, x := range row {
				w -= logs[x]
			}
		}
		return w
	}
	limit := weight(table) + math.Log1p(fisherTolerance)
	source := rand.New(rand.NewPCG(opts.Seed, 0))
	drawn := make([][]int, len(rows))
	for i := range drawn {
		drawn[i] = make([]int, len(columns))
	}
	k := 0
	for range b {
		randomTableOf(source, rows, columns, logs, drawn)
		if weight(drawn) <= limit {
			k++
		}
	}
	p := float64(1+k) / float64(1+b)
	t := SimulatedTest{SE: math.Sqrt(p * (1 - p) / float64(b)), Tables: b, Seed: opts.Seed}
	t.Test = Test{
		Name: name, Statistic: math.NaN(), DF: math.NaN(), P: p,
		Method: fmt.Sprintf("two-sided by the probability method, Monte Carlo estimate from %d random tables (seed %d), standard error %.2g", b, opts.Seed, t.SE),
		Warnings: []Warning{{"simulated", fmt.Sprintf(
			"The p-value is a Monte Carlo estimate from %d random tables, with standard error %.2g, not exact.", b, t.SE)}},
	}
	return t, nil
}

// randomTableOf draws a table with the given margins: cell by cell from the
// hypergeometric distribution given the cells before it.
func randomTableOf(source *rand.Rand, rows, columns []int, logs []float64, table [][]int) {
	left := append([]int(nil), columns...)
	all := 0
	for _, c := range left {
		all += c
	}
	for i, r := range rows {
		rest := all // of the columns from j on
		for j, c := range left {
			x := randomHypergeometric(source, r, c, rest, logs)
			table[i][j] = x
			rest -= c
			r -= x
			left[j] -= x
		}
		all -= rows[i]
	}
}

// randomHypergeometric draws how many of r taken out of n are among c of
// them: by inversion, from the mode outwards.
func randomHypergeometric(source *rand.Rand, r, c, n int, logs []float64) int {
	low, high := max(0, r+c-n), min(r, c)
	if low == high {
		return low
	}
	mode := min(max(int((float64(r)+1)*(float64(c)+1)/(float64(n)+2)), low), high)
	p := math.Exp(logs[r] - logs[mode] - logs[r-mode] + logs[n-r] - logs[c-mode] - logs[n-r-c+mode] - logs[n] + logs[c] + logs[n-c])
	u := source.Float64() - p
	below, above, down, up := p, p, mode, mode
	for u >= 0 && (down > low || up < high) {
		if up < high {
			above *= float64(r-up) / float64(up+1) * (float64(c-up) / float64(n-r-c+up+1))
			up++
			if u -= above; u < 0 {
				return up
			}
		}
		if down > low {
			below *= float64(down) / float64(r-down+1) * (float64(n-r-c+down) / float64(c-down+1))
			down--
			if u -= below; u < 0 {
				return down
			}
		}
	}
	return mode
}
