package stats

import (
	"fmt"
	"math"
)

// LikelihoodRatio is the likelihood-ratio test of independence of the rows and
// columns of a table of counts,
//
//	G² = 2 Σ O log(O/E)
//
// on (r−1)(c−1) degrees of freedom; a cell of 0 adds nothing. The counts are of
// independent persons. Warnings and refusals are those of ChiSquare, which
// trusts the approximation of the chi-squared distribution for smaller counts.
//
// Reference: Wilks SS. The likelihood test of independence in contingency
// tables. Ann Math Stat 1935;6:190-196.
func LikelihoodRatio(table [][]int) (Test, error) {
	const name = "likelihood-ratio test"
	rows, columns, total := margins(table)
	if total == 0 {
		return Test{}, fmt.Errorf("%s: %w", name, ErrNoData)
	}
	if err := checkMargins(name, rows, columns); err != nil {
		return Test{}, err
	}
	pearson, err := ChiSquare(table)
	if err != nil {
		return Test{}, err
	}
	var sum Sum
	for i, row := range expectedCounts(rows, columns, total) {
		for j, e := range row {
			// O log(O/E) − (O − E): what is taken off adds up to 0, and all
			// terms are then of one sign.
			o := float64(table[i][j])
			if o == 0 {
				sum.Add(e)
				continue
			}
			sum.Add(o*math.Log(o/e) - (o - e))
		}
	}
	statistic := math.Max(0, 2*sum.Total())
	return Test{
		Name: name, Statistic: statistic, DF: pearson.DF, P: chiSquaredTail(statistic, pearson.DF),
		Method: "likelihood ratio, no continuity correction", Warnings: pearson.Warnings,
	}, nil
}

// StandardisedResiduals are, for each cell of a table of counts, the distance
// of the count from that expected under independence over its standard error,
//
//	(O − E) / sqrt(E (1 − r/N) (1 − c/N))
//
// with r and c the totals of the cell's row and column: about standard normal
// under independence. It returns the errors of ChiSquare.
//
// Reference: Haberman SJ. The analysis of residuals in cross-classified tables.
// Biometrics 1973;29:205-220.
func StandardisedResiduals(table [][]int) ([][]float64, error) {
	const name = "standardised residuals"
	rows, columns, total := margins(table)
	if total == 0 {
		return nil, fmt.Errorf("%s: %w", name, ErrNoData)
	}
	if err := checkMargins(name, rows, columns); err != nil {
		return nil, err
	}
	out := expectedCounts(rows, columns, total)
	n := float64(total)
	for i, row := range out {
		for j, e := range row {
			row[j] = (float64(table[i][j]) - e) / math.Sqrt(e*(float64(total-rows[i])/n)*(float64(total-columns[j])/n))
		}
	}
	return out, nil
}
