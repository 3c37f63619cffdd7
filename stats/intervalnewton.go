package stats

import (
	"math"
	"slices"
)

// isotonic moves the cumulative sums F of the regions by one step of iterative
// convex minorants: the isotonic regression, within [0, 1], of F + g/h with
// weights h, g the slopes and h the curvatures of the log likelihood by F, cut
// in half until the likelihood does not fall.
func (m *intervalModel) isotonic() {
	n := len(m.p)
	if n < 2 {
		return
	}
	f, slope, curve := make([]float64, n-1), make([]float64, n-1), make([]float64, n-1)
	sum := 0.0
	for j := range f {
		sum += m.p[j]
		f[j] = sum
	}
	for i, c := range m.chances(m.p) {
		r := m.rows[i]
		s := r.weight / c
		if r.to < n-1 {
			slope[r.to] += s
			curve[r.to] += s / c
		}
		if r.from > 0 {
			slope[r.from-1] -= s
			curve[r.from-1] += s / c
		}
	}
	target := make([]float64, n-1)
	for j := range target {
		curve[j] = math.Max(curve[j], 1e-12)
		target[j] = f[j] + slope[j]/curve[j]
	}
	pooled := poolAdjacent(target, curve)
	now := m.logLik(m.p)
	for part := 1.0; part > 1e-4; part /= 2 {
		next := make([]float64, n)
		before := 0.0
		for j := range n {
			to := 1.0
			if j < n-1 {
				to = f[j] + part*(math.Min(1, math.Max(0, pooled[j]))-f[j])
			}
			next[j] = math.Max(0, to-before)
			before = to
		}
		if l := m.logLik(next); l >= now && !math.IsNaN(l) {
			m.p = next
			return
		}
	}
}

// poolAdjacent is the weighted least squares fit that does not fall.
func poolAdjacent(x, w []float64) []float64 {
	type block struct {
		sum, weight float64
		n           int
	}
	var blocks []block
	for i := range x {
		blocks = append(blocks, block{x[i] * w[i], w[i], 1})
		for k := len(blocks) - 1; k > 0 && blocks[k-1].sum*blocks[k].weight >= blocks[k].sum*blocks[k-1].weight; k-- {
			blocks[k-1].sum += blocks[k].sum
			blocks[k-1].weight += blocks[k].weight
			blocks[k-1].n += blocks[k].n
			blocks = blocks[:k]
		}
	}
	out := make([]float64, 0, len(x))
	for _, b := range blocks {
		out = append(out, slices.Repeat([]float64{b.sum / b.weight}, b.n)...)
	}
	return out
}

// polish runs Newton's method on the regions that hold probability, dropping
// those that reach 0, and keeps the result if it meets the optimality
// conditions over all regions. A region without probability whose slope
// exceeds the total is taken in again.
func (m *intervalModel) polish(total float64) bool {
	p := slices.Clone(m.p)
	held := make([]bool, len(p))
	d := m.slopes(p)
	for j := range p {
		held[j] = p[j] > 1e-7 || d[j] > total*(1-1e-6)
		if !held[j] {
			p[j] = 0
		}
	}
	rescale(p)
	for range 100 {
		next, several, ok := m.newton(p, held)
		if !ok {
			return false
		}
		moved := 0.0
		for j := range p {
			moved = math.Max(moved, math.Abs(next[j]-p[j]))
			if held[j] && next[j] == 0 {
				held[j], moved = false, 1
			}
		}
		p = next
		if moved > 1e-13 {
			continue
		}
		d = m.slopes(p)
		worst := 0
		for j := range d {
			if d[j] > d[worst] {
				worst = j
			}
		}
		if d[worst]-total <= intervalGap*total {
			m.p, m.several = p, several
			return true
		}
		if held[worst] {
			return false
		}
		held[worst] = true
		for j := range p {
			p[j] *= 1 - 1e-6
		}
		p[worst] += 1e-6
	}
	return false
}

func rescale(p []float64) {
	sum := 0.0
	for _, x := range p {
		sum += x
	}
	for j := range p {
		p[j] /= sum
	}
}

// newton makes one step of the log likelihood with probabilities that sum to 1,
// no further than where the first of them reaches 0.
func (m *intervalModel) newton(p []float64, held []bool) (next []float64, several, ok bool) {
	var at []int
	place := make([]int, len(p)+1) // held regions before each
	for j := range p {
		place[j] = len(at)
		if held[j] {
			at = append(at, j)
		}
	}
	place[len(p)] = len(at)
	k := len(at)
	if k == 0 {
		return nil, false, false
	}
	slope := make([]float64, k)
	// Curvatures of all pairs of held regions that a row includes.
	h := newMatrix(k, k)
	for i, c := range m.chances(p) {
		r := m.rows[i]
		if c <= 0 {
			return nil, false, false
		}
		s := r.weight / c
		for a := place[r.from]; a < place[r.to+1]; a++ {
			slope[a] += s
			for b := place[r.from]; b <= a; b++ {
				h[a][b] += s / c
			}
		}
	}
	largest := 0.0
	for a := range k {
		largest = math.Max(largest, h[a][a])
		for b := range a {
			h[b][a] = h[a][b]
		}
	}
	l, _, full := cholesky(h, 1e-11)
	if !full {
		several = true
		for a := range k {
			h[a][a] += 1e-9 * largest
		}
		if l, _, full = cholesky(h, 0); !full {
			return nil, several, false
		}
	}
	// h step = slope − λ with Σ step = 0.
	u, v := choleskySolve(l, slope), choleskySolve(l, slices.Repeat([]float64{1}, k))
	su, sv := 0.0, 0.0
	for a := range k {
		su += u[a]
		sv += v[a]
	}
	lambda := su / sv
	part := 1.0
	for a, j := range at {
		if step := u[a] - lambda*v[a]; step < 0 {
			part = math.Min(part, p[j]/-step)
		}
	}
	now := m.logLik(p)
	for ; part > 1e-12; part /= 2 {
		next = slices.Clone(p)
		for a, j := range at {
			x := p[j] + part*(u[a]-lambda*v[a])
			if x < 1e-14 {
				x = 0
			}
			next[j] = x
		}
		rescale(next)
		if m.logLik(next) >= now-1e-12*math.Abs(now) {
			return next, several, true
		}
	}
	return p, several, true
}
