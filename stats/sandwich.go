package stats

import "fmt"

// fewClusters is the number of clusters below which robust errors are known to
// be too small on average, and a result says so.
const fewClusters = 30

// clusterRobust returns the cluster-robust ("sandwich") covariance matrix
//
//	V = B M B,  M = c Σ_g u_g u_gᵀ,  u_g = Σ_{i in g} u_i
//
// of a fit by maximum likelihood, where B (bread) is the inverse of the
// information, u_i (one row of scores) the gradient of row i's contribution to
// the log likelihood, and c = G/(G−1) for G clusters when correction is set,
// otherwise 1. Cluster numbers are arbitrary. Rows of different clusters are
// taken to be independent; rows within one may depend on each other in any
// way. The matrix is symmetric and positive semidefinite, and its rank is at
// most G (at most G−1 where the scores add up to nothing).
//
// It returns ErrTooFewClusters for fewer than two clusters.
//
// Reference: Liang KY, Zeger SL. Longitudinal data analysis using generalized
// linear models. Biometrika 1986;73:13-22. The factor G/(G−1) lets a mean
// clustered by single rows have its usual variance, with divisor n−1.
func clusterRobust(bread, scores [][]float64, cluster []int, correction bool) ([][]float64, error) {
	if len(scores) != len(cluster) {
		panic(fmt.Sprintf("stats: %d rows of scores with %d cluster numbers", len(scores), len(cluster)))
	}
	p := len(bread)
	sums := sumByCluster(scores, cluster, p)
	g := len(sums)
	if g < 2 {
		return nil, fmt.Errorf("%w: found %d, expected at least 2", ErrTooFewClusters, g)
	}
	factor := 1.0
	if correction {
		factor = float64(g) / float64(g-1)
	}
	// V = c Σ (B u_g)(B u_g)ᵀ is symmetric term by term.
	v := newMatrix(p, p)
	h := make([]float64, p)
	for _, u := range sums {
		for j := range h {
			h[j] = dot(bread[j], u)
		}
		for j := range h {
			for k := 0; k <= j; k++ {
				v[j][k] += float64(h[j] * h[k])
			}
		}
	}
	for j := range v {
		for k := 0; k <= j; k++ {
			v[j][k] *= factor
			v[k][j] = v[j][k]
		}
	}
	return v, nil
}

// sumByCluster adds up the rows of each cluster, clusters in the order of
// their first row.
func sumByCluster(scores [][]float64, cluster []int, p int) [][]float64 {
	place := make(map[int]int)
	var sums [][]float64
	for i, row := range scores {
		if len(row) != p {
			panic(fmt.Sprintf("stats: row %d of scores has %d entries, expected %d", i, len(row), p))
		}
		at, ok := place[cluster[i]]
		if !ok {
			at = len(sums)
			place[cluster[i]] = at
			sums = append(sums, make([]float64, p))
		}
		for j, u := range row {
			sums[at][j] += u
		}
	}
	return sums
}

// countClusters returns the number of distinct cluster numbers.
func countClusters(cluster []int) int {
	seen := make(map[int]struct{}, len(cluster))
	for _, c := range cluster {
		seen[c] = struct{}{}
	}
	return len(seen)
}

// clusterMethod describes robust errors for a result.
func clusterMethod(correction bool) string {
	if correction {
		return "cluster-robust, G/(G-1) correction"
	}
	return "cluster-robust, uncorrected"
}

// clusterWarnings doubts robust errors made from few clusters.
func clusterWarnings(g int) []Warning {
	if g >= fewClusters {
		return nil
	}
	return []Warning{{
		Code: "few-clusters",
		Text: fmt.Sprintf("Robust errors rest on %d clusters; below %d they tend to be too small.", g, fewClusters),
	}}
}
