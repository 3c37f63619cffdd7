package stats

// A preciseSum adds with the rounding error carried along, so that a row that
// joined a risk set and leaves it again takes out what it put in.
type preciseSum struct{ high, low float64 }

func (s *preciseSum) add(x float64) {
	sum := s.high + x
	part := sum - s.high
	s.low += (s.high - (sum - part)) + (x - part)
	s.high = sum
}

// coxSums are the sums over a set of rows of w, w x and, for j >= k, w x_j x_k,
// in one slice.
type coxSums []preciseSum

func newCoxSums(p int) coxSums { return make(coxSums, 1+p+p*(p+1)/2) }

func (s coxSums) add(w float64, x []float64) {
	s[0].add(w)
	at := 1 + len(x)
	for j, xj := range x {
		wx := float64(w * xj)
		s[1+j].add(wx)
		for _, xk := range x[:j+1] {
			s[at].add(float64(wx * xk))
			at++
		}
	}
}

func (s coxSums) read(into []float64) {
	for i := range s {
		into[i] = s[i].high + s[i].low
	}
}
