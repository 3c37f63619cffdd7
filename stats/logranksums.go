package stats

import "slices"

// logRankTotals are the sums of log-rank tests with several weights at once:
// entry a k + g of score belongs to weight a and group g of k.
type logRankTotals struct {
	k, strata int
	weights   []LogRankWeight
	expected  []float64 // of each group, without weight
	score     []float64
	variance  [][]float64
}

// A logRankTime is an event time of a stratum.
type logRankTime struct {
	d, n   float64   // events and rows at risk
	own    []float64 // events of each group
	atRisk []float64 // rows at risk of each group
	at     []float64 // the weights
}

// logRankSums adds up all strata, with the hypergeometric covariance or, with
// clusters, the robust one.
func logRankSums(t Times, group []int, k int, weights []LogRankWeight, opts LogRankOptions) logRankTotals {
	size := len(weights) * k
	s := logRankTotals{k: k, weights: weights, expected: make([]float64, k), score: make([]float64, size), variance: newMatrix(size, size)}
	var rows [][]float64 // the score of each row
	if opts.Cluster != nil {
		rows = newMatrix(len(group), size)
	}
	for _, stratum := range stratumRows(opts.Strata, len(group)) {
		if s.addStratum(t, group, stratum, rows) {
			s.strata++
		}
	}
	if rows == nil {
		for i := range s.variance {
			for j := range i {
				s.variance[i][j] = s.variance[j][i]
			}
		}
		return s
	}
	for _, sum := range sumByCluster(rows, opts.Cluster, size) {
		for i, u := range sum {
			for j, v := range sum {
				s.variance[i][j] += float64(u * v)
			}
		}
	}
	s.clearRounding()
	return s
}

// clearRounding sets the robust variance of a group that is never compared to 0:
// its scores are 0 but for rounding.
func (s *logRankTotals) clearRounding() {
	for a := range s.weights {
		largest := 0.0
		for i := a * s.k; i < (a+1)*s.k; i++ {
			largest = max(largest, s.variance[i][i])
		}
		for i := a * s.k; i < (a+1)*s.k; i++ {
			if s.variance[i][i] < 1e-24*largest {
				for j := range s.variance {
					s.variance[i][j], s.variance[j][i] = 0, 0
				}
			}
		}
	}
}

// addStratum adds the sums of some rows, and their scores where rows is not nil;
// it reports whether they held an event.
func (s *logRankTotals) addStratum(t Times, group, stratum []int, rows [][]float64) bool {
	exits := logRankExits(t, group, stratum)
	entries := sorted(len(stratum), func(i int) float64 { return t.entry(stratum[i]) })
	total, entered, found := 0.0, 0, false
	survival, peto := 1.0, 1.0
	now := logRankTime{own: make([]float64, s.k), atRisk: make([]float64, s.k), at: make([]float64, len(s.weights))}
	past := newRowScores(s, rows)
	for i := 0; i < len(stratum); {
		at := exits[i].at
		for ; entered < len(stratum) && (t.Entry == nil || entries[entered].value() < at); entered++ {
			row := stratum[entries[entered].row]
			now.atRisk[group[row]]++
			total++
			past.take(row, group[row], 1)
		}
		now.d, now.n = 0, total
		to := i
		clear(now.own)
		for ; to < len(stratum) && exits[to].at == at; to++ {
			if exits[to].event {
				now.d++
				now.own[exits[to].group]++
			}
		}
		if now.d > 0 {
			found = true
			for a, w := range s.weights {
				now.at[a] = w.at(total, now.d, survival, peto)
			}
			s.addTime(now, rows == nil)
			past.pass(now)
			for _, exit := range exits[i:to] {
				if exit.event {
					past.event(exit.row, exit.group, now)
				}
			}
			survival *= (total - now.d) / total
			peto *= 1 - now.d/(total+1)
		}
		for ; i < to; i++ {
			now.atRisk[exits[i].group]--
			total--
			past.take(exits[i].row, exits[i].group, -1)
		}
	}
	return found
}

// A logRankExit is the end of a row, brought together once so that the sums do
// not look rows up all over memory.
type logRankExit struct {
	at         float64
	row, group int
	event      bool
}

// logRankExits are the ends of some rows in order.
func logRankExits(t Times, group, rows []int) []logRankExit {
	order := sorted(len(rows), func(i int) float64 { return t.Exit[rows[i]] })
	exits := make([]logRankExit, len(rows))
	inChunks(len(rows), func(_, from, to int) {
		for i := from; i < to; i++ {
			row := rows[order[i].row]
			exits[i] = logRankExit{order[i].value(), row, group[row], t.Status[row]}
		}
	})
	return exits
}

// addTime adds one event time; the covariance only above the diagonal.
func (s *logRankTotals) addTime(now logRankTime, hypergeometric bool) {
	for g, ng := range now.atRisk {
		expected := now.d * ng / now.n
		s.expected[g] += expected
		for a, w := range now.at {
			s.score[a*s.k+g] += w * (now.own[g] - expected)
		}
		if now.n == 1 || !hypergeometric {
			continue
		}
		for a, w := range now.at {
			for b := a; b < len(now.at); b++ {
				scale := w * now.at[b] * now.d * (now.n - now.d) / (now.n - 1) * ng / now.n
				row := s.variance[a*s.k+g][b*s.k : (b+1)*s.k]
				from := 0
				if a == b {
					from = g
				}
				for h := from; h < s.k; h++ {
					if nh := now.atRisk[h]; g == h {
						row[h] += scale * (now.n - nh) / now.n
					} else {
						row[h] -= scale * nh / now.n
					}
				}
			}
		}
	}
}

// rowScores holds the integrals up to now, from which a row's score takes those
// at its exit less those at its entry.
type rowScores struct {
	k    int
	rows [][]float64
	a    []float64 // Σ w d/n of each weight
	b    []float64 // Σ w d n_h/n² of each weight and group
}

func newRowScores(s *logRankTotals, rows [][]float64) *rowScores {
	if rows == nil {
		return nil
	}
	return &rowScores{s.k, rows, make([]float64, len(s.weights)), make([]float64, len(s.weights)*s.k)}
}

func (p *rowScores) pass(now logRankTime) {
	if p == nil {
		return
	}
	for a, w := range now.at {
		step := w * now.d / now.n
		p.a[a] += step
		for h, nh := range now.atRisk {
			p.b[a*p.k+h] += step * nh / now.n
		}
	}
}

// take adds the integrals so far, less what is to come: 1 at the entry and -1 at
// the exit.
func (p *rowScores) take(row, group int, sign float64) {
	if p == nil {
		return
	}
	for a := range p.a {
		for h := range p.k {
			own := -p.b[a*p.k+h]
			if h == group {
				own += p.a[a]
			}
			p.rows[row][a*p.k+h] += sign * own
		}
	}
}

func (p *rowScores) event(row, group int, now logRankTime) {
	if p == nil {
		return
	}
	for a, w := range now.at {
		for h, nh := range now.atRisk {
			own := -nh / now.n
			if h == group {
				own++
			}
			p.rows[row][a*p.k+h] += w * own
		}
	}
}

// part is the score and covariance of one weight.
func (s logRankTotals) part(a int) ([]float64, [][]float64) {
	v := make([][]float64, s.k)
	for g := range v {
		v[g] = slices.Clone(s.variance[a*s.k+g][a*s.k : (a+1)*s.k])
	}
	return s.score[a*s.k : (a+1)*s.k], v
}
