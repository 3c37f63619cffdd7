package stats

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// benchmarkGroups makes rows in groups of somewhat different hazards: on whole
// days, so that many are tied, or at times of which no two are the same, and
// with late entry or without.
func benchmarkGroups(n, groups int, days, late bool) benchmarkColumns {
	r := rand.New(rand.NewPCG(11, 13))
	c := benchmarkColumns{exit: make([]float64, n), status: make([]bool, n), group: make([]int, n)}
	if late {
		c.entry = make([]float64, n)
	}
	at := func(t float64) float64 {
		if days {
			return math.Floor(t)
		}
		return t
	}
	for i := range n {
		c.group[i] = r.IntN(groups)
		c.exit[i] = 1 + at(400*r.ExpFloat64()/(1+0.1*float64(c.group[i])))
		if late {
			c.entry[i] = at(60 * r.Float64())
			c.exit[i] += c.entry[i]
		}
		c.status[i] = r.IntN(4) > 0
	}
	return c
}

func (c benchmarkColumns) times() Times { return Times{c.entry, c.exit, c.status} }

// byGroup takes the rows apart, as a caller has them for a curve of each group.
func (c benchmarkColumns) byGroup() []Times {
	out := make([]Times, 1+slices.Max(c.group))
	for i, g := range c.group {
		t := &out[g]
		if c.entry != nil {
			t.Entry = append(t.Entry, c.entry[i])
		}
		t.Exit, t.Status = append(t.Exit, c.exit[i]), append(t.Status, c.status[i])
	}
	return out
}

// BenchmarkCurves is a Kaplan-Meier curve of each group with log-log limits, and
// the log-rank test of all: "curves" and "logrank" here, "heelcohort" both of
// them, "R" survfit and survdiff. "sort" is slices.Sort of the times alone,
// without what belongs to them. survdiff takes no late entry: with it, curves
// stand beside curves.
func BenchmarkCurves(b *testing.B) {
	type size struct {
		n, groups  int
		days, late bool
	}
	var sizes []size
	for _, n := range []int{100_000, 1_000_000, 5_000_000} {
		if n > 1_000_000 && testing.Short() {
			continue
		}
		for _, groups := range []int{2, 8} {
			sizes = append(sizes, size{n, groups, true, false}, size{n, groups, false, false})
		}
	}
	sizes = append(sizes, size{1_000_000, 2, true, true}, size{1_000_000, 2, false, true})
	for _, s := range sizes {
		name := fmt.Sprintf("rows=%d/groups=%d/%s", s.n, s.groups, ties(s.days))
		if s.late {
			name += "/late"
		}
		b.Run(name, func(b *testing.B) {
			c := benchmarkGroups(s.n, s.groups, s.days, s.late)
			benchmarkCurves(b, c, s.groups)
		})
	}
}

func ties(days bool) string {
	if days {
		return "days"
	}
	return "untied"
}

func benchmarkCurves(b *testing.B, c benchmarkColumns, groups int) {
	parts := c.byGroup()
	curves := func() (median float64) {
		for g, t := range parts {
			if curve := mustCurve(b, t, CurveOptions{}); g == 0 {
				median = curve.Quantile(0.5).Value
			}
		}
		return median
	}
	logRank := func() float64 {
		r, err := LogRank(c.times(), c.group, groups, LogRankOptions{})
		must(b, err)
		return r.Test.Statistic
	}
	b.Run("curves", func(b *testing.B) { here(b, curves) })
	b.Run("sort", func(b *testing.B) {
		here(b, func() float64 {
			for _, t := range parts {
				slices.Sort(slices.Clone(t.Exit))
			}
			return math.NaN()
		})
	})
	if c.entry != nil {
		b.Run("R", func(b *testing.B) { c.inR(b, "curves") })
		return
	}
	b.Run("logrank", func(b *testing.B) { here(b, logRank) })
	b.Run("heelcohort", func(b *testing.B) {
		here(b, func() float64 {
			curves()
			return logRank()
		})
	})
	b.Run("R", func(b *testing.B) { c.inR(b, "curves and log-rank") })
}

// BenchmarkCurveBootstrap is percentile limits of the median of a curve of 10,000
// rows in 5,000 clusters by 200 resamples of the clusters; R fits survfit to
// each resample.
func BenchmarkCurveBootstrap(b *testing.B) {
	const rows, replicates = 10_000, 200
	c := benchmarkGroups(rows, 1, true, false)
	for i := range c.group {
		c.group[i] = i / 2
	}
	b.Run("heelcohort", func(b *testing.B) {
		here(b, func() float64 {
			boot, err := ClusterBootstrap(rows/2, func(weight []int) float64 {
				var t Times
				for i, g := range c.group {
					for range weight[g] {
						t.Exit, t.Status = append(t.Exit, c.exit[i]), append(t.Status, c.status[i])
					}
				}
				return mustCurve(b, t, CurveOptions{}).Quantile(0.5).Value
			}, BootstrapOptions{Replicates: replicates})
			must(b, err)
			return boot.SE
		})
	})
	b.Run("R", func(b *testing.B) { c.inR(b, "bootstrap", fmt.Sprint(replicates)) })
}
