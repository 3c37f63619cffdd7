package stats

import (
	"math"
	"math/rand/v2"
)

// maxNormalTail is P(max |Z_i| >= c) for standard normal Z of a correlation
// matrix, which may be singular. With E_i the event |Z_i| >= c it is the sum over i
// of P(E_i and none of E_1..E_{i−1}), so that small probabilities keep their
// digits. The first part is of the normal distribution and the second of the
// bivariate one, both exact; the others are integrals of i−1 dimensions (Genz's
// transformation, beginning with Z_i in its tail) by a lattice with random shifts
// of a seed. within is three standard errors over the shifts of the result, 0
// for at most two.
//
// Genz A. Numerical computation of multivariate normal probabilities. J Comput
// Graph Stat 1992;1:141-149.
func maxNormalTail(c float64, correlation [][]float64, seed uint64) (p, within float64) {
	if !(c > 0) {
		return 1, 0
	}
	variance := 0.0
	for i := range correlation {
		switch i {
		case 0:
			p += 2 * normalTail(c)
		case 1:
			r := correlation[0][1]
			p += math.Max(0, 2*(normalTail(c)-bothAbove(c, r)-bothAbove(c, -r)))
		default:
			part, se := firstAbove(c, correlation, i, seed)
			p += part
			variance += se * se
		}
	}
	return math.Min(1, p), 3 * math.Sqrt(variance)
}

// normalTail is P(Z >= z).
func normalTail(z float64) float64 { return math.Erfc(z/math.Sqrt2) / 2 }

// bothAbove is P(Z_1 >= c, Z_2 >= c) for c above 0 and the correlation r. Its
// derivative in r is the bivariate density, so that with r = sin θ
//
//	P = ∫ exp(−c²/(1 + sin θ)) dθ / 2π from −π/2 to asin r,
//
// by Gauss and Legendre's rule on pieces that shrink towards −π/2, where the
// integrand rises from 0 within an angle of the order of c.
func bothAbove(c, r float64) float64 {
	width := math.Asin(math.Max(-1, math.Min(1, r))) + math.Pi/2
	sum := 0.0
	for width > 1e-13 {
		piece := math.Min(width/4, 1/(1+c))
		half := piece / 2
		middle := width - half
		for j, x := range legendreNodes {
			for _, at := range []float64{middle - half*x, middle + half*x} {
				s := math.Sin(at / 2) // 1 + sin θ = 2 sin²((θ + π/2)/2)
				sum += float64(half * legendreWeights[j] * math.Exp(-c*c/(2*s*s)))
			}
		}
		width -= piece
	}
	return sum / (2 * math.Pi)
}

// Nodes above 0 and weights of Gauss and Legendre's rule with ten points.
var (
	legendreNodes   = [5]float64{0.14887433898163122, 0.43339539412924719, 0.67940956829902441, 0.86506336668898451, 0.97390652851717172}
	legendreWeights = [5]float64{0.29552422471475287, 0.26926671930999636, 0.21908636251598204, 0.14945134915058059, 0.06667134430868814}
)

const (
	latticeShifts    = 12
	latticeMost      = 1 << 16 // points a shift
	latticeTolerance = 1e-4    // three standard errors, of P(Z_i >= c)
	latticeDimension = 10
)

// latticeRoots are the square roots whose multiples make the lattice.
var latticeRoots = [latticeDimension]float64{2, 3, 5, 7, 11, 13, 17, 19, 23, 29}

// firstAbove is P(|Z_i| >= c and |Z_j| < c for all j before i), with its standard
// error.
func firstAbove(c float64, correlation [][]float64, i int, seed uint64) (p, se float64) {
	l := tailFirst(correlation, i)
	source := rand.New(rand.NewPCG(seed, uint64(i)))
	var shifts [latticeShifts][latticeDimension]float64
	for s := range shifts {
		for d := range shifts[s] {
			shifts[s][d] = source.Float64()
		}
	}
	var sums [latticeShifts]float64
	u, z := make([]float64, i+1), make([]float64, i+1)
	from := 0
	for n := 1 << 10; ; n *= 2 {
		for s := range sums {
			for k := from; k < n; k++ {
				for d := range i {
					_, x := math.Modf(float64(float64(k+1)*math.Sqrt(latticeRoots[d])) + shifts[s][d])
					u[d] = math.Abs(2*x - 1)
				}
				sums[s] += l.inside(c, u, z)
			}
		}
		from = n
		mean, squares := 0.0, 0.0
		for _, sum := range sums {
			mean += sum / float64(n) / latticeShifts
		}
		for _, sum := range sums {
			squares += float64((sum/float64(n) - mean) * (sum/float64(n) - mean))
		}
		se = math.Sqrt(squares / (latticeShifts * (latticeShifts - 1)))
		if 3*se < latticeTolerance*normalTail(c) || n >= latticeMost {
			return 2 * mean, 2 * se
		}
	}
}

// A tailFactor is the Cholesky factor L of the correlations of Z_i and of those
// before it, Z_i first: Z = LY for independent Y. Where the ones before it
// determine a variable, its diagonal is 0 and it bounds the last Y it depends on;
// Fleming and Harrington's weights (0, 0), (1, 0) and (0, 1) are such a case, the
// first being the sum of the others.
type tailFactor struct {
	l      [][]float64
	bounds [][]int // of each Y, the determined variables that bound it
}

func tailFirst(correlation [][]float64, i int) tailFactor {
	order := []int{i}
	for j := range i {
		order = append(order, j)
	}
	f := tailFactor{newMatrix(i+1, i+1), make([][]int, i+1)}
	l := f.l
	for a, x := range order {
		for b, y := range order[:a+1] {
			v := correlation[x][y] - dot(l[a][:b], l[b][:b])
			switch {
			case a == b && v > 1e-10:
				l[a][a] = math.Sqrt(v)
			case a != b && l[b][b] > 0:
				l[a][b] = v / l[b][b]
			}
		}
		if l[a][a] == 0 {
			last := a - 1
			for last > 0 && math.Abs(l[a][last]) < 1e-6 {
				last--
			}
			f.bounds[last] = append(f.bounds[last], a)
		}
	}
	return f
}

// inside is, at one point of the lattice, the probability of the first variable
// in its upper tail and the others within c.
func (f tailFactor) inside(c float64, u, z []float64) float64 {
	p := 1.0
	for a, row := range f.l {
		z[a] = 0
		if row[a] == 0 {
			continue
		}
		low, high := c, math.Inf(1)
		if a > 0 {
			mean := dot(row[:a], z[:a])
			low, high = (-c-mean)/row[a], (c-mean)/row[a]
		}
		for _, k := range f.bounds[a] {
			mean, by := dot(f.l[k][:a], z[:a]), f.l[k][a]
			one, other := (-c-mean)/by, (c-mean)/by
			low, high = math.Max(low, math.Min(one, other)), math.Min(high, math.Max(one, other))
		}
		if !(low < high) {
			return 0
		}
		flip := low+high > 0 // into the lower tail, where probabilities keep their digits
		if flip {
			low, high = -high, -low
		}
		below, above := normalTail(-low), normalTail(-high)
		share := above - below
		if !(share > 0) {
			return 0
		}
		p *= share
		if a < len(f.l)-1 {
			z[a] = normalQuantile(math.Max(below+float64(u[a]*share), 1e-300))
			if flip {
				z[a] = -z[a]
			}
		}
	}
	return p
}
