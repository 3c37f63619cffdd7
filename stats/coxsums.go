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

// coxMoments says what is added up over a set of rows.
type coxMoments int

const (
	coxTotals   coxMoments = iota // w
	coxMeans                      // and w x
	coxProducts                   // and, for j >= k, w x_j x_k
)

// coxSums are the sums over a set of rows of w, w x and, for j >= k, w x_j x_k,
// in one slice, or the first of them.
type coxSums []preciseSum

func newCoxSums(p int, moments coxMoments) coxSums {
	switch moments {
	case coxTotals:
		return make(coxSums, 1)
	case coxMeans:
		return make(coxSums, 1+p)
	}
	return make(coxSums, 1+p+p*(p+1)/2)
}

func (s coxSums) add(w float64, x []float64) {
	s[0].add(w)
	if len(s) == 1 {
		return
	}
	first, products := s[1:1+len(x)], s[1+len(x):]
	for j, xj := range x {
		wx := float64(w * xj)
		first[j].add(wx)
		if len(products) == 0 {
			continue
		}
		for k, xk := range x[:j+1] {
			products[k].add(float64(wx * xk))
		}
		products = products[j+1:]
	}
}

func (s coxSums) read(into []float64) {
	for i := range s {
		into[i] = s[i].high + s[i].low
	}
}
