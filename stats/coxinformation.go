package stats

import "math"

// coxInformation makes the information of a partial likelihood. With S the sum
// of w over the rows at risk at an event time and x̄ the mean of x with weights
// w/S, it is the sum over event times, each with the weight c of its events, of
//
//	c (Σ w/S x x' − x̄ x̄')
//
// where Σ w/S x x' over the times is, with the sums exchanged, one sum over the
// rows of
//
//	e x x',  e = w ∫ dΛ over Entry < u <= Exit
//
// and dΛ = c/S: e is the expected number of events. So p(p+1)/2 products are
// made once a row and once a time, in whichever order, and only sums of w and of
// w x have to follow the rows in and out of the risk sets.
//
// With Efron's ties a time has the denominators s_k = S − f_k T for f_k = k/d, T
// being the sum over the d tied events, and the means
//
//	x̄ − q_k u,  q_k = f_k S/s_k,  u = (Σ over the tied of w x − T x̄)/S
//
// so that Σ x̄_k x̄_k' over k takes two products in place of d: that of x̄ − q̄ u,
// d times, and that of u, times Σ (q_k − q̄)². A tied row is spared Σ f_k c/s_k
// of the time's dΛ.
type coxInformation struct {
	m            *coxModel
	jump, spared []float64 // Σ c/s_k and Σ f_k c/s_k of each group so far
	shares       []float64 // q_k of a group
	means        [][]float64
	weights      []float64 // of the means
	waiting      int       // means whose products have not been made
	products     []float64 // Σ weight x̄ x̄', the lower triangle row by row
}

// meansAtOnce is how many means are gathered before their products are made.
const meansAtOnce = 8 * chunkRows

func (m *coxModel) newInformation(p int) *coxInformation {
	room := min(2*len(m.groups), meansAtOnce)
	return &coxInformation{
		m: m, jump: make([]float64, 0, len(m.groups)), spared: make([]float64, 0, len(m.groups)),
		means: newMatrix(room, p), weights: make([]float64, room), products: make([]float64, p*(p+1)/2),
	}
}

// coxDenominators are what the denominators of an event time add up to.
type coxDenominators struct {
	weight       float64 // Σ c
	log          float64 // Σ c log s_k
	jump, spared float64 // Σ c/s_k, Σ f_k c/s_k
	share        float64 // q̄
	spread       float64 // Σ c (q_k − q̄)²
}

// denominators takes the sums of w over the rows at risk and over those tied.
func (b *coxInformation) denominators(g coxGroup, risk, tied float64) coxDenominators {
	parts, each := b.m.parts(g)
	d := coxDenominators{weight: float64(parts) * each}
	b.shares = b.shares[:0]
	for k := range parts {
		part := b.m.share(k, parts)
		s := risk - float64(part*tied)
		d.log += float64(each * math.Log(s))
		d.jump += each / s
		d.spared += float64(part * (each / s))
		b.shares = append(b.shares, part*risk/s)
		d.share += b.shares[k] / float64(parts)
	}
	if parts > 1 {
		for _, q := range b.shares {
			d.spread += float64(each * (q - d.share) * (q - d.share))
		}
	}
	return d
}

// pass takes the next group in, from its denominators and the sums of w and w x
// over the rows at risk and those tied; it returns the mean of the covariates
// over the denominators. A group of no weight only passes.
func (b *coxInformation) pass(d coxDenominators, risk, tied []float64) (mean []float64) {
	b.jump, b.spared = append(b.jump, d.jump), append(b.spared, d.spared)
	if d.weight == 0 {
		return nil
	}
	if b.waiting+2 > len(b.means) {
		b.multiply()
	}
	mean, b.weights[b.waiting] = b.means[b.waiting], d.weight
	b.waiting++
	for j := range mean {
		mean[j] = risk[1+j] / risk[0]
	}
	if d.spread == 0 {
		return mean
	}
	apart := b.means[b.waiting]
	b.weights[b.waiting] = d.spread
	b.waiting++
	for j := range mean {
		apart[j] = (tied[1+j] - float64(tied[0]*mean[j])) / risk[0]
		mean[j] -= float64(d.share * apart[j])
	}
	return mean
}

// multiply makes the products of the waiting means.
func (b *coxInformation) multiply() {
	if b.waiting == 0 {
		return
	}
	weights := func(from, to int) []float64 { return b.weights[from:to] }
	for i, v := range weightedProducts(b.means[:b.waiting], weights) {
		b.products[i] += v
	}
	b.waiting = 0
}

// addTo adds the information to a lower triangle.
func (b *coxInformation) addTo(information [][]float64, w []float64) {
	if len(information) == 0 {
		return
	}
	b.multiply()
	rows, at := weightedProducts(b.m.x, b.expected(w)), 0
	for j, row := range information {
		for h := range j + 1 {
			row[h] += rows[at] - b.products[at]
			at++
		}
	}
}

// expected returns what gives the expected events of a stretch of rows. The
// integral of dΛ is the sum from a stratum's earliest event up to the row's
// latest less that before its entry; sums are carried to some 32 digits, since
// one may be much larger than what a late row is at risk for.
func (b *coxInformation) expected(w []float64) func(from, to int) []float64 {
	m := b.m
	classes := 1
	if m.fading != nil {
		classes = 2
	}
	sums := make([][]preciseSum, classes) // of each class and group
	for class := range sums {
		sums[class] = make([]preciseSum, len(m.groups))
		for _, s := range m.strata {
			var sum preciseSum
			for g := s.toGroup - 1; g >= s.firstGroup; g-- {
				sum.add(float64(m.factor(class, g) * b.jump[g]))
				sums[class][g] = sum
			}
		}
	}
	return func(from, to int) []float64 {
		out := make([]float64, 0, to-from)
		for i := from; i < to; i++ {
			class, latest := m.class(i), m.latest[i]
			sum := sums[class][latest]
			if before := m.before[i]; before >= 0 {
				less := sums[class][before]
				sum = preciseSum{sum.high - less.high, sum.low - less.low}
			}
			if m.status[i] {
				sum.low -= b.spared[latest]
			}
			out = append(out, w[i]*sum.total())
		}
		return out
	}
}
