package stats

import (
	"fmt"
	"math"
)

// compareGroups refers the groups' surplus of events, observed less expected,
// to the chi-squared distribution on the number of groups compared less one. A
// group whose surplus has no variance is never at risk together with another at
// an event; it is left out and named. n counts each group's rows or children,
// as unit says. Where fewer than two groups remain the test's numbers are NaN.
func compareGroups(name, unit string, n []int, observed, expected []float64, variance [][]float64) (Test, error) {
	t := Test{Name: name, Statistic: math.NaN(), DF: math.NaN(), P: math.NaN()}
	var compared []int
	for g := range n {
		if !(variance[g][g] > 0) {
			t.Warnings = append(t.Warnings, Warning{"group-not-compared", fmt.Sprintf(
				"Group %d of %d (%d %s) is never at risk together with another group at an event: it has no part in the test.",
				g+1, len(n), n[g], unit)})
			continue
		}
		compared = append(compared, g)
		if expected[g] < smallExpected {
			t.Warnings = append(t.Warnings, Warning{"small-expected", fmt.Sprintf(
				"Group %d of %d has %.3g expected events, fewer than %d: the P value is rough.",
				g+1, len(n), expected[g], smallExpected)})
		}
	}
	if len(compared) < 2 {
		return t, fmt.Errorf("%s: no event happened while two groups were at risk together: %w", name, ErrNoVariance)
	}
	// One group is redundant: the differences add up to 0.
	df := len(compared) - 1
	v, u := newMatrix(df, df), make([]float64, df)
	for i, g := range compared[:df] {
		u[i] = observed[g] - expected[g]
		for j, h := range compared[:df] {
			v[i][j] = variance[g][h]
		}
	}
	l, dependent, ok := cholesky(v, 1e-10)
	if !ok {
		return t, fmt.Errorf("%s: group %d of %d is compared with only some of the others, the groups fall apart into separate comparisons: %w",
			name, compared[dependent]+1, len(n), ErrNoVariance)
	}
	t.Statistic, t.DF = dot(u, choleskySolve(l, u)), float64(df)
	t.P = chiSquaredTail(t.Statistic, t.DF)
	return t, nil
}
