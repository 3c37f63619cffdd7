package stats

import "fmt"

// ChiSquare is Pearson's chi-square test of independence of the rows and
// columns of a table of counts, Σ (O−E)²/E on (r−1)(c−1) degrees of freedom,
// without continuity correction. The counts are of independent persons.
//
// A warning says how many expected counts are below five, where the chi-square
// approximation is doubtful and Fisher is the better test. It returns ErrNoData
// for a table without counts, and ErrNoVariance when a row or column is all
// zero or there is only one of them. Rows of unequal length and negative
// counts are the caller's mistake.
//
// Reference: Pearson K. On the criterion that a given system of deviations
// from the probable in the case of a correlated system of variables is such
// that it can be reasonably supposed to have arisen from random sampling. Philos Mag 1900;50:157-175 (degrees of freedom: Fisher
// RA. J R Stat Soc 1922;85:87-94).
func ChiSquare(table [][]int) (Test, error) {
	const name = "chi-square test"
	rows, columns, total := margins(table)
	if total == 0 {
		return Test{}, fmt.Errorf("%s: %w", name, ErrNoData)
	}
	if err := checkMargins(name, rows, columns); err != nil {
		return Test{}, err
	}
	statistic, small, least := 0.0, 0, 0.0
	for i, row := range expectedCounts(rows, columns, total) {
		for j, e := range row {
			d := float64(table[i][j]) - e
			statistic += float64(d*d) / e
			if e < 5 {
				small++
			}
			if i+j == 0 || e < least {
				least = e
			}
		}
	}
	df := float64((len(rows) - 1) * (len(columns) - 1))
	t := Test{
		Name:      name,
		Statistic: statistic,
		DF:        df,
		P:         chiSquaredTail(statistic, df),
		Method:    "Pearson, no continuity correction",
	}
	if small > 0 {
		t.Warnings = append(t.Warnings, Warning{
			Code: "small-expected",
			Text: fmt.Sprintf("%d of %d cells have an expected count below 5, the smallest %.3g: the chi-square approximation is doubtful.",
				small, len(rows)*len(columns), least),
		})
	}
	return t, nil
}

// margins adds up the rows and columns of a table of counts.
func margins(table [][]int) (rows, columns []int, total int) {
	if len(table) == 0 {
		return nil, nil, 0
	}
	rows, columns = make([]int, len(table)), make([]int, len(table[0]))
	for i, row := range table {
		if len(row) != len(columns) {
			panic(fmt.Sprintf("stats: row %d of the table has %d counts, expected %d", i, len(row), len(columns)))
		}
		for j, n := range row {
			if n < 0 {
				panic(fmt.Sprintf("stats: count %d in row %d, column %d of the table, expected 0 or more", n, i, j))
			}
			rows[i] += n
			columns[j] += n
			total += n
		}
	}
	return rows, columns, total
}

// checkMargins refuses a table in which a row or column is all zero, or which
// has only one of either.
func checkMargins(name string, rows, columns []int) error {
	for _, side := range []struct {
		what   string
		totals []int
	}{{"row", rows}, {"column", columns}} {
		if len(side.totals) < 2 {
			return fmt.Errorf("%s: %w: found %d %s, expected at least 2", name, ErrNoVariance, len(side.totals), side.what)
		}
		for i, n := range side.totals {
			if n == 0 {
				return fmt.Errorf("%s: %w: %s %d is all zero", name, ErrNoVariance, side.what, i+1)
			}
		}
	}
	return nil
}

// expectedCounts returns row total times column total over the total.
func expectedCounts(rows, columns []int, total int) [][]float64 {
	e := newMatrix(len(rows), len(columns))
	for i, r := range rows {
		for j, c := range columns {
			e[i][j] = float64(r) * float64(c) / float64(total)
		}
	}
	return e
}
