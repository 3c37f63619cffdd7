package stats

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// A robustCovariance is the cluster-robust covariance of a fit with working
// weights, in one of its forms, and what degrees of freedom are made of.
//
// Let row i have the working weight w_i, the variance of its residual r_i under
// the model, and X̃ the rows √w_i x_i, so that B = (X̃'X̃)⁻¹ is the inverse
// information and e_i = r_i/√w_i the standardised residuals. With the leverage
// H_g = X̃_g B X̃_g' of cluster g,
//
//	V = B Σ_g X̃_g' A_g e_g e_g' A_g X̃_g B,  A_g = (I − H_g)^a,
//
// where a is 0 for CR0, −1/2 for CR2 and −1 for CR3; CR1 and CR1S multiply CR0
// by a number. As e = (I−H)ε to first order, e_g has the covariance I − H_g
// under the model, so that CR2 then has the mean B. One step of Newton's method
// without cluster g changes the coefficients by −(X̃'X̃ − X̃_g'X̃_g)⁻¹ X̃_g'e_g,
// and CR3 is the sum of the outer products of these changes: without the
// factor (G−1)/G that a jackknife has.
//
// With B = LL' and M_g = L'X̃_g'X̃_g L all of it is done in p dimensions:
// BX̃_g'A_g e_g = L (I−M_g)^a L'u_g for the cluster's score u_g.
//
// For a combination c of the coefficients c'Vc = Σ(a_g'e_g)² with
// a_g = A_g X̃_g Bc is a quadratic form in ε, of matrix P with
// P_gh = a_g'(I−H)_gh a_h, and Satterthwaite's degrees of freedom are
// (tr P)² / tr P².
//
// A cluster without which the coefficients are not identified has leverage 1,
// and no residual left to judge by: CR2 and CR3, and Satterthwaite's degrees of
// freedom, do not exist then.
//
// References: Bell RM, McCaffrey DF. Bias reduction in standard errors for
// linear regression with multi-stage samples. Surv Methodol 2002;28:169-181.
// Mancl LA, DeRouen TA. A covariance estimator for GEE with improved
// small-sample properties. Biometrics 2001;57:126-134. Pustejovsky JE, Tipton
// E. J Bus Econ Stat 2018;36:672-683.
type robustCovariance struct {
	form     RobustForm
	clusters int
	v        [][]float64
	parts    []clusterLeverage
	root     [][]float64 // L, lower triangular, B = LL'
}

// A clusterLeverage is M_g of one cluster as eigenvalues and vectors (columns).
type clusterLeverage struct {
	values  []float64
	vectors [][]float64
}

// leverageOne is how near to 1 an eigenvalue of H_g counts as 1.
const leverageOne = 1e-9

// newRobustCovariance makes it from the inverse information, each row's score
// and covariates, the working weights and the clusters.
func newRobustCovariance(form RobustForm, bread, x [][]float64, weights []float64, scores [][]float64, cluster []int) (*robustCovariance, error) {
	n, p := len(x), len(bread)
	sums := sumByCluster(scores, cluster, p)
	r := &robustCovariance{form: form, clusters: len(sums)}
	if r.clusters < 2 {
		return nil, fmt.Errorf("%w: found %d, expected at least 2", ErrTooFewClusters, r.clusters)
	}
	if form == CR1S && n <= p {
		return nil, fmt.Errorf("%w: %d leave none for %d coefficients", ErrTooFewRows, n, p)
	}
	root, _, ok := cholesky(bread, 0)
	if !ok {
		return nil, fmt.Errorf("%w: the information is singular", ErrNotConverged)
	}
	r.root = root
	for g, information := range informationByCluster(x, weights, cluster, p) {
		part, err := leverageOf(root, information)
		if err != nil {
			return nil, err
		}
		if largest := part.values[p-1]; form.reduces() && largest > 1-leverageOne {
			return nil, fmt.Errorf("%w: without cluster %d of %d a coefficient would not be known, so that %s does not exist",
				ErrTooFewClusters, g+1, r.clusters, form)
		}
		r.parts = append(r.parts, part)
	}
	r.v = newMatrix(p, p)
	for g, u := range sums {
		h := r.product(r.parts[g].apply(r.power, r.transposed(u)))
		for j := range h {
			for k := 0; k <= j; k++ {
				r.v[j][k] += float64(h[j] * h[k])
			}
		}
	}
	factor := 1.0
	if form == CR1 || form == CR1S {
		factor = float64(r.clusters) / float64(r.clusters-1)
	}
	if form == CR1S {
		factor *= float64(n-1) / float64(n-p)
	}
	for j := range p {
		for k := 0; k <= j; k++ {
			r.v[j][k] *= factor
			r.v[k][j] = r.v[j][k]
		}
	}
	return r, nil
}

