package stats

import (
	"fmt"
	"math"
)

// exactLimit is the number of multiplications of one evaluation of the exact
// partial likelihood above which it is refused: about a second.
const exactLimit = 5e8

// tiedSubsets makes the denominator of the exact partial likelihood of d events
// tied among n rows at risk, the sum of exp(eta) over all subsets of d rows.
//
// Adding one row at a time to the sums over subsets of every size k is the
// recursion B(k, n) = B(k, n-1) + exp(eta_n) B(k-1, n-1) (Gail, Lubin and
// Rubinstein 1981). Such sums run out of the range of floating point, so that
// here each row counts with p = c exp(eta) / (1 + c exp(eta)) and the others
// with 1 - p: the sum of size d is then the probability that of n independent
// trials d succeed, times a known number, for any c, and c is chosen so that
// about d succeed. The mean and the second moments over subsets of the summed
// covariates follow by the same recursion; all its terms of the sum are
// positive. Only sizes that can still end at d are kept, min(d, n-d) + 1 of them.
type tiedSubsets struct {
	p    int
	sums [][]float64 // of each size: probability, p first and p(p+1)/2 second moments
	rows []int
	chosen,
	other []float64 // probabilities of each row
	centre, x []float64
}

func newTiedSubsets(p int) *tiedSubsets {
	return &tiedSubsets{p: p, centre: make([]float64, p), x: make([]float64, p)}
}

// subtract takes the derivatives of log B out of gradient and adds them to the
// lower triangle of information; it returns log B.
func (s *tiedSubsets) subtract(m *coxModel, g coxGroup, eta, gradient []float64, information [][]float64) (logB float64) {
	d, n := len(g.events), 0
	s.rows = m.atRisk(g, s.rows[:0])
	if n = len(s.rows); n == d { // one subset
		for _, i := range s.rows {
			logB += eta[i]
			for j, x := range m.x[i] {
				gradient[j] -= x
			}
		}
		return logB
	}
	logB = s.tilt(eta, d)
	s.centreOn(m, d)
	s.start(d)
	for k, i := range s.rows {
		for j, x := range m.x[i] {
			s.x[j] = x - s.centre[j]
		}
		for size := min(d, k+1); size >= max(0, d-(n-1-k)); size-- {
			into := s.sums[size]
			if size == 0 {
				s.without(into, s.other[k])
			} else {
				s.with(into, s.sums[size-1], s.chosen[k], s.other[k])
			}
		}
	}
	end := s.sums[d]
	at := 1 + s.p
	for j := range s.p {
		mean := end[1+j] / end[0]
		gradient[j] -= mean + float64(float64(d)*s.centre[j])
		for h := range j + 1 {
			information[j][h] += end[at]/end[0] - float64(mean*end[1+h]/end[0])
			at++
		}
	}
	return logB + math.Log(end[0])
}

// without lets a row stay outside the subsets of a size.
func (s *tiedSubsets) without(into []float64, other float64) {
	for j := range into {
		into[j] *= other
	}
}

// with adds the subsets of a size that have the row to those that have not.
func (s *tiedSubsets) with(into, smaller []float64, chosen, other float64) {
	at := 1 + s.p
	for j, xj := range s.x {
		for h, xh := range s.x[:j+1] {
			joined := smaller[at] + float64(xj*smaller[1+h]) + float64(xh*smaller[1+j]) + float64(xj*xh*smaller[0])
			into[at] = float64(other*into[at]) + float64(chosen*joined)
			at++
		}
	}
	for j, x := range s.x {
		into[1+j] = float64(other*into[1+j]) + float64(chosen*(smaller[1+j]+float64(x*smaller[0])))
	}
	into[0] = float64(other*into[0]) + float64(chosen*smaller[0])
}

// tilt finds c by bisection of its logarithm and the rows' probabilities. It
// returns what the logarithm of the sum is more than that of the probability.
func (s *tiedSubsets) tilt(eta []float64, d int) (more float64) {
	n := len(s.rows)
	low, high := math.Inf(1), math.Inf(-1)
	for _, i := range s.rows {
		low, high = math.Min(low, eta[i]), math.Max(high, eta[i])
	}
	// All successes are rarer than 1/n at one end and failures at the other.
	low, high = -high-math.Log(float64(n)), -low+math.Log(float64(n))
	s.chosen, s.other = resized(s.chosen, n), resized(s.other, n)
	for range 60 {
		c := (low + high) / 2
		sum := 0.0
		more = -float64(float64(d) * c)
		for k, i := range s.rows {
			z := eta[i] + c
			e := math.Exp(-math.Abs(z))
			less, greater := e/(1+e), 1/(1+e)
			if z > 0 {
				less, greater = greater, less
			}
			s.chosen[k], s.other[k] = less, greater
			sum += less
			more += math.Max(0, z) + math.Log1p(e)
		}
		switch gap := sum - float64(d); {
		case math.Abs(gap) < 0.25:
			return more
		case gap > 0:
			high = c
		default:
			low = c
		}
	}
	return more
}

// centreOn finds the mean of the covariates by the rows' probabilities, near
// the mean over subsets, so that second moments lose no digits.
func (s *tiedSubsets) centreOn(m *coxModel, d int) {
	clear(s.centre)
	sum := 0.0
	for k, i := range s.rows {
		sum += s.chosen[k]
		for j, x := range m.x[i] {
			s.centre[j] += float64(s.chosen[k] * x)
		}
	}
	for j := range s.centre {
		s.centre[j] /= sum
	}
}

// start clears the sums: the empty subset alone.
func (s *tiedSubsets) start(d int) {
	for len(s.sums) <= d {
		s.sums = append(s.sums, make([]float64, 1+s.p+s.p*(s.p+1)/2))
	}
	for _, sum := range s.sums[:d+1] {
		clear(sum)
	}
	s.sums[0][0] = 1
}

func resized(s []float64, n int) []float64 {
	if cap(s) < n {
		return make([]float64, n)
	}
	return s[:n]
}

// atRisk appends the rows at risk at a group's time.
func (m *coxModel) atRisk(g coxGroup, rows []int) []int {
	for i := g.from; i < g.join; i++ {
		if m.byEntry == nil || m.entry[i] < g.at {
			rows = append(rows, i)
		}
	}
	return rows
}

// checkExact refuses ties whose subsets take too long.
func (m *coxModel) checkExact() error {
	p := len(m.scale)
	each := float64(1 + p + p*(p+1)/2)
	cost, most, among := 0.0, 0, 0
	var rows []int
	for _, g := range m.groups {
		d := len(g.events)
		if d < 2 {
			continue
		}
		rows = m.atRisk(g, rows[:0])
		cost += float64(len(rows)) * float64(min(d, len(rows)-d)+1) * each
		if d > most {
			most, among = d, len(rows)
		}
	}
	if cost > exactLimit {
		return fmt.Errorf("%w: the exact handling of ties needs %.2g multiplications for one evaluation, at most %.0g are made (%d events tied among %d at risk)",
			ErrTooLarge, cost, float64(exactLimit), most, among)
	}
	return nil
}
