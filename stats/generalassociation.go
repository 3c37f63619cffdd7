package stats

import "fmt"

// GeneralCochranMantelHaenszel tests whether unordered rows and columns are
// independent given the stratum: with d the sums over strata of the counts of
// all rows and columns but the last less those expected, and V the sum of the
// covariances given the margins,
//
//	d' V⁻¹ d
//
// is chi-squared on (r−1)(c−1) degrees of freedom. With two rows and columns it
// is CochranMantelHaenszel without correction. It sees association that goes
// the same way in the strata.
//
// Rows and columns that are empty in all strata are left out. Strata in which
// only one row or column has persons contribute nothing; a warning counts them.
// It returns ErrNoData without counts, and ErrNoVariance when no stratum
// contributes or the rows or columns fall into parts that no stratum compares.
//
// References: Birch MW. J R Stat Soc B 1965;27:111-124. Landis JR, Heyman ER,
// Koch GG. Average partial association in three-way contingency tables: a
// review and discussion of alternative tests. Int Stat Rev 1978;46:237-254.
func GeneralCochranMantelHaenszel(strata [][][]int) (Test, error) {
	const name = "generalised Cochran-Mantel-Haenszel test"
	strata, err := dropEmptyLevels(name, strata)
	if err != nil {
		return Test{}, err
	}
	r, c := len(strata[0])-1, len(strata[0][0])-1
	d, v := make([]float64, r*c), newMatrix(r*c, r*c)
	left := 0
	for _, table := range strata {
		rows, columns, n := margins(table)
		if filled(rows) < 2 || filled(columns) < 2 {
			left++
			continue
		}
		e, total := expectedCounts(rows, columns, n), float64(n)
		share := func(totals []int, i, j int) float64 { // total (δ − share)
			same := 0.0
			if i == j {
				same = 1
			}
			return float64(totals[i]) * (same - float64(totals[j])/total)
		}
		for i := range r {
			for j := range c {
				d[i*c+j] += float64(table[i][j]) - e[i][j]
				for k := range r {
					for l := range c {
						v[i*c+j][k*c+l] += share(rows, i, k) * share(columns, j, l) / (total - 1)
					}
				}
			}
		}
	}
	if left == len(strata) {
		return Test{}, fmt.Errorf("%s: %w: an empty margin in each of %d strata", name, ErrNoVariance, left)
	}
	l, _, ok := cholesky(v, 1e-10)
	if !ok {
		return Test{}, fmt.Errorf("%s: rows or columns fall into parts that no stratum compares: %w", name, ErrNoVariance)
	}
	df := float64(r * c)
	statistic := dot(d, choleskySolve(l, d))
	t := Test{Name: name, Statistic: statistic, DF: df, P: chiSquaredTail(statistic, df), Method: "general association, chi-squared"}
	if left > 0 {
		t.Warnings = []Warning{{"empty-margin-strata", fmt.Sprintf(
			"%d of %d strata have persons in one row or column alone and contribute nothing.", left, len(strata))}}
	}
	return t, nil
}

func filled(totals []int) (n int) {
	for _, k := range totals {
		if k > 0 {
			n++
		}
	}
	return n
}

// dropEmptyLevels leaves out the rows and columns that are empty in all strata.
func dropEmptyLevels(name string, strata [][][]int) ([][][]int, error) {
	var rows, columns []int
	for k, table := range strata {
		r, c, _ := margins(table)
		if k == 0 {
			rows, columns = make([]int, len(r)), make([]int, len(c))
		}
		if len(r) != len(rows) || len(c) != len(columns) {
			panic(fmt.Sprintf("stats: stratum %d has %d by %d counts, expected %d by %d", k, len(r), len(c), len(rows), len(columns)))
		}
		for i, n := range r {
			rows[i] += n
		}
		for j, n := range c {
			columns[j] += n
		}
	}
	if filled(rows) == 0 {
		return nil, fmt.Errorf("%s: %w", name, ErrNoData)
	}
	if filled(rows) < 2 || filled(columns) < 2 {
		return nil, fmt.Errorf("%s: %w: persons in %d rows and %d columns, expected at least 2", name, ErrNoVariance, filled(rows), filled(columns))
	}
	out := make([][][]int, len(strata))
	for k, table := range strata {
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
			out[k] = append(out[k], kept)
		}
	}
	return out, nil
}
