package stats

import (
	"math"
	"testing"
)

// BenchmarkFineGray is a subdistribution hazards model of 100,000 rows on five
// columns: with days that hardly tie, with 104 weeks, and those in R's survival.
func BenchmarkFineGray(b *testing.B) {
	const n = 100_000
	days, weeks := CompetingTimes{}, CompetingTimes{}
	x := newMatrix(n, 5)
	for k := range n {
		i, eta := float64(k+1), 0.0
		for j := range x[k] {
			x[k][j] = fraction(i*math.Sqrt(float64(4*j+6))) - 0.5
			eta += 0.5 * x[k][j]
		}
		time := -math.Log(1-fraction(i*0.7548776662466927)) * math.Exp(-eta)
		cause := min(2, int(4*fraction(i*0.5698402909980532)))
		if 40*time > 103 {
			cause = 0
		}
		days.Exit, days.Cause = append(days.Exit, math.Min(103, 40*time)), append(days.Cause, cause)
		weeks.Exit, weeks.Cause = append(weeks.Exit, 1+math.Floor(math.Min(103, 40*time))), append(weeks.Cause, cause)
	}
	terms := []string{"a", "b", "c", "d", "e"}
	for _, c := range []struct {
		name string
		data CompetingTimes
	}{{"days", days}, {"weeks", weeks}} {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				f, err := FitFineGray(c.data, 1, x, terms, FineGrayOptions{})
				must(b, err)
				b.ReportMetric(f.Coefficients[0], "coefficient")
			}
		})
	}
	b.Run("R", func(b *testing.B) { timedElsewhere(b, "Rscript", "benchmark_finegray.R", n) })
}
