package stats

import (
	"math"
	"math/rand/v2"
	"testing"
)

// A frailtyCase is what frailty.R reads.
type frailtyCase struct {
	recurrentCase
	Theta float64 `json:"theta"`
}

type frailtyAnswer struct {
	Warned            []bool
	Theta, Integrated []number
	Coefficients      []number
	Covariance        [][]number
	Frailty           []number
	Children          []int
}

type frailtyOutput struct {
	Version []string
	Cases   []struct{ Fixed, Free frailtyAnswer }
}

// randomFrailty draws children with frailties and one to five rows each, in
// pairs at once or one after the other.
func randomFrailty(r *rand.Rand, ties string) frailtyCase {
	c := frailtyCase{recurrentCase: recurrentCase{Ties: ties}, Theta: math.Round(10+190*r.Float64()) / 100}
	paired := r.IntN(2) == 0
	spread := 1.2 * r.Float64()
	for child := range 10 + r.IntN(25) {
		z := math.Exp(spread * r.NormFloat64())
		b := math.Round(r.NormFloat64()*100) / 100
		at := 0.0
		for i := range 2 + r.IntN(3) {
			a := float64((child + i) % 2)
			length := math.Ceil(10 * r.ExpFloat64() / (z * math.Exp(0.5*a+0.3*b)))
			exit, status := at+length, true
			if length > 15 {
				exit, status = at+15, false
			}
			c.Child, c.A, c.B = append(c.Child, child+5), append(c.A, a), append(c.B, b)
			c.Entry, c.Exit, c.Status = append(c.Entry, at), append(c.Exit, exit), append(c.Status, status)
			if !paired {
				at = exit
			}
		}
	}
	return c
}

func (c frailtyCase) rows() (t Times, x [][]float64) {
	for i := range c.A {
		x = append(x, []float64{c.A[i], c.B[i]})
	}
	return Times{c.Entry, c.Exit, c.Status}, x
}

func TestFrailtyAgainstStoredR(t *testing.T) {
	var cases []frailtyCase
	var out frailtyOutput
	storedCrosscheck(t, "frailty", &cases, &out)
	compareFrailty(t, cases, out)
}

func TestFrailtyAgainstR(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(31, 9))
	var cases []frailtyCase
	for i := range 500 {
		cases = append(cases, randomFrailty(r, []string{TiesEfron, TiesBreslow}[i%2]))
	}
	var out frailtyOutput
	crosscheck(t, "frailty.R", cases, &out)
	compareFrailty(t, cases, out)
}

// At a given variance 1e-6. R's search for the variance ends when its steps, and
// not its slope, are small: the two variances are compared by the likelihood,
// which must not be higher there, and coefficients loosely.
func compareFrailty(t *testing.T, cases []frailtyCase, out frailtyOutput) {
	t.Helper()
	if len(out.Cases) != len(cases) || len(cases) == 0 {
		t.Fatalf("%d answers for %d cases", len(out.Cases), len(cases))
	}
	fixed, free, zero := 0, 0, 0
	for i, c := range cases {
		times, x := c.rows()
		check := func(what string, got float64, want number, tolerance float64) {
			if !near(got, float64(want), tolerance) {
				t.Errorf("case %d, %s ties: %s %.10g, want %.10g", i+1, c.Ties, what, got, float64(want))
			}
		}
		plain, err := FitCox(times, x, []string{"a", "b"}, CoxOptions{Ties: c.Ties})
		must(t, err)
		if want := out.Cases[i].Fixed; !want.Warned[0] {
			fixed++
			m := newFrailtyModel(plain, c.Child)
			at, err := m.solve(c.Theta)
			must(t, err)
			v, err := m.covariance(at)
			must(t, err)
			v = m.cox.unscale(v)
			for j := range 2 {
				check("coefficient at a variance", at.beta[j]/m.cox.scale[j], want.Coefficients[j], 1e-6)
				for k := range 2 {
					check("covariance at a variance", v[j][k], want.Covariance[j][k], 1e-6)
				}
			}
			for k, child := range want.Children {
				if n, ok := m.number[child]; ok {
					check("log frailty", at.omega[n], want.Frailty[k], 1e-6)
				}
			}
		}
		f, err := FitCoxFrailty(times, c.Child, x, []string{"a", "b"}, FrailtyOptions{Ties: c.Ties})
		must(t, err)
		want := out.Cases[i].Free
		if want.Warned[0] {
			continue
		}
		free++
		if f.Variance.Value == 0 {
			zero++
		}
		if f.LogLik < float64(want.Integrated[0])-1e-6 {
			t.Errorf("case %d, %s ties: log likelihood %.9g at %v, %.9g at %v", i+1, c.Ties, f.LogLik, f.Variance.Value, float64(want.Integrated[0]), want.Theta[0])
		}
		check("integrated log likelihood", f.LogLik, want.Integrated[0], 1e-5)
		check("variance", f.Variance.Value, want.Theta[0], 2e-3)
		for j := range 2 {
			check("coefficient", f.Coefficients[j], want.Coefficients[j], 1e-3)
			check("error", f.SE[j], number(math.Sqrt(float64(want.Covariance[j][j]))), 1e-3)
		}
	}
	t.Logf("%s: %d compared at a given variance, %d at the estimated one, %d of them 0", out.Version, fixed, free, zero)
	if fixed*10 < len(cases)*9 || free*2 < len(cases) {
		t.Errorf("too few compared")
	}
}
