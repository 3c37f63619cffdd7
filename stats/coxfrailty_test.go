package stats

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// plainFrailty is the EM algorithm with Breslow's jumps at a given variance, rows
// against event times, and the likelihood of the jumps, the coefficients and the
// variance with frailties integrated out.
func plainFrailty(t Times, child []int, x [][]float64, theta float64) (b []float64, logLik float64) {
	children := slices.Compact(slices.Sorted(slices.Values(child)))
	index := func(c int) int { k, _ := slices.BinarySearch(children, c); return k }
	z, p := slices.Repeat([]float64{1}, len(children)), len(x[0])
	b = make([]float64, p)
	var times []float64
	for i, e := range t.Status {
		if e {
			times = append(times, t.Exit[i])
		}
	}
	slices.Sort(times)
	times = slices.Compact(times)
	jump, expected := make([]float64, len(times)), make([]float64, len(children))
	events := make([]float64, len(children))
	for i, e := range t.Status {
		if e {
			events[index(child[i])]++
		}
	}
	for range 20000 {
		// M: Newton's steps for b given z, then the jumps.
		change := 0.0
		for range 30 {
			gradient, information := make([]float64, p), newMatrix(p, p)
			for k, at := range times {
				s0, d := 0.0, 0.0
				s1, s2 := make([]float64, p), newMatrix(p, p)
				for i := range x {
					if !(t.Entry[i] < at && at <= t.Exit[i]) {
						continue
					}
					w := z[index(child[i])] * math.Exp(dot(x[i], b))
					s0 += w
					for j, v := range x[i] {
						s1[j] += w * v
						for l, u := range x[i] {
							s2[j][l] += w * v * u
						}
						if t.Status[i] && t.Exit[i] == at {
							gradient[j] += v
						}
					}
					if t.Status[i] && t.Exit[i] == at {
						d++
					}
				}
				jump[k] = d / s0
				for j := range p {
					gradient[j] -= d * s1[j] / s0
					for l := range p {
						information[j][l] += d * (s2[j][l]/s0 - s1[j]*s1[l]/(s0*s0))
					}
				}
			}
			l, _, _ := cholesky(information, 0)
			step := choleskySolve(l, gradient)
			for j := range b {
				b[j] += step[j]
			}
			change = math.Max(change, largestMagnitude(step))
			if largestMagnitude(step) < 1e-12 {
				break
			}
		}
		// E.
		clear(expected)
		for i := range x {
			for k, at := range times {
				if t.Entry[i] < at && at <= t.Exit[i] {
					expected[index(child[i])] += math.Exp(dot(x[i], b)) * jump[k]
				}
			}
		}
		for c := range z {
			next := (events[c] + 1/theta) / (expected[c] + 1/theta)
			change = math.Max(change, math.Abs(next-z[c]))
			z[c] = next
		}
		if change < 1e-11 {
			break
		}
	}
	nu := 1 / theta
	for c, d := range events {
		up, _ := math.Lgamma(nu + d)
		down, _ := math.Lgamma(nu)
		logLik += up - down + nu*math.Log(nu) - (nu+d)*math.Log(nu+expected[c])
	}
	for i, e := range t.Status {
		if e {
			k, _ := slices.BinarySearch(times, t.Exit[i])
			logLik += math.Log(jump[k]) + dot(x[i], b)
		}
	}
	return b, logLik
}

// The second implementation at the variance found and beside it. Its likelihood
// differs by a number that is the same for all variances.
func TestFrailtyAgainstEM(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 31))
	interior := 0
	for s := range 12 {
		c := randomFrailty(r, TiesBreslow)
		times, x := c.rows()
		f, err := FitCoxFrailty(times, c.Child, x, []string{"a", "b"}, FrailtyOptions{Ties: TiesBreslow})
		must(t, err)
		if f.Variance.Value < 0.02 {
			continue
		}
		interior++
		b, at := plainFrailty(times, c.Child, x, f.Variance.Value)
		for j := range b {
			if !near(f.Coefficients[j], b[j], 1e-7) {
				t.Errorf("set %d: coefficient %v, by EM %v", s, f.Coefficients[j], b[j])
			}
		}
		plain, err := FitCox(times, x, []string{"a", "b"}, CoxOptions{Ties: TiesBreslow})
		must(t, err)
		m := newFrailtyModel(plain, c.Child)
		for _, factor := range []float64{0.5, 0.98, 1.02, 2} {
			here, err := m.solve(factor * f.Variance.Value)
			must(t, err)
			_, other := plainFrailty(times, c.Child, x, factor*f.Variance.Value)
			if !near(here.value-f.LogLik, other-at, 1e-7) {
				t.Errorf("set %d at %v times the variance: %v below the maximum, by EM %v", s, factor, here.value-f.LogLik, other-at)
			}
			if other > at {
				t.Errorf("set %d: the likelihood by EM is higher at %v times the variance", s, factor)
			}
		}
		// Next to no variance is the Cox model.
		if _, none := plainFrailty(times, c.Child, x, 1e-5); !near(f.LogLik-f.CoxLogLik, at-none, 1e-3) {
			t.Errorf("set %d: %v above no frailty, by EM %v", s, f.LogLik-f.CoxLogLik, at-none)
		}
	}
	if interior < 6 {
		t.Errorf("%d variances above 0", interior)
	}
}

