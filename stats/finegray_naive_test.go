package stats

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"
)

// A naiveFineGray is a second, plain implementation: every sum is made anew over
// all rows, weights of rows change the whole estimate, that of censoring
// included, and influences are slopes in those weights.
type naiveFineGray struct {
	c     fineGrayCase
	ties  string
	known bool
}

// chance is that of having entered before u and of not being censored before it.
func (n naiveFineGray) chance(u float64) float64 {
	out := 1.0
	for i := range n.c.Exit {
		if at := n.c.Exit[i]; n.c.Cause[i] == 0 && at < u && n.firstCensored(i) {
			d, risk := n.censoring(at, nil)
			out *= 1 - d/risk
		}
		if n.c.Entry == nil {
			continue
		}
		if e := n.c.Entry[i]; e >= u {
			risk := 0.0 // of those that enter at e or before, once for each row that does
			for k := range n.c.Exit {
				if n.c.Entry[k] <= e && e < n.c.Exit[k] {
					risk++
				}
			}
			before := 0.0 // rows of the same entry counted already
			for k := range i {
				if n.c.Entry[k] == e {
					before++
				}
			}
			out *= (risk - before - 1) / (risk - before)
		}
	}
	return out
}

func (n naiveFineGray) firstCensored(i int) bool {
	for k := range i {
		if n.c.Cause[k] == 0 && n.c.Exit[k] == n.c.Exit[i] {
			return false
		}
	}
	return true
}

// censoring is the weight of the rows censored at a time, and at risk of it.
func (n naiveFineGray) censoring(at float64, weight []float64) (d, risk float64) {
	for k, exit := range n.c.Exit {
		w := 1.0
		if weight != nil {
			w = weight[k]
		}
		if n.c.Entry != nil && n.c.Entry[k] >= at {
			continue
		}
		if exit > at || exit == at && n.c.Cause[k] == 0 {
			risk += w
		}
		if exit == at && n.c.Cause[k] == 0 {
			d += w
		}
	}
	return d, risk
}

// hazardOfCensoring is its cumulative hazard before u.
func (n naiveFineGray) hazardOfCensoring(u float64, weight []float64) float64 {
	sum := 0.0
	for i, at := range n.c.Exit {
		if n.c.Cause[i] == 0 && at < u && n.firstCensored(i) {
			d, risk := n.censoring(at, weight)
			sum += d / risk
		}
	}
	return sum
}

// fit returns the coefficients at row weights, and the cumulative hazard of the
// covariates x at a time. The chance of observation moves with the weights as
// the hazard of censoring does.
func (n naiveFineGray) fit(weight, x []float64, until float64) (beta []float64, hazard float64) {
	rows, p := len(n.c.Exit), len(n.c.X[0])
	chance := make([]float64, rows) // at each row's exit
	for i, at := range n.c.Exit {
		chance[i] = n.chance(at)
		if !n.known {
			chance[i] *= math.Exp(n.hazardOfCensoring(at, nil) - n.hazardOfCensoring(at, weight))
		}
	}
	counts := func(i, event int) float64 {
		at := n.c.Exit[event]
		switch {
		case n.c.Exit[i] >= at && (n.c.Entry == nil || n.c.Entry[i] < at):
			return weight[i]
		case n.c.Exit[i] < at && n.c.Cause[i] > 1:
			return weight[i] * chance[event] / chance[i]
		}
		return 0
	}
	beta = make([]float64, p)
	for range 30 {
		gradient, information := make([]float64, p), newMatrix(p, p)
		hazard = 0
		for i, cause := range n.c.Cause {
			if cause != 1 {
				continue
			}
			at := n.c.Exit[i]
			place, tied, sum := 0.0, 0.0, 0.0
			for k := range rows {
				if n.c.Cause[k] == 1 && n.c.Exit[k] == at {
					if k < i {
						place++
					}
					tied++
					sum += weight[k]
				}
			}
			part, each := place/tied, sum/tied
			if n.ties == TiesBreslow {
				part = 0
			}
			s0, s1, s2 := 0.0, make([]float64, p), newMatrix(p, p)
			for k, row := range n.c.X {
				w := counts(k, i) * math.Exp(dot(row, beta))
				if n.c.Cause[k] == 1 && n.c.Exit[k] == at {
					w *= 1 - part
				}
				s0 += w
				for a := range p {
					s1[a] += w * row[a]
					for b := range p {
						s2[a][b] += w * row[a] * row[b]
					}
				}
			}
			for a := range p {
				gradient[a] += weight[i]*n.c.X[i][a] - each*s1[a]/s0
				for b := range p {
					information[a][b] += each * (s2[a][b]/s0 - s1[a]*s1[b]/s0/s0)
				}
			}
			if at <= until {
				hazard += each / s0 * math.Exp(dot(x, beta))
			}
		}
		l, _, _ := cholesky(information, 0)
		for a, v := range choleskySolve(l, gradient) {
			beta[a] += v
		}
	}
	return beta, hazard
}

