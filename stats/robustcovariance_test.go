package stats

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

func ExampleGLMOptions_robust() {
	// Episodes of six children in two seasons each: errors for few clusters.
	x := [][]float64{{1}, {1}, {1}, {1}, {1}, {1}, {0}, {0}, {0}, {0}, {0}, {0}}
	events := []float64{2, 3, 1, 0, 4, 2, 1, 0, 0, 1, 2, 1}
	child := []int{1, 1, 2, 2, 3, 3, 4, 4, 5, 5, 6, 6}
	f, err := FitPoisson(x, []string{"football"}, events, nil, GLMOptions{Cluster: child, Robust: CR2, Reference: ReferenceSatterthwaite})
	if err != nil {
		fmt.Println(err)
		return
	}
	e := f.Estimates[0]
	fmt.Printf("%.2f (%.2f to %.2f)\n%s\n", e.Value, e.Lower, e.Upper, e.Method)
	// Output:
	// 2.40 (0.46 to 12.42)
	// Wald limits, cluster-robust, bias-reduced (CR2), t on Satterthwaite's degrees of freedom
}

// By hand, the mean of 1, 2, 3, 6 with variance 1. By single rows H is 1/4: CR2
// divides squared residuals by 3/4, which is the usual variance 14/12 on 3
// degrees of freedom, CR3 by 9/16. By the pairs (1, 6) and (2, 3), whose
// residuals add up to 1 and −1, H has the eigenvalue 1/2 along (1, 1): CR2
// doubles 2/16 and CR3 doubles it again, on 1 degree of freedom. CR1S has 4/3 ×
// 3/3 and 2 × 3/3.
func TestRobustByHand(t *testing.T) {
	x := [][]float64{{1}, {1}, {1}, {1}}
	weights, scores := []float64{1, 1, 1, 1}, [][]float64{{-2}, {-1}, {0}, {3}}
	for _, c := range []struct {
		cluster  []int
		form     RobustForm
		want, df float64
	}{
		{[]int{1, 2, 3, 4}, CR0, 14.0 / 16, 3},
		{[]int{1, 2, 3, 4}, CR1, 14.0 / 12, 3},
		{[]int{1, 2, 3, 4}, CR1S, 14.0 / 12, 3},
		{[]int{1, 2, 3, 4}, CR2, 14.0 / 12, 3},
		{[]int{1, 2, 3, 4}, CR3, 14.0 / 9, 3},
		{[]int{-7, 900, 900, -7}, CR0, 0.125, 1},
		{[]int{-7, 900, 900, -7}, CR1S, 0.25, 1},
		{[]int{-7, 900, 900, -7}, CR2, 0.25, 1},
		{[]int{-7, 900, 900, -7}, CR3, 0.5, 1},
	} {
		r, err := newRobustCovariance(c.form, [][]float64{{0.25}}, x, weights, scores, c.cluster)
		must(t, err)
		if !near(r.v[0][0], c.want, 1e-14) || !near(r.satterthwaite([]float64{2}), c.df, 1e-12) {
			t.Errorf("%s, clusters %v: %v on %v, want %v on %v", c.form, c.cluster, r.v[0][0], r.satterthwaite([]float64{2}), c.want, c.df)
		}
	}
	if _, err := newRobustCovariance(CR2, [][]float64{{0.25}}, x, weights, scores, []int{3, 3, 3, 3}); !errors.Is(err, ErrTooFewClusters) {
		t.Errorf("one cluster: error %v, want %v", err, ErrTooFewClusters)
	}
}

// A linearModel is a weighted linear regression in clusters, fitted.
type linearModel struct {
	x       [][]float64
	y, w    []float64
	cluster []int
	beta    []float64
	bread   [][]float64
}

func (m *linearModel) fit(t *testing.T, without int) ([]float64, [][]float64) {
	t.Helper()
	p := len(m.x[0])
	a, b := newMatrix(p, p), make([]float64, p)
	for i, row := range m.x {
		if m.cluster[i] == without {
			continue
		}
		for j := range p {
			b[j] += m.w[i] * row[j] * m.y[i]
			for k := range p {
				a[j][k] += m.w[i] * row[j] * row[k]
			}
		}
	}
	l, _, ok := cholesky(a, 1e-12)
	if !ok {
		t.Fatal("singular")
	}
	return choleskySolve(l, b), choleskyInverse(l)
}

func randomLinear(t *testing.T, r *rand.Rand) *linearModel {
	m := &linearModel{}
	for i := range 12 + r.IntN(30) {
		m.x = append(m.x, []float64{1, r.NormFloat64(), r.NormFloat64()})
		m.y, m.w = append(m.y, r.NormFloat64()), append(m.w, 0.2+r.Float64())
		m.cluster = append(m.cluster, i%6)
	}
	m.beta, m.bread = m.fit(t, -1)
	return m
}

func (m *linearModel) scores(residual func(i int) float64) [][]float64 {
	out := newMatrix(len(m.x), len(m.x[0]))
	for i, row := range m.x {
		for j, v := range row {
			out[i][j] = m.w[i] * v * residual(i)
		}
	}
	return out
}

