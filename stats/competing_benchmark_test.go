package stats

import (
	"fmt"
	"testing"
)

// BenchmarkCumulativeIncidence is the cumulative incidence of two causes in two
// groups with limits, and Gray's test of each: "curves" and "gray" here,
// "heelcohort" both. "R" is survfit of several states for the curves alone and
// without errors, for which it needs a matrix of rows by times; "cmprsk" is
// cuminc, which gives variances without limits, and Gray's test of both causes.
func BenchmarkCumulativeIncidence(b *testing.B) {
	for _, n := range []int{100_000, 1_000_000} {
		if n > 100_000 && testing.Short() {
			continue
		}
		for _, days := range []bool{true, false} {
			b.Run(fmt.Sprintf("rows=%d/%s", n, ties(days)), func(b *testing.B) {
				c := benchmarkGroups(n, 2, days, false)
				for i := range c.group {
					c.x = append(c.x, []float64{0})
					if c.status[i] {
						c.x[i][0] = 1 + float64(i%2)
					}
				}
				benchmarkIncidence(b, c)
			})
		}
	}
}

func benchmarkIncidence(b *testing.B, c benchmarkColumns) {
	all := CompetingTimes{Exit: c.exit, Cause: make([]int, len(c.exit))}
	parts := make([]CompetingTimes, 2)
	for i, g := range c.group {
		all.Cause[i] = int(c.x[i][0])
		parts[g].Exit, parts[g].Cause = append(parts[g].Exit, c.exit[i]), append(parts[g].Cause, all.Cause[i])
	}
	curves := func() (last float64) {
		for g, t := range parts {
			curve, err := CumulativeIncidence(t, 2, IncidenceOptions{})
			must(b, err)
			if g == 0 {
				last = curve.At(1, 400).Incidence
			}
		}
		return last
	}
	gray := func() float64 {
		var statistic [2]float64
		for k := range statistic {
			r, err := GrayTest(all, k+1, c.group, 2, GrayOptions{})
			must(b, err)
			statistic[k] = r.Test.Statistic
		}
		return statistic[0]
	}
	b.Run("curves", func(b *testing.B) { here(b, curves) })
	b.Run("gray", func(b *testing.B) { here(b, gray) })
	b.Run("heelcohort", func(b *testing.B) {
		here(b, func() float64 {
			curves()
			return gray()
		})
	})
	b.Run("R", func(b *testing.B) { c.inR(b, "incidence") })
	b.Run("cmprsk", func(b *testing.B) { c.inR(b, "gray") })
}
