package stats

import (
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"testing"
)

// drawnCox is a model on random rows: tied or not, entering late or not, in
// strata or not, weighted or not; nil where they bear none.
func drawnCox(seed uint64) *coxModel {
	r := rand.New(rand.NewPCG(seed, 1))
	n, p := 10+r.IntN(60), 1+r.IntN(4)
	c, terms := benchmarkCox(n, p, r.IntN(2) == 0, r.IntN(2) == 0)
	opts := CoxOptions{Ties: []string{TiesEfron, TiesBreslow}[r.IntN(2)]}
	if r.IntN(2) == 0 {
		opts.Strata, opts.Weights = make([]int, n), make([]float64, n)
	}
	few := r.IntN(2) == 0
	for i := range n {
		c.status[i] = i == 0 || r.IntN(4) > 0
		if few {
			entry := 0.0
			if c.entry != nil {
				c.entry[i] = float64(r.IntN(3))
				entry = c.entry[i]
			}
			c.exit[i] = entry + 1 + float64(r.IntN(4))
		}
		for j := range p {
			c.x[i][j] = r.NormFloat64()
		}
		if opts.Strata != nil {
			opts.Strata[i], opts.Weights[i] = r.IntN(3), 0.2+r.Float64()
		}
	}
	m, err := prepareCox("model", c.times(), c.x, terms, opts.resolve())
	if err != nil {
		return nil
	}
	return m
}

// TestCoxInformationOverRiskSets compares with the definition: at each event
// time and for each of its denominators, the covariance over the risk set, from
// sums of products that follow the rows in and out.
func TestCoxInformationOverRiskSets(t *testing.T) {
	for seed := range uint64(300) {
		t.Run(fmt.Sprint(seed), func(t *testing.T) {
			m := drawnCox(seed)
			if m == nil {
				return
			}
			r := rand.New(rand.NewPCG(seed, 2))
			p := len(m.scale)
			beta, want := make([]float64, p), newMatrix(p, p)
			for j := range beta {
				beta[j] = 3 * r.NormFloat64()
			}
			m.visitMoments(beta, func(_ coxGroup, _ []float64, spread [][]float64) {
				for j := range want {
					for k := range want {
						want[j][k] += spread[j][k]
					}
				}
			})
			_, _, got := m.likelihood(beta)
			for j := range want {
				for k := range want {
					// Each event adds about 1 on scaled columns: twelve digits of that.
					if math.Abs(got[j][k]-want[j][k]) > 1e-12*float64(m.events)*largestMagnitude(m.x[0])+1e-11*math.Abs(want[j][k]) {
						t.Errorf("information %d,%d is %v, want %v", j, k, got[j][k], want[j][k])
					}
				}
			}
		})
	}
}

// TestLeastFall holds the bound against how much the likelihood falls, with
// directions of every reach.
func TestLeastFall(t *testing.T) {
	compared := 0
	for seed := range uint64(300) {
		t.Run(fmt.Sprint(seed), func(t *testing.T) {
			m := drawnCox(seed)
			if m == nil {
				return
			}
			at := m.maximise(defaultCoxIterations)
			if !at.converged || at.covariance == nil || at.vanished() {
				return
			}
			compared++
			for j, b := range at.beta {
				se := math.Sqrt(at.covariance[j][j])
				direction := make([]float64, len(at.beta))
				for h := range direction {
					direction[h] = at.covariance[h][j] / se
				}
				by := math.Copysign(math.Min(2, 30/m.reach(direction)), b)
				logLik, _, _ := m.likelihood(moved(at.beta, direction, by))
				least := m.leastFall(direction, m.ranges())
				// The likelihood is told to some ten digits of its change.
				if fall := at.logLik - logLik; !(least > 0) || fall < least-1e-9 {
					t.Errorf("coefficient %d: falls by %v, at least %v was said", j, fall, least)
				}
			}
		})
	}
	if compared < 100 {
		t.Errorf("%d models had a maximum, expected 100 at least", compared)
	}
}

// TestCoxOnCores has the same bytes on one core and on several.
func TestCoxOnCores(t *testing.T) {
	c, terms := benchmarkCox(3*chunkRows, 3, false, true)
	var coefficients [2]string
	for k, cores := range []int{1, 3} {
		before := runtime.GOMAXPROCS(cores)
		f := mustCox(t, c.times(), c.x, terms, CoxOptions{Cluster: c.group})
		runtime.GOMAXPROCS(before)
		coefficients[k] = fmt.Sprint(f.Coefficients, f.SE, f.ModelSE, f.LogLik)
	}
	if coefficients[0] != coefficients[1] {
		t.Errorf("on one core %s, on three %s", coefficients[0], coefficients[1])
	}
}