// In a linear model CR3 is the sum of the squared changes of the coefficients
// as each cluster is left out, by refitting.
func TestCR3IsJackknife(t *testing.T) {
	r := rand.New(rand.NewPCG(51, 1))
	for range 200 {
		m := randomLinear(t, r)
		p := len(m.beta)
		scores := m.scores(func(i int) float64 { return m.y[i] - dot(m.x[i], m.beta) })
		got, err := newRobustCovariance(CR3, m.bread, m.x, m.w, scores, m.cluster)
		must(t, err)
		want := newMatrix(p, p)
		for g := range 6 {
			left, _ := m.fit(t, g)
			for j := range p {
				for k := range p {
					want[j][k] += (left[j] - m.beta[j]) * (left[k] - m.beta[k])
				}
			}
		}
		for j := range p {
			for k := range p {
				if !near(got.v[j][k], want[j][k], 1e-9) {
					t.Fatalf("CR3 %v, jackknife %v", got.v, want)
				}
			}
		}
	}
}

// CR2 has no bias where the model's variance holds: its sum over the columns of
// a root of the residuals' covariance, (I−H)/w in the linear model, is B. Any
// covariance is the sum of r r' over such columns; here they are the residuals
// of unit errors.
func TestCR2IsUnbiased(t *testing.T) {
	r := rand.New(rand.NewPCG(52, 1))
	for range 100 {
		m := randomLinear(t, r)
		n, p := len(m.x), len(m.beta)
		sum := newMatrix(p, p)
		for one := range n { // ε = unit vector on the standardised scale
			hat := func(i int) float64 {
				h := 0.0
				for j := range p {
					h += m.x[i][j] * dot(m.bread[j], m.x[one])
				}
				return math.Sqrt(m.w[i]*m.w[one]) * h
			}
			scores := m.scores(func(i int) float64 {
				e := -hat(i)
				if i == one {
					e++
				}
				return e / math.Sqrt(m.w[i])
			})
			got, err := newRobustCovariance(CR2, m.bread, m.x, m.w, scores, m.cluster)
			must(t, err)
			for j := range p {
				for k := range p {
					sum[j][k] += got.v[j][k]
				}
			}
		}
		for j := range p {
			for k := range p {
				if !near(sum[j][k], m.bread[j][k], 1e-8) {
					t.Fatalf("mean of CR2 %v, want %v", sum, m.bread)
				}
			}
		}
	}
}

// CR0, CR1 and CR1S of a Poisson fit differ by their factors, CR1 is what it was
// without a form, and the general way of making them agrees with the plain
// one.
func TestRobustPoisson(t *testing.T) {
	r := rand.New(rand.NewPCG(53, 1))
	for range 40 {
		c := randomRobust(r)
		variance := func(o GLMOptions) float64 {
			o.Cluster = c.Cluster
			f, err := FitPoisson(c.X, c.terms(), c.Events, c.Time, o)
			must(t, err)
			return f.Covariance[1][1]
		}
		g, n := float64(countClusters(c.Cluster)), float64(len(c.X))
		zero, one := variance(GLMOptions{Robust: CR0}), variance(GLMOptions{Robust: CR1})
		if one != variance(GLMOptions{}) || zero != variance(GLMOptions{Uncorrected: true}) {
			t.Error("CR1 is not the default")
		}
		if got, want := variance(GLMOptions{Robust: CR1S}), zero*g/(g-1)*(n-1)/(n-3); !nearRelative(got, want, 1e-10) {
			t.Errorf("CR1S %v, want %v", got, want)
		}
		if clusters := variance(GLMOptions{Robust: CR1, Reference: ReferenceSatterthwaite}); !nearRelative(clusters, one, 1e-10) {
			t.Errorf("CR1 by the general way %v, want %v", clusters, one)
		}
	}
}

// With t on G−p degrees of freedom, by hand: 6 clusters and 2 coefficients leave
// 4, whose 97.5% quantile is 2.776445 (Fisher and Yates).
func TestClustersReference(t *testing.T) {
	x := [][]float64{{1}, {1}, {1}, {0}, {0}, {0}}
	f, err := FitPoisson(x, []string{"a"}, []float64{2, 3, 4, 1, 1, 3}, nil, GLMOptions{
		Cluster: []int{1, 2, 3, 4, 5, 6}, Robust: CR1, Reference: ReferenceClusters,
	})
	must(t, err)
	e := f.Estimates[0]
	if half := math.Log(e.Upper/e.Lower) / 2; !near(half/e.SE, 2.776445, 5e-7) || f.RobustDF[1] != 4 {
		t.Errorf("half width %v of %v on %v", half, e.SE, f.RobustDF)
	}
	if wald := f.Tests[len(f.Tests)-1]; !near(wald.P, e.P, 1e-12) || !strings.HasPrefix(wald.Method, "F on 1 and 4 degrees") {
		t.Errorf("F of one coefficient %+v, t %+v", wald, e)
	}
	if got := f.Coefficient(1, 0); !near(got.P, e.P, 1e-14) || !near(got.Upper, math.Log(e.Upper), 1e-12) {
		t.Errorf("coefficient %+v, ratio %+v", got, e)
	}
}

