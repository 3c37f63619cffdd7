package stats

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"testing"
)

// benchmarkCox makes rows with p covariates, every second a yes or no, of which
// all bear on the hazard a little.
func benchmarkCox(n, p int, days, late bool) (benchmarkColumns, []string) {
	r := rand.New(rand.NewPCG(17, 19))
	c := benchmarkColumns{exit: make([]float64, n), status: make([]bool, n), group: make([]int, n), x: newMatrix(n, p)}
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
		eta := 0.0
		for j := range p {
			if j%2 == 0 {
				c.x[i][j] = r.NormFloat64()
			} else {
				c.x[i][j] = float64(r.IntN(2))
			}
			eta += c.x[i][j] / float64(4+j)
		}
		event, censored := 400*r.ExpFloat64()*math.Exp(-eta), 1500*r.Float64()
		c.exit[i], c.status[i] = 1+at(min(event, censored)), event <= censored
		if late {
			c.entry[i] = at(60 * r.Float64())
			c.exit[i] += c.entry[i]
		}
		c.group[i] = i / 2
	}
	terms := make([]string, p)
	for j := range terms {
		terms[j] = fmt.Sprint("x", j+1)
	}
	return c, terms
}

// BenchmarkFitCox is a Cox model with Efron's ties, here and in R: "R" is coxph,
// which also counts concordant pairs, and "R-fit" the bare maximisation inside
// it. Of a small size "statsmodels" is its PHReg. "clustered" has robust errors
// by clusters of two rows, for which coxph takes a minute.
func BenchmarkFitCox(b *testing.B) {
	for _, s := range []struct {
		n, p       int
		days, late bool
		clustered  bool
	}{
		{5_000, 6, true, false, false},
		{100_000, 5, true, false, false},
		{100_000, 20, true, false, false},
		{100_000, 5, false, false, false},
		{100_000, 20, false, false, false},
		{100_000, 5, true, true, false},
		{100_000, 20, false, true, false},
		{100_000, 5, true, false, true},
		{1_000_000, 5, true, false, false},
		{1_000_000, 20, true, false, false},
		{1_000_000, 5, false, false, false},
		{1_000_000, 20, false, false, false},
	} {
		name := fmt.Sprintf("rows=%d/columns=%d/%s", s.n, s.p, ties(s.days))
		if s.late {
			name += "/late"
		}
		if s.clustered {
			name += "/clustered"
		}
		if s.n > 100_000 && testing.Short() {
			continue
		}
		b.Run(name, func(b *testing.B) {
			c, terms := benchmarkCox(s.n, s.p, s.days, s.late)
			job, opts := "cox", CoxOptions{}
			if s.clustered {
				job, opts = "clustered cox", CoxOptions{Cluster: c.group}
			}
			b.Run("heelcohort", func(b *testing.B) {
				here(b, func() float64 { return mustCox(b, c.times(), c.x, terms, opts).SE[0] })
			})
			b.Run("R", func(b *testing.B) { c.inR(b, job) })
			if !s.clustered {
				b.Run("R-fit", func(b *testing.B) { c.inR(b, "cox fit") })
			}
			if s.n == 100_000 && s.p == 5 && !s.clustered {
				b.Run("statsmodels", func(b *testing.B) {
					python := "/usr/bin/python3"
					if _, err := os.Stat(python); err != nil {
						python = "python3"
					}
					c.in(b, python, "benchmark_cox.py", job)
				})
			}
		})
	}
}