// The error of a coefficient is of the whole penalised information: by second
// differences of the penalised likelihood.
func TestFrailtyInformation(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 31))
	for _, ties := range []string{TiesEfron, TiesBreslow} {
		c := randomFrailty(r, ties)
		times, x := c.rows()
		plain, err := FitCox(times, x, []string{"a", "b"}, CoxOptions{Ties: ties})
		must(t, err)
		m := newFrailtyModel(plain, c.Child)
		at, err := m.solve(0.7)
		must(t, err)
		n := 2 + len(at.omega)
		value := func(j, k int, dj, dk float64) float64 {
			v := append(slices.Clone(at.beta), at.omega...)
			v[j] += dj
			v[k] += dk
			l, _ := m.penalised(v[:2], v[2:], 1/0.7)
			return l
		}
		const h = 1e-3
		information := newMatrix(n, n)
		for j := range n {
			for k := range n {
				information[j][k] = -(value(j, k, h, h) - value(j, k, h, -h) - value(j, k, -h, h) + value(j, k, -h, -h)) / (4 * h * h)
			}
		}
		l, _, ok := cholesky(information, 0)
		if !ok {
			t.Fatal("second differences are not positive definite")
		}
		want := choleskyInverse(l)
		got, err := m.covariance(at)
		must(t, err)
		for j := range 2 {
			for k := range 2 {
				if !near(got[j][k], want[j][k], 1e-5) {
					t.Errorf("%s ties: covariance %v, by differences %v", ties, got[j][k], want[j][k])
				}
			}
		}
	}
}

func TestFrailtyProperties(t *testing.T) {
	r := rand.New(rand.NewPCG(10, 31))
	zero := 0
	for range 30 {
		c := randomFrailty(r, TiesEfron)
		times, x := c.rows()
		f, err := FitCoxFrailty(times, c.Child, x, []string{"a", "b"}, FrailtyOptions{})
		must(t, err)
		sum, events := 0.0, 0
		for _, z := range f.Frailties {
			sum += z.Value
			events += z.Events
			if theta := f.Variance.Value; theta > 0 && !near(z.Value, (float64(z.Events)+1/theta)/(z.Expected+1/theta), 1e-6) {
				t.Errorf("frailty %v of %d events, %v expected", z.Value, z.Events, z.Expected)
			}
		}
		if !near(sum/float64(len(f.Frailties)), 1, 1e-7) || events != f.Events {
			t.Errorf("mean frailty %v, %d events of %d", sum/float64(len(f.Frailties)), events, f.Events)
		}
		plain, err := FitCox(times, x, []string{"a", "b"}, CoxOptions{})
		must(t, err)
		test := f.Tests[1]
		if f.Variance.Value == 0 {
			zero++
			if !slices.Equal(f.Coefficients, plain.Coefficients) || test.P != 1 || f.Variance.Lower != 0 {
				t.Errorf("no variance: %v, %v", f.Coefficients, test)
			}
			continue
		}
		if !(f.Variance.Lower < f.Variance.Value && f.Variance.Value < f.Variance.Upper) || f.LogLik < plain.LogLik {
			t.Errorf("variance %v (%v to %v), log likelihood %v, %v without", f.Variance.Value, f.Variance.Lower, f.Variance.Upper, f.LogLik, plain.LogLik)
		}
		// The lower limit is 0 exactly where the test is not significant at 1 df.
		if (f.Variance.Lower == 0) != (2*test.P > 0.05) {
			t.Errorf("lower limit %v, P %v", f.Variance.Lower, test.P)
		}
	}
	if zero == 0 {
		t.Error("no variance was 0")
	}
}

func TestFrailtyRefusals(t *testing.T) {
	times := Times{Entry: []float64{0, 0, 0, 0}, Exit: []float64{3, 5, 2, 7}, Status: []bool{true, true, true, false}}
	x := [][]float64{{0}, {1}, {1}, {0}}
	for _, c := range []struct {
		name  string
		child []int
		alter func(*Times)
		want  error
	}{
		{"one child", []int{1, 1, 1, 1}, func(*Times) {}, ErrTooFewClusters},
		{"a row a child", []int{1, 2, 3, 4}, func(*Times) {}, ErrTooFewRows},
		{"no event", []int{1, 1, 2, 2}, func(t *Times) { t.Status = make([]bool, 4) }, ErrNoEvents},
		{"separation", []int{1, 1, 2, 2}, func(t *Times) { t.Status = []bool{false, true, true, false} }, ErrSeparation},
	} {
		tt := times
		c.alter(&tt)
		if _, err := FitCoxFrailty(tt, c.child, x, []string{"a"}, FrailtyOptions{}); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
	}
	// Children with all events at once or none at all.
	var many Times
	var child []int
	var columns [][]float64
	for c := range 20 {
		for k := range 6 {
			many.Entry = append(many.Entry, 0)
			many.Exit = append(many.Exit, float64(1+k+7*(c%2)*10))
			many.Status = append(many.Status, c%2 == 0)
			child, columns = append(child, c), append(columns, []float64{float64((c/2 + k) % 3)})
		}
	}
	f, err := FitCoxFrailty(many, child, columns, []string{"a"}, FrailtyOptions{})
	if err == nil && f.Variance.Value > frailtyLargest {
		t.Errorf("variance %v", f.Variance.Value)
	}
	if err != nil && !errors.Is(err, ErrNotConverged) {
		t.Error(err)
	}
}