func TestRobustRefuses(t *testing.T) {
	// Only cluster 3 has b: without it nothing is known of b.
	x := [][]float64{{1, 0}, {0, 0}, {1, 0}, {0, 0}, {0, 1}, {1, 1}, {0, 0}, {1, 0}}
	y := []float64{2, 1, 3, 1, 2, 5, 1, 2}
	cluster := []int{1, 1, 2, 2, 3, 3, 4, 4}
	for _, form := range []RobustForm{CR2, CR3} {
		if _, err := FitPoisson(x, []string{"a", "b"}, y, nil, GLMOptions{Cluster: cluster, Robust: form}); !errors.Is(err, ErrTooFewClusters) ||
			!strings.Contains(err.Error(), "cluster 3 of 4") {
			t.Errorf("%s: %v", form, err)
		}
	}
	if _, err := FitPoisson(x, []string{"a", "b"}, y, nil, GLMOptions{Cluster: []int{1, 1, 2, 2, 3, 3, 1, 2}, Reference: ReferenceClusters}); !errors.Is(err, ErrTooFewClusters) {
		t.Errorf("no degrees of freedom: %v", err)
	}
	fit := func(o GLMOptions) func() {
		return func() { _, _ = FitPoisson(x, []string{"a", "b"}, y, nil, o) }
	}
	panics(t, "without Cluster", fit(GLMOptions{Robust: CR2}))
	panics(t, "without Cluster", fit(GLMOptions{Reference: ReferenceClusters}))
	panics(t, "unknown RobustForm", fit(GLMOptions{Cluster: cluster, Robust: "CR9"}))
	panics(t, "unknown RobustReference", fit(GLMOptions{Cluster: cluster, Reference: "z"}))
	panics(t, "expected one of them", fit(GLMOptions{Cluster: cluster, Robust: CR2, Uncorrected: true}))
}

// In logistic and negative binomial models, CR3 against the outer products of
// one step of Newton's method without each cluster, (X'WX − X_g'W_gX_g)⁻¹ u_g,
// by plain inverses at the fitted coefficients.
func TestCR3IsOneStep(t *testing.T) {
	r := rand.New(rand.NewPCG(56, 1))
	compared := 0
	for range 60 {
		c := randomRobust(r)
		opts := GLMOptions{Cluster: c.Cluster, Robust: CR3}
		for _, m := range []struct {
			fit func() (Fit, error)
			at  func(f Fit, i int) (residual, weight float64)
		}{
			{func() (Fit, error) { return FitLogistic(c.X, c.terms(), c.Yes, opts) }, func(f Fit, i int) (float64, float64) {
				p := 1 / (1 + math.Exp(-f.Coefficients[0]-dot(c.X[i], f.Coefficients[1:])))
				if c.Yes[i] {
					return 1 - p, p * (1 - p)
				}
				return -p, p * (1 - p)
			}},
			{func() (Fit, error) { return FitNegativeBinomial(c.X, c.terms(), c.Events, c.Time, opts) }, func(f Fit, i int) (float64, float64) {
				mu := c.Time[i] * math.Exp(f.Coefficients[0]+dot(c.X[i], f.Coefficients[1:]))
				return (c.Events[i] - mu) / (1 + f.Overdispersion*mu), mu / (1 + f.Overdispersion*mu)
			}},
		} {
			f, err := m.fit()
			if err != nil {
				continue // separated, or one cluster alone knows a coefficient
			}
			compared++
			want := newMatrix(3, 3)
			done := map[int]bool{}
			for _, g := range c.Cluster {
				if done[g] {
					continue
				}
				done[g] = true
				rest, u := newMatrix(3, 3), make([]float64, 3)
				for i := range c.X {
					x := append([]float64{1}, c.X[i]...)
					residual, weight := m.at(f, i)
					for j := range x {
						if c.Cluster[i] == g {
							u[j] += residual * x[j]
							continue
						}
						for k := range x {
							rest[j][k] += weight * x[j] * x[k]
						}
					}
				}
				l, _, ok := cholesky(rest, 0)
				if !ok {
					t.Fatal("singular")
				}
				step := choleskySolve(l, u)
				for j := range step {
					for k := range step {
						want[j][k] += step[j] * step[k]
					}
				}
			}
			for j := range want {
				for k := range want {
					if size := math.Sqrt(want[j][j] * want[k][k]); math.Abs(f.Covariance[j][k]-want[j][k]) > 1e-7*size {
						t.Fatalf("%s: CR3 %v, steps %v", f.Model, f.Covariance, want)
					}
				}
			}
		}
	}
	if compared < 80 {
		t.Errorf("%d fits compared", compared)
	}
}
