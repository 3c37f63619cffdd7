package stats

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// An agreementCase is what agreement.py reads.
type agreementCase struct {
	Table  [][]int     `json:"table"`
	Own    [][]float64 `json:"own"`
	Many   [][]int     `json:"many"`
	P      []float64   `json:"p"`
	Belief []float64   `json:"belief"`
	Shares []float64   `json:"shares"`
}

type agreementOutput struct {
	Version []string
	Cases   []struct {
		Plain, Linear, Quadratic, Own []number
		Fleiss                        number
		Adjusted                      [][]number
		Trapezoidal, Triangular       []number
		Uniform, Beta                 []number
	}
}

func randomAgreement(r *rand.Rand) agreementCase {
	k := 2 + r.IntN(4)
	c := agreementCase{Table: randomTable(r, k, k, []int{4, 30, 300}[r.IntN(3)]), Own: newMatrix(k, k)}
	for i := range k {
		c.Table[i][i] += 1 + r.IntN(40)
		c.Own[i][i] = 1
		for j := range i {
			c.Own[i][j] = float64(r.IntN(10)) / 10
			c.Own[j][i] = c.Own[i][j]
		}
	}
	raters := 2 + r.IntN(5)
	for range 3 + r.IntN(30) {
		row := make([]int, k)
		usual := r.IntN(k)
		for range raters {
			if r.IntN(3) == 0 {
				row[r.IntN(k)]++
			} else {
				row[usual]++
			}
		}
		c.Many = append(c.Many, row)
	}
	c.Many[0], c.Many[1] = make([]int, k), make([]int, k)
	c.Many[0][0], c.Many[1][1] = raters, raters // two categories are used
	for range 1 + r.IntN(20) {
		p := math.Pow(r.Float64(), 1+3*r.Float64())
		c.P = append(c.P, p)
		if r.IntN(4) == 0 {
			c.P = append(c.P, p) // ties
		}
	}
	for range 4 {
		c.Belief = append(c.Belief, r.Float64())
	}
	slices.Sort(c.Belief)
	for range 5 {
		c.Shares = append(c.Shares, r.Float64())
	}
	return c
}

func TestAgreementAgainstStoredStatsmodels(t *testing.T) {
	var cases []agreementCase
	var out agreementOutput
	storedCrosscheck(t, "agreement", &cases, &out)
	compareAgreement(t, cases, out)
}

func TestAgreementAgainstStatsmodels(t *testing.T) {
	r := rand.New(rand.NewPCG(19, 60))
	var cases []agreementCase
	for range 500 {
		cases = append(cases, randomAgreement(r))
	}
	var out agreementOutput
	crosscheck(t, "agreement.py", cases, &out)
	compareAgreement(t, cases, out)
}

// Closed forms agree to 1e-8 relatively; so do p-values, which there are made of
// a tail of the normal distribution too. A kappa near 0 is a difference and
// agrees absolutely.
func compareAgreement(t *testing.T, cases []agreementCase, out agreementOutput) {
	t.Helper()
	if len(out.Cases) != len(cases) || len(cases) == 0 {
		t.Fatalf("%d answers for %d cases", len(out.Cases), len(cases))
	}
	for i, c := range cases {
		want := out.Cases[i]
		check := func(what string, got float64, want number) {
			t.Helper()
			if !nearRelative(got, float64(want), 1e-8) && math.Abs(got-float64(want)) > 1e-13 {
				t.Errorf("case %d: %s: got %.15g, want %.15g", i+1, what, got, float64(want))
			}
		}
		for _, one := range []struct {
			name string
			opts KappaOptions
			want []number
		}{
			{"kappa", KappaOptions{}, want.Plain},
			{"linear kappa", KappaOptions{Weights: LinearWeights}, want.Linear},
			{"quadratic kappa", KappaOptions{Weights: QuadraticWeights}, want.Quadratic},
			{"own kappa", KappaOptions{Own: c.Own}, want.Own},
		} {
			k, err := Kappa(c.Table, one.opts)
			must(t, err)
			check(one.name, k.Estimate.Value, one.want[0])
			check(one.name+" se", k.Estimate.SE, one.want[1])
			check(one.name+" null se", k.NullSE, one.want[2])
			check(one.name+" z", k.Z, one.want[3])
			check(one.name+" p", k.Estimate.P, one.want[4])
		}
		many, err := FleissKappa(c.Many, LimitOptions{})
		must(t, err)
		check("kappa of many raters", many.Estimate.Value, want.Fleiss)
		for m, adjusted := range want.Adjusted {
			got, err := AdjustP(c.P, Multiplicity(m))
			must(t, err)
			for j, p := range adjusted {
				check(Multiplicity(m).String(), got.P[j], p)
			}
		}
		b := c.Belief
		for j, u := range c.Shares {
			check("trapezoidal", TrapezoidalBelief(b[0], b[1], b[2], b[3]).quantile(u), want.Trapezoidal[j])
			check("triangular", TriangularBelief(b[0], b[1], b[3]).quantile(u), want.Triangular[j])
			check("uniform", UniformBelief(b[0], b[3]).quantile(u), want.Uniform[j])
			check("beta", BetaBelief(1+50*b[0], 1+50*b[3]).quantile(u), want.Beta[j])
		}
	}
	t.Logf("%s: %d cases", out.Version, len(cases))
}
