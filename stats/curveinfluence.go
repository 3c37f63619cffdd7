package stats

// curveInfluence adds up, over clusters of rows, the squared influence that
// each cluster has on a curve, step by step in time. The influence of a row at
// risk from after its entry up to its exit X is, on the log of the event-free
// probability S,
//
//	L(t) = Σ over u <= t at risk of d/(n (n−d))  −  [event at X <= t]/(n−d)
//
// and on a cumulative incidence F, at whose events the hazard is d_k/n, it is
// A(t) + F(t) L(t) with
//
//	dA(u) = S(u−)/n (dN_k − d_k/n) − F(u) dL(u)
//
// A cluster at risk with m rows moves by m times the same amounts as every
// other, so that the squares need work at entries and exits only. Where rows
// have weights, d, n and m are sums of them.
type curveInfluence struct {
	cluster []int // of each row, numbered from 0
	risk    []float64
	l       []float64   // of each cluster: L less risk × logSum
	a       [][]float64 // of each curve and cluster: A less risk × sum
	logSum  float64     // what L has moved for a row at risk all along
	sum     []float64   // and A, of each curve
	mm, lm  preciseSum  // over clusters: risk², l risk
	ll      preciseSum
	am, al  []preciseSum // of each curve
	aa      []preciseSum
}

// newCurveInfluence numbers the clusters; nil takes rows for clusters.
func newCurveInfluence(cluster []int, rows, curves int) *curveInfluence {
	f := &curveInfluence{cluster: make([]int, rows), sum: make([]float64, curves)}
	count := rows
	if cluster == nil {
		for i := range f.cluster {
			f.cluster[i] = i
		}
	} else {
		number := map[int]int{}
		for i, c := range cluster {
			k, known := number[c]
			if !known {
				k = len(number)
				number[c] = k
			}
			f.cluster[i] = k
		}
		count = len(number)
	}
	f.risk, f.l = make([]float64, count), make([]float64, count)
	f.a = newMatrix(curves, count)
	f.am, f.al, f.aa = make([]preciseSum, curves), make([]preciseSum, curves), make([]preciseSum, curves)
	return f
}

// change moves a cluster's constants: rows at risk by m, L by l, and A of each
// curve by a(curve).
func (f *curveInfluence) change(c int, m, l float64, a func(curve int) float64) {
	oldM, oldL := f.risk[c], f.l[c]
	newM, newL := oldM+m, oldL+l
	f.risk[c], f.l[c] = newM, newL
	f.mm.add(float64(newM*newM) - float64(oldM*oldM))
	f.lm.add(float64(newL*newM) - float64(oldL*oldM))
	f.ll.add(float64(newL*newL) - float64(oldL*oldL))
	for k := range f.a {
		old := f.a[k][c]
		now := old + a(k)
		f.a[k][c] = now
		f.am[k].add(float64(now*newM) - float64(old*oldM))
		f.al[k].add(float64(now*newL) - float64(old*oldL))
		f.aa[k].add(float64(now*now) - float64(old*old))
	}
}

// enter puts a row of a weight at risk.
func (f *curveInfluence) enter(row int, weight float64) {
	f.change(f.cluster[row], weight, -weight*f.logSum, func(k int) float64 { return -weight * f.sum[k] })
}

// leave takes a row of a weight out, with what its own end, if any, adds to L
// and A for each unit of weight.
func (f *curveInfluence) leave(row int, weight, l float64, a func(curve int) float64) {
	f.change(f.cluster[row], -weight, weight*(f.logSum+l), func(k int) float64 { return weight * (f.sum[k] + a(k)) })
}

// logVariance is the sum of the squares of L.
func (f *curveInfluence) logVariance() float64 {
	p := f.logSum
	return f.ll.total() + 2*p*f.lm.total() + p*p*f.mm.total()
}

// variance is the sum of the squares of A + value × L of a curve.
func (f *curveInfluence) variance(curve int, value float64) float64 {
	p, q := f.sum[curve], f.logSum
	mm, am := f.mm.total(), f.am[curve].total()
	aa := f.aa[curve].total() + 2*p*am + p*p*mm
	al := f.al[curve].total() + q*am + p*f.lm.total() + p*q*mm
	return aa + 2*value*al + value*value*f.logVariance()
}

func (s *preciseSum) total() float64 { return s.high + s.low }
