package stats

import (
	"fmt"
	"math"
	"slices"
)

// An Influence is what leaving one row, or one cluster of rows, out does to a
// fit.
type Influence struct {
	Rows []int // of the unit, by index
	// Change holds, for each coefficient, the estimate of all rows less that
	// without the unit; nil where the coefficients cannot be told without it.
	Change []float64
}

// InfluenceOptions are the choices of LogisticInfluence.
type InfluenceOptions struct {
	Cluster []int // the unit of each row; nil: each row is one
}

// LogisticInfluence tells, for each row or cluster, by how much a fit of
// FitLogistic to the same rows would change without it, to the first step of
// Newton's method:
//
//	b − b(−g) ≈ (I − I_g)⁻¹ U_g
//
// with I the information of all rows, I_g and U_g the information and the score
// of the unit at the estimates. For single rows it is Pregibon's one-step
// change I⁻¹ x (y − π)/(1 − h), h being the row's leverage. Units come in the
// order of their first rows. The step falls short of the refit where one unit
// carries much; it tells which units to look at, not what to leave out. Base R's
// influence of a glm takes deviance residuals in place of y − π, which gives other
// values.
//
// x, terms and y are those of the fit; a fit of another model is the caller's
// mistake. It returns ErrNoData without rows.
//
// Pregibon D. Logistic regression diagnostics. Ann Stat 1981;9:705-724.
func LogisticInfluence(x [][]float64, y []bool, f Fit, opts InfluenceOptions) ([]Influence, error) {
	if len(x) == 0 {
		return nil, fmt.Errorf("influence: %w", ErrNoData)
	}
	p := len(f.Coefficients)
	if p != len(x[0])+1 || f.risk != logitRisk {
		panic("stats: influence of a fit that is not the logistic regression of these rows")
	}
	unit := opts.Cluster
	if unit == nil {
		unit = make([]int, len(x))
		for i := range unit {
			unit[i] = i
		}
	}
	place := map[int]int{}
	var list []Influence
	var score [][]float64
	var own [][][]float64
	whole := newMatrix(p, p)
	// Columns from their means over their deviations: the change is the same
	// and the matrices are even.
	centre, scale := make([]float64, p), slices.Repeat([]float64{1}, p)
	for j := 1; j < p; j++ {
		column := make([]float64, len(x))
		for i, row := range x {
			column[i] = row[j-1]
		}
		centre[j], scale[j] = meanSD(column)
		if scale[j] == 0 {
			scale[j] = 1
		}
	}
	for i, row := range x {
		g, ok := place[unit[i]]
		if !ok {
			g = len(list)
			place[unit[i]] = g
			list = append(list, Influence{})
			score = append(score, make([]float64, p))
			own = append(own, newMatrix(p, p))
		}
		list[g].Rows = append(list[g].Rows, i)
		eta := f.Coefficients[0]
		z := make([]float64, p)
		z[0] = 1
		for j, v := range row {
			eta += f.Coefficients[j+1] * v
			z[j+1] = (v - centre[j+1]) / scale[j+1]
		}
		pi := 1 / (1 + math.Exp(-eta))
		residual := -pi
		if y[i] {
			residual = 1 - pi
		}
		for j := range z {
			score[g][j] += residual * z[j]
			for k := range z {
				v := pi * (1 - pi) * z[j] * z[k]
				own[g][j][k] += v
				whole[j][k] += v
			}
		}
	}
	for g := range list {
		rest := newMatrix(p, p)
		for j := range rest {
			for k := range rest[j] {
				rest[j][k] = whole[j][k] - own[g][j][k]
			}
		}
		l, _, ok := cholesky(rest, 1e-10)
		if !ok {
			continue
		}
		change := choleskySolve(l, score[g])
		for j := 1; j < p; j++ {
			change[j] /= scale[j]
			change[0] -= change[j] * centre[j]
		}
		list[g].Change = change
	}
	return list, nil
}
