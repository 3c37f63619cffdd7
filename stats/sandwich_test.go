package stats

import (
	"errors"
	"math/rand/v2"
	"testing"
)

// By hand, the mean of 1, 2, 3, 6 with variance 1: the bread is 1/4, the scores
// are −2, −1, 0, 3. By single rows the corrected variance is that of a mean,
// Σ(x−m)²/(n(n−1)) = 14/12. By the pairs (1, 6) and (2, 3) the sums are 1 and
// −1: 2/16 times 2/1.
func TestClusterRobustByHand(t *testing.T) {
	bread := [][]float64{{0.25}}
	scores := [][]float64{{-2}, {-1}, {0}, {3}}
	for _, c := range []struct {
		cluster    []int
		correction bool
		want       float64
	}{
		{[]int{1, 2, 3, 4}, true, 14.0 / 12},
		{[]int{1, 2, 3, 4}, false, 14.0 / 16},
		{[]int{-7, 900, 900, -7}, true, 0.25},
		{[]int{-7, 900, 900, -7}, false, 0.125},
	} {
		v, err := clusterRobust(bread, scores, c.cluster, c.correction)
		must(t, err)
		if !near(v[0][0], c.want, 1e-15) {
			t.Errorf("clusters %v, correction %v: %v, want %v", c.cluster, c.correction, v[0][0], c.want)
		}
	}
	if _, err := clusterRobust(bread, scores, []int{3, 3, 3, 3}, true); !errors.Is(err, ErrTooFewClusters) {
		t.Errorf("one cluster: error %v, want %v", err, ErrTooFewClusters)
	}
	panics(t, "4 rows of scores with 2 cluster numbers", func() { _, _ = clusterRobust(bread, scores, []int{1, 2}, true) })
}

// The matrix product written out, B M B, on random scores.
func TestClusterRobustAgainstPlain(t *testing.T) {
	r := rand.New(rand.NewPCG(16, 1))
	const n, p, groups = 40, 3, 7
	scores, cluster := newMatrix(n, p), make([]int, n)
	bread := [][]float64{{2, 0.5, 0.1}, {0.5, 3, -0.4}, {0.1, -0.4, 1}}
	for i := range scores {
		cluster[i] = r.IntN(groups)
		for j := range scores[i] {
			scores[i][j] = r.NormFloat64()
		}
	}
	meat := newMatrix(p, p)
	for a := range n {
		for b := range n {
			if cluster[a] == cluster[b] {
				for j := range p {
					for k := range p {
						meat[j][k] += scores[a][j] * scores[b][k]
					}
				}
			}
		}
	}
	got, err := clusterRobust(bread, scores, cluster, true)
	must(t, err)
	g := float64(countClusters(cluster))
	for j := range p {
		for k := range p {
			want := 0.0
			for a := range p {
				for b := range p {
					want += bread[j][a] * meat[a][b] * bread[b][k]
				}
			}
			if want *= g / (g - 1); !near(got[j][k], want, 1e-12) {
				t.Errorf("[%d,%d]: %v, want %v", j, k, got[j][k], want)
			}
		}
	}
}
