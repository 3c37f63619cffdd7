package demo

import (
	"errors"
	"math"
	"sort"

	"gonum.org/v1/gonum/mathext"
)

const z975 = 1.959963984540054

func rateLimits(events int, t float64) (limits, error) {
	n := float64(events)
	lo := 0.0
	if events > 0 {
		lo = mathext.GammaIncRegInv(n, 0.025)
	}
	hi := mathext.GammaIncRegCompInv(n+1, 0.025)
	return limits{n / t, lo / t, hi / t}, nil
}

func logLimits(v, se float64) (limits, error) {
	return limits{v, v * math.Exp(-z975*se), v * math.Exp(z975*se)}, nil
}

func rateRatioLimits(a int, ta float64, b int, tb float64) (limits, error) {
	// exact conditional
	n := float64(a + b)
	x := float64(a)
	pl := mathext.InvRegIncBeta(x, n-x+1, 0.025)
	pu := mathext.InvRegIncBeta(x+1, n-x, 0.975)
	f := tb / ta
	return limits{x / float64(b) * f, pl / (1 - pl) * f, pu / (1 - pu) * f}, nil
}

func oddsRatioLimits(e, u [2]int) (limits, error) {
	a, b, c, d := float64(e[0]), float64(e[1]), float64(u[0]), float64(u[1])
	return logLimits(a*d/(b*c), math.Sqrt(1/a+1/b+1/c+1/d))
}

func riskRatioLimits(e, u [2]int) (limits, error) {
	a, b, c, d := float64(e[0]), float64(e[1]), float64(u[0]), float64(u[1])
	return logLimits(a/(a+b)/(c/(c+d)), math.Sqrt(1/a-1/(a+b)+1/c-1/(c+d)))
}

func hazardRatioLimits(r *returnRows, want int) (limits, error) {
	n := len(r.exit)
	b := [2]float64{}
	x := make([][2]float64, n)
	for i := range x {
		if r.arch[i] == 2 {
			x[i][0] = 1
		} else if r.arch[i] == 0 {
			x[i][1] = 1
		}
	}
	times := map[float64]bool{}
	for i := range x {
		if r.event[i] {
			times[r.exit[i]] = true
		}
	}
	var ts []float64
	for t := range times {
		ts = append(ts, t)
	}
	sort.Float64s(ts)
	var H [2][2]float64
	var sc [][2]float64
	for it := 0; it < 20; it++ {
		H = [2][2]float64{}
		U := [2]float64{}
		sc = make([][2]float64, n)
		for _, t := range ts {
			var s0 float64
			var s1 [2]float64
			var s2 [2][2]float64
			d := 0.0
			for i := range x {
				if r.entry[i] < t && r.exit[i] >= t {
					w := math.Exp(b[0]*x[i][0] + b[1]*x[i][1])
					s0 += w
					for j := range 2 {
						s1[j] += w * x[i][j]
						for k := range 2 {
							s2[j][k] += w * x[i][j] * x[i][k]
						}
					}
					if r.exit[i] == t && r.event[i] {
						d++
					}
				}
			}
			m := [2]float64{s1[0] / s0, s1[1] / s0}
			for i := range x {
				if r.entry[i] < t && r.exit[i] >= t {
					w := math.Exp(b[0]*x[i][0] + b[1]*x[i][1])
					for j := range 2 {
						u := x[i][j] - m[j]
						if r.exit[i] == t && r.event[i] {
							U[j] += u
							sc[i][j] += u
						}
						sc[i][j] -= u * w * d / s0
					}
				}
			}
			for j := range 2 {
				for k := range 2 {
					H[j][k] += d * (s2[j][k]/s0 - m[j]*m[k])
				}
			}
		}
		det := H[0][0]*H[1][1] - H[0][1]*H[1][0]
		b[0] += (H[1][1]*U[0] - H[0][1]*U[1]) / det
		b[1] += (H[0][0]*U[1] - H[1][0]*U[0]) / det
		if math.Abs(U[0])+math.Abs(U[1]) < 1e-8 {
			break
		}
	}
	det := H[0][0]*H[1][1] - H[0][1]*H[1][0]
	I := [2]float64{H[1][1] / det, -H[0][1] / det}
	by := map[int]float64{}
	for i := range sc {
		by[r.child[i]] += I[0]*sc[i][0] + I[1]*sc[i][1]
	}
	v := 0.0
	for _, s := range by {
		v += s * s
	}
	return logLimits(math.Exp(b[0]), math.Sqrt(v))
}

func km(r *returnRows) (t, s, g []float64) {
	n := len(r.exit)
	times := map[float64]int{}
	for i := range n {
		if r.event[i] {
			times[r.exit[i]]++
		}
	}
	for x := range times {
		t = append(t, x)
	}
	sort.Float64s(t)
	S, G := 1.0, 0.0
	for _, x := range t {
		nr := 0.0
		for i := range n {
			if r.exit[i] >= x {
				nr++
			}
		}
		d := float64(times[x])
		S *= 1 - d/nr
		G += d / (nr * (nr - d))
		s = append(s, S)
		g = append(g, G)
	}
	return
}

func cll(S, G float64) (float64, float64) {
	se := math.Sqrt(G) / math.Abs(math.Log(S))
	return math.Pow(S, math.Exp(z975*se)), math.Pow(S, math.Exp(-z975*se))
}

func survivalLimits(r *returnRows, at float64) (limits, error) {
	t, s, g := km(r)
	k := sort.SearchFloat64s(t, at+1e-9) - 1
	if k < 0 || s[k] <= 0 {
		return limits{}, errors.New("none")
	}
	lo, hi := cll(s[k], g[k])
	return limits{s[k], lo, hi}, nil
}

func medianLimits(r *returnRows) (limits, error) {
	t, s, g := km(r)
	l := limits{math.NaN(), math.Inf(1), math.Inf(1)}
	for k := range t {
		lo, hi := 0.0, 0.0
		if s[k] > 0 {
			lo, hi = cll(s[k], g[k])
		}
		if lo <= 0.5 && math.IsInf(l.lower, 1) {
			l.lower = t[k]
		}
		if s[k] <= 0.5 && math.IsNaN(l.value) {
			l.value = t[k]
		}
		if hi <= 0.5 && math.IsInf(l.upper, 1) {
			l.upper = t[k]
		}
	}
	return l, nil
}
