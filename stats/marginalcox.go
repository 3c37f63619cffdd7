package stats

import (
	"fmt"
	"math"
	"slices"
)

// An EndType holds the rows of one of several kinds of events that the same
// children may have: the first spell, the second, or training and match return.
// Each row is at risk of that kind whatever the others do.
type EndType struct {
	Name  string // "second spell"
	Times Times
	X     [][]float64 // one row of covariates for each row of Times
	Child []int       // of each row, any numbers
}

// FitMarginalCox fits one Cox model for each kind of event (see FitCox), each
// with coefficients and a baseline hazard of its own, and the joint robust
// covariance of all coefficients: with B_k the inverse information of kind k
// and u_ik the score residuals of child i summed over its rows, the block of
// kinds k and l is
//
//	B_k (Σ over children of u_ik u_ilᵀ) B_l
//
// so that the times of one child may depend on each other in any way. Terms are
// named KIND: TERM and stand kind by kind. Fit.JointTest tests several at once
// and Fit.Average averages them. opts.Cluster is not used: a child is the
// cluster.
//
// It returns what FitCox returns, with the kind's name, and ErrTooFewClusters
// where children are not more than the coefficients of a kind.
//
// Wei LJ, Lin DY, Weissfeld L. Regression analysis of multivariate incomplete
// failure time data by modeling marginal distributions. J Am Stat Assoc
// 1989;84:1065-1073.
func FitMarginalCox(kinds []EndType, terms []string, opts CoxOptions) (Fit, error) {
	if len(kinds) == 0 {
		panic("stats: marginal Cox models of no kind of event")
	}
	opts = opts.resolve()
	q := len(kinds) * len(terms)
	f := Fit{
		Model: "marginal Cox proportional hazards regressions", Covariance: newMatrix(q, q),
		Deviance: math.NaN(), Dispersion: 1, DF: q, Ties: opts.Ties, Robust: clusterMethod(false),
	}
	number := map[int]int{} // of the children
	var influence [][]float64
	for k, kind := range kinds {
		if len(kind.Child) != len(kind.X) {
			panic(fmt.Sprintf("stats: %s: %d rows, %d children", kind.Name, len(kind.X), len(kind.Child)))
		}
		single := opts
		single.Cluster = kind.Child
		one, err := FitCox(kind.Times, kind.X, terms, single)
		if err != nil {
			return Fit{}, fmt.Errorf("%s: %w", kind.Name, err)
		}
		for _, e := range one.Estimates {
			e.Term = kind.Name + ": " + e.Term
			f.Terms, f.Estimates = append(f.Terms, e.Term), append(f.Estimates, e)
		}
		f.Coefficients, f.SE = append(f.Coefficients, one.Coefficients...), append(f.SE, one.SE...)
		f.ModelSE = append(f.ModelSE, one.ModelSE...)
		f.LogLik, f.NullLogLik = f.LogLik+one.LogLik, f.NullLogLik+one.NullLogLik
		f.N, f.Events, f.Iterations = f.N+one.N, f.Events+one.Events, max(f.Iterations, one.Iterations)
		for _, w := range one.Warnings {
			if w.Code == "few-clusters" {
				if !slices.Contains(f.Warnings, w) {
					f.Warnings = append(f.Warnings, w)
				}
				continue
			}
			w.Text = upperInitial(kind.Name) + ": " + w.Text
			f.Warnings = append(f.Warnings, w)
		}
		for i, change := range coxInfluence(kind, one) {
			child, known := number[kind.Child[i]]
			if !known {
				child = len(number)
				number[kind.Child[i]] = child
				influence = append(influence, make([]float64, q))
			}
			for j, d := range change {
				influence[child][k*len(terms)+j] += d
			}
		}
	}
	f.Clusters = len(number)
	for _, d := range influence {
		for a := range d {
			for b := range a + 1 {
				f.Covariance[a][b] += float64(d[a] * d[b])
			}
		}
	}
	for a := range q {
		for b := range a {
			f.Covariance[b][a] = f.Covariance[a][b]
		}
	}
	all := make([]int, q)
	for i := range all {
		all[i] = i
	}
	f.Tests = []Test{f.JointTest("Wald test", all)}
	return f, nil
}

// coxInfluence is what each row changes in the coefficients of a fit, to first
// order: its score residual times the inverse information.
func coxInfluence(rows EndType, f Fit) [][]float64 {
	m := newCoxModel(rows.Times, rows.X, f.Ties)
	scaled := make([]float64, len(f.Coefficients))
	for j, b := range f.Coefficients {
		scaled[j] = b * m.scale[j]
	}
	_, _, information := m.likelihood(scaled)
	l, _, _ := cholesky(information, 1e-14) // the fit has inverted it
	out := newMatrix(len(rows.X), len(scaled))
	for i, u := range m.scoreResiduals(scaled) {
		for j, d := range choleskySolve(l, u) {
			out[i][j] = d / m.scale[j]
		}
	}
	return out
}

// Average is exp of the average of the coefficients with the given indices of
// f.Terms that has the least variance: with b the coefficients and V their
// covariance, weights V⁻¹1/(1ᵀV⁻¹1), which may be negative. It is for
// coefficients of one meaning, such as a treatment's in several kinds of
// events; SE is of the log. It returns ErrNoVariance where V is singular.
//
// Wei LJ, Lin DY, Weissfeld L. J Am Stat Assoc 1989;84:1065-1073, sec. 3.
func (f Fit) Average(term string, indices []int, level float64) (Estimate, error) {
	v := newMatrix(len(indices), len(indices))
	for a, i := range indices {
		for b, j := range indices {
			v[a][b] = f.Covariance[i][j]
		}
	}
	l, _, ok := cholesky(v, 1e-10)
	if !ok {
		return Estimate{}, fmt.Errorf("average of %d coefficients: the covariance is singular: %w", len(indices), ErrNoVariance)
	}
	weight := choleskySolve(l, slices.Repeat([]float64{1}, len(indices)))
	sum := 0.0
	for _, w := range weight {
		sum += w
	}
	combination := make([]float64, len(f.Coefficients))
	for a, i := range indices {
		combination[i] += weight[a] / sum
	}
	e := f.Ratio(term, combination, level)
	e.Measure = "average ratio"
	return e, nil
}

func upperInitial(s string) string {
	if s == "" || s[0] < 'a' || s[0] > 'z' {
		return s
	}
	return string(s[0]-'a'+'A') + s[1:]
}
