package stats

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize"
)

// plainPenalised is Firth's penalised log likelihood as its definition writes
// it.
func plainPenalised(x [][]float64, y []bool, beta []float64) float64 {
	p := len(beta)
	information := mat.NewSymDense(p, nil)
	sum := 0.0
	for i, row := range x {
		full := append([]float64{1}, row...)
		eta := dot(full, beta)
		if y[i] {
			sum += eta
		}
		sum -= math.Max(0, eta) + math.Log1p(math.Exp(-math.Abs(eta)))
		w := 1 / (2 + math.Exp(eta) + math.Exp(-eta))
		information.SymRankOne(information, w, mat.NewVecDense(p, full))
	}
	det := mat.Det(information)
	if !(det > 0) {
		return math.Inf(-1)
	}
	return sum + math.Log(det)/2
}

// plainProfile is the largest penalised log likelihood found by simplex searches
// from several places with coefficient j held; j below 0 holds none.
func plainProfile(r *rand.Rand, x [][]float64, y []bool, j int, held float64) float64 {
	p := len(x[0]) + 1
	best := math.Inf(-1)
	for start := range 12 {
		var from []float64
		for k := range p {
			if k != j {
				from = append(from, r.NormFloat64()*float64(start)/3)
			}
		}
		full := func(free []float64) []float64 {
			out := append([]float64{}, free...)
			if j >= 0 {
				out = append(append(append([]float64{}, free[:j]...), held), free[j:]...)
			}
			return out
		}
		best = math.Max(best, simplexSearch(from, func(free []float64) float64 { return plainPenalised(x, y, full(free)) }))
	}
	return best
}

// simplexSearch is the largest value of a function, -Inf where it has none, that
// a search without derivatives finds from a place; a second search begins where
// the first one ended.
func simplexSearch(from []float64, function func([]float64) float64) float64 {
	best := math.Inf(-1)
	problem := optimize.Problem{Func: func(free []float64) float64 {
		if v := function(free); !math.IsInf(v, -1) {
			return -v
		}
		return 1e10
	}}
	for range 2 {
		found, err := optimize.Minimize(problem, from, nil, &optimize.NelderMead{})
		if found == nil || (err != nil && found.X == nil) {
			break
		}
		from = found.X
		best = math.Max(best, -found.F)
	}
	return best
}

// TestFirthLimitsMeetTheirEquation holds estimates and limits of small data, many
// of them separated, against a maximum found without derivatives.
func TestFirthLimitsMeetTheirEquation(t *testing.T) {
	r := rand.New(rand.NewPCG(31, 7))
	fits, limits, refused, separated := 0, 0, 0, 0
	for range 30 {
		n, p := 10+r.IntN(25), 1+r.IntN(2)
		var x [][]float64
		var y []bool
		for range n {
			row := []float64{float64(r.IntN(2)), r.NormFloat64()}[:p]
			x, y = append(x, row), append(y, r.Float64() < 0.1+0.7*row[0])
		}
		terms := []string{"exposed", "age"}[:p]
		f, err := FitFirth(x, terms, y, FirthOptions{})
		if err != nil {
			if errors.Is(err, ErrNotConverged) {
				refused++
			}
			continue
		}
		fits++
		if _, err := FitLogistic(x, terms, y, GLMOptions{}); err != nil {
			separated++
		}
		largest := plainProfile(r, x, y, -1, 0)
		if math.Abs(largest-f.LogLik) > 1e-6 {
			t.Errorf("penalised log likelihood %.9f, a search without derivatives finds %.9f", f.LogLik, largest)
		}
		for j, e := range f.Estimates {
			for _, limit := range []float64{e.Lower, e.Upper} {
				if limit == 0 || math.IsInf(limit, 1) {
					continue
				}
				limits++
				if fall := 2 * (largest - plainProfile(r, x, y, j+1, math.Log(limit))); math.Abs(fall-3.841458820694124) > 1e-4 {
					t.Errorf("%s: at the limit %g twice the fall is %g", terms[j], limit, fall)
				}
			}
		}
	}
	if fits < 25 || separated < 5 || refused > 0 {
		t.Errorf("%d fits, %d of separated data, %d refused", fits, separated, refused)
	}
	t.Logf("%d fits, %d of separated data, %d limits", fits, separated, limits)
}
