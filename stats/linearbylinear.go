package stats

import "fmt"

// LinearByLinear is Mantel's test of association of ordered rows and columns,
// (N−1) r² with r the correlation of their scores over all persons, chi-squared
// with one degree of freedom. Shifting and scaling scores changes nothing. It
// says nothing about association that neither rises nor falls.
//
// It returns ErrNoData for a table without counts and ErrNoVariance when the
// persons' row scores or column scores are all equal. As many scores as rows
// and columns, and finite, are the caller's duty.
//
// Reference: Mantel N. Chi-square tests with one degree of freedom: extensions
// of the Mantel-Haenszel procedure. J Am Stat Assoc 1963;58:690-700.
func LinearByLinear(table [][]int, rowScore, columnScore []float64) (Test, error) {
	return StratifiedLinearByLinear([][][]int{table}, rowScore, columnScore)
}

// StratifiedLinearByLinear is LinearByLinear given a stratum: with T = Σ u v n
// of a stratum's table and its mean and variance given the margins,
//
//	(Σ (T − E T))² / Σ Var T
//
// chi-squared with one degree of freedom. With two columns it is the stratified
// test of trend, with two rows too CochranMantelHaenszel. Strata in which the
// scores of rows or of columns do not differ contribute nothing; a warning
// counts them. It returns ErrNoData without counts and ErrNoVariance when no
// stratum contributes.
//
// Reference: Mantel N. J Am Stat Assoc 1963;58:690-700.
func StratifiedLinearByLinear(strata [][][]int, rowScore, columnScore []float64) (Test, error) {
	const name = "linear-by-linear association"
	var surplus, variance Sum
	persons, left := 0, 0
	for _, table := range strata {
		rows, columns, n := margins(table)
		if len(rows) != len(rowScore) || len(columns) != len(columnScore) {
			panic(fmt.Sprintf("stats: %d and %d scores of a table of %d by %d", len(rowScore), len(columnScore), len(rows), len(columns)))
		}
		persons += n
		u, errRows := centredScores(name, rowScore, rows)
		v, errColumns := centredScores(name, columnScore, columns)
		if errRows != nil || errColumns != nil {
			left++
			continue
		}
		var uu, vv Sum
		for i, r := range rows {
			uu.Add(u[i] * u[i] * float64(r))
			for j, k := range table[i] {
				surplus.Add(u[i] * v[j] * float64(k))
			}
		}
		for j, c := range columns {
			vv.Add(v[j] * v[j] * float64(c))
		}
		variance.Add(uu.Total() / float64(n-1) * vv.Total())
	}
	switch {
	case persons == 0:
		return Test{}, fmt.Errorf("%s: %w", name, ErrNoData)
	case left == len(strata):
		return Test{}, fmt.Errorf("%s: %w in the scores of rows or columns, in each of %d strata", name, ErrNoVariance, left)
	}
	statistic := surplus.Total() * surplus.Total() / variance.Total()
	t := Test{Name: name, Statistic: statistic, DF: 1, P: chiSquaredTail(statistic, 1), Method: "Mantel, chi-squared"}
	if left > 0 {
		t.Warnings = []Warning{{"empty-margin-strata", fmt.Sprintf(
			"%d of %d strata have no variation in the scores of rows or columns and contribute nothing.", left, len(strata))}}
	}
	return t, nil
}