// power is (1−λ)^a.
func (r *robustCovariance) power(lambda float64) float64 {
	switch r.form {
	case CR2:
		return 1 / math.Sqrt(1-lambda)
	case CR3:
		return 1 / (1 - lambda)
	}
	return 1
}

// transposed is L'x.
func (r *robustCovariance) transposed(x []float64) []float64 {
	out := make([]float64, len(x))
	for i := range x {
		for k := 0; k <= i; k++ {
			out[k] += float64(r.root[i][k] * x[i])
		}
	}
	return out
}

// product is Lx.
func (r *robustCovariance) product(x []float64) []float64 {
	out := make([]float64, len(x))
	for i := range x {
		out[i] = dot(r.root[i][:i+1], x[:i+1])
	}
	return out
}

// satterthwaite is the degrees of freedom of a combination of the
// coefficients; NaN where no cluster says anything of it.
func (r *robustCovariance) satterthwaite(combination []float64) float64 {
	p := len(combination)
	at := r.transposed(combination) // L'c
	trace, squares := 0.0, 0.0
	cross := newMatrix(p, p) // Σ d_g d_g'
	for _, part := range r.parts {
		d := part.apply(func(l float64) float64 { return l * r.power(l) }, at)
		own := dot(at, part.apply(func(l float64) float64 { return l * r.power(l) * r.power(l) }, at))
		both := dot(d, d)
		trace += own - both
		squares += own*own - 2*own*both
		for j := range d {
			for k := range d {
				cross[j][k] += float64(d[j] * d[k])
			}
		}
	}
	for j := range cross {
		squares += dot(cross[j], cross[j])
	}
	if !(trace > 0) || !(squares > 0) {
		return math.NaN()
	}
	return trace * trace / squares
}

// informationByCluster is X̃_g'X̃_g of each cluster, in the order of their first
// rows.
func informationByCluster(x [][]float64, weights []float64, cluster []int, p int) [][][]float64 {
	place := map[int]int{}
	var out [][][]float64
	for i, row := range x {
		at, ok := place[cluster[i]]
		if !ok {
			at = len(out)
			place[cluster[i]] = at
			out = append(out, newMatrix(p, p))
		}
		for j, v := range row {
			w := weights[i] * v
			for k, u := range row {
				out[at][j][k] += float64(w * u)
			}
		}
	}
	return out
}

// leverageOf is L'SL by its eigenvalues, from the least to the largest.
func leverageOf(root, information [][]float64) (clusterLeverage, error) {
	p := len(root)
	m := mat.NewSymDense(p, nil)
	half := newMatrix(p, p) // SL
	for i := range p {
		for j := range p {
			for k := j; k < p; k++ {
				half[i][j] += float64(information[i][k] * root[k][j])
			}
		}
	}
	for i := range p {
		for j := i; j < p; j++ {
			sum := 0.0
			for k := i; k < p; k++ {
				sum += float64(root[k][i] * half[k][j])
			}
			m.SetSym(i, j, sum)
		}
	}
	var e mat.EigenSym
	if !e.Factorize(m, true) {
		return clusterLeverage{}, fmt.Errorf("%w: eigenvalues of a cluster's leverage", ErrNotConverged)
	}
	out := clusterLeverage{values: e.Values(nil), vectors: newMatrix(p, p)}
	var q mat.Dense
	e.VectorsTo(&q)
	for i := range p {
		out.values[i] = math.Max(0, out.values[i])
		for j := range p {
			out.vectors[i][j] = q.At(i, j)
		}
	}
	return out, nil
}

// apply is f(M)x for a function of the eigenvalues.
func (c clusterLeverage) apply(f func(float64) float64, x []float64) []float64 {
	out := make([]float64, len(x))
	for k, l := range c.values {
		along := 0.0
		for i := range x {
			along += float64(c.vectors[i][k] * x[i])
		}
		along *= f(l)
		for i := range out {
			out[i] += float64(along * c.vectors[i][k])
		}
	}
	return out
}
