package stats

import (
	"math/rand/v2"
	"testing"
)

// A clusterCase is what clustermean.py reads: y is 0 or 1 where Share is true.
type clusterCase struct {
	Level   float64   `json:"level"`
	Share   bool      `json:"share"`
	Y       []float64 `json:"y"`
	Exposed []float64 `json:"exposed"`
	Cluster []int     `json:"cluster"`
}

// randomClusters draws clusters of 1 to 3 rows with something in common; every
// second case has whole clusters exposed.
func randomClusters(r *rand.Rand, i int) clusterCase {
	c := clusterCase{Level: []float64{0.9, 0.95, 0.99}[i%3], Share: i%4 < 2}
	for k := range 12 + r.IntN(40) {
		own, whole := r.NormFloat64(), float64(k%2)
		for range 1 + r.IntN(3) {
			x := whole
			if i%2 == 1 {
				x = float64(r.IntN(2))
			}
			y := 20 + own + x + r.NormFloat64()
			if c.Share {
				y = 0
				if own+0.4*x+r.NormFloat64() > 0.3 {
					y = 1
				}
			}
			c.Y, c.Exposed, c.Cluster = append(c.Y, y), append(c.Exposed, x), append(c.Cluster, k)
		}
	}
	return c
}

type clusterOutput struct {
	Version string
	Cases   []struct {
		Mean, SE, Lower, Upper, Difference float64
		DifferenceSE                       float64 `json:"difference_se"`
	}
}

func TestClusterMeanAgainstStoredStatsmodels(t *testing.T) {
	var cases []clusterCase
	var out clusterOutput
	storedCrosscheck(t, "clustermean", &cases, &out)
	compareClusters(t, cases, out)
}

// TestClusterMeanAgainstStatsmodels compares with statsmodels on 200 random data
// sets.
func TestClusterMeanAgainstStatsmodels(t *testing.T) {
	r := rand.New(rand.NewPCG(19, 98))
	var cases []clusterCase
	for i := range 200 {
		cases = append(cases, randomClusters(r, i))
	}
	var out clusterOutput
	crosscheck(t, "clustermean.py", cases, &out)
	compareClusters(t, cases, out)
}

// compareClusters compares to 1e-9: closed forms on both sides, whose sums of at
// most some hundred doubles lose few digits.
func compareClusters(t *testing.T, cases []clusterCase, out clusterOutput) {
	t.Helper()
	if len(out.Cases) != len(cases) || len(cases) == 0 {
		t.Fatalf("%d answers for %d cases", len(out.Cases), len(cases))
	}
	const close = 1e-9
	wide := 0.0 // clusters with exposed rows and others, whose errors go the other way
	for i, c := range cases {
		want := out.Cases[i]
		mean, err := ClusterMean(c.Y, c.Cluster, c.Level)
		must(t, err)
		for k, p := range [][2]float64{{mean.Value, want.Mean}, {mean.SE, want.SE}, {mean.Lower, want.Lower}, {mean.Upper, want.Upper}} {
			if !near(p[0], p[1], close) {
				t.Errorf("case %d, quantity %d: got %v, want %v", i+1, k, p[0], p[1])
			}
		}
		if !c.Share {
			continue
		}
		var had, exposed []bool
		for j, y := range c.Y {
			had, exposed = append(had, y == 1), append(exposed, c.Exposed[j] == 1)
		}
		share, err := ClusterProportion(had, c.Cluster, c.Level)
		must(t, err)
		d, err := ClusterRiskDifference(had, exposed, c.Cluster, c.Level)
		must(t, err)
		if !near(share.Value, want.Mean, close) || !near(share.SE, want.SE, close) || !near(d.Value, want.Difference, close) {
			t.Errorf("case %d: share %v (%v), difference %v, want %+v", i+1, share.Value, share.SE, d.Value, want)
		}
		// Each share has the factor G/(G−1) of its own clusters, the regression
		// that of all: equal but for the number of clusters, at least 8 a side.
		if ratio := d.SE / want.DifferenceSE; !(ratio > 0.99 && ratio < 1.1) {
			t.Errorf("case %d: error of the difference %v, want about %v", i+1, d.SE, want.DifferenceSE)
		}
		wide = max(wide, want.DifferenceSE)
	}
	t.Logf("%s: %d cases compared, errors of differences up to %.3f", out.Version, len(cases), wide)
	if wide == 0 {
		t.Error("no difference was compared")
	}
}