// TestFineGrayAgainstPlain compares estimates, their covariance and the errors of
// incidences with slopes of the plain estimates in each row's weight, whose
// squares over independent rows or clusters add up to the variance.
func TestFineGrayAgainstPlain(t *testing.T) {
	r := rand.New(rand.NewPCG(1999, 94))
	compared := map[string]int{}
	for i := range 24 {
		late := i%4 == 3
		c := randomFineGray(r, 24+r.IntN(12), late)
		for k := range c.X { // moderate, so that 30 steps of Newton's from 0 arrive
			for j := range c.X[k] {
				if j == 1 {
					c.X[k][j] = (c.X[k][j] + 16) / 4
				}
			}
		}
		ties := []string{TiesEfron, TiesBreslow}[i%2]
		known := late || i%6 == 4
		f, err := FitFineGray(c.times(), 1, c.X, c.terms(), FineGrayOptions{Ties: ties, Cluster: c.Cluster, KnownWeights: known})
		if errors.Is(err, ErrSeparation) || errors.Is(err, ErrUnobserved) || errors.Is(err, ErrSplitRows) {
			continue
		}
		must(t, err)
		n := naiveFineGray{c, ties, known}
		rows, p := len(c.Exit), len(c.X[0])
		x := c.X[0]
		until := c.Exit[rows/2]
		ones := make([]float64, rows)
		for k := range ones {
			ones[k] = 1
		}
		beta, hazard := n.fit(ones, x, until)
		cluster := f.fineGray.clusters()
		slopes := newMatrix(rows, p+1)
		const step = 1e-4 // the slopes' error is of its square
		for k := range rows {
			ones[k] = 1 + step
			up, above := n.fit(ones, x, until)
			ones[k] = 1 - step
			down, under := n.fit(ones, x, until)
			ones[k] = 1
			for j := range p {
				slopes[k][j] = (up[j] - down[j]) / (2 * step)
			}
			slopes[k][p] = (above - under) / (2 * step)
		}
		covariance := newMatrix(p+1, p+1)
		for _, sum := range sumByCluster(slopes, cluster, p+1) {
			for a := range sum {
				for b := range sum {
					covariance[a][b] += sum[a] * sum[b]
				}
			}
		}
		for a := range p {
			if !near(f.Coefficients[a], beta[a], 1e-8) {
				t.Errorf("set %d: coefficients %v, want %v", i, f.Coefficients, beta)
			}
			for b := range p {
				if !near(f.Covariance[a][b], covariance[a][b], 1e-6) {
					t.Errorf("set %d: covariance %v, want %v", i, f.Covariance, covariance)
				}
			}
		}
		points, err := f.PredictedIncidence(x, []float64{until}, IncidenceOptions{})
		must(t, err)
		se := math.Exp(-hazard) * math.Sqrt(covariance[p][p])
		if got := points[0]; !near(got.Incidence, 1-math.Exp(-hazard), 1e-8) || !near(got.SE, se, 1e-6) {
			t.Errorf("set %d: incidence %v (%v), want %v (%v)", i, got.Incidence, got.SE, 1-math.Exp(-hazard), se)
		}
		compared[ties]++
		if late {
			compared["late"]++
		}
		if known {
			compared["known"]++
		}
		if c.Cluster != nil {
			compared["clusters"]++
		}
	}
	t.Log(compared)
	for _, kind := range []string{TiesEfron, TiesBreslow, "late", "known", "clusters"} {
		if compared[kind] < 3 {
			t.Errorf("%d sets compared with %s", compared[kind], kind)
		}
	}
}
