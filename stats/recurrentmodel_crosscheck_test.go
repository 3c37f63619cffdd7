package stats

import (
	"math"
	"math/rand/v2"
	"testing"
)

// A recurrentCase is what recurrentmodel.R reads.
type recurrentCase struct {
	recurrenceCase
	A    []float64 `json:"a"`
	B    []float64 `json:"b"`
	Ties string    `json:"ties"`
}

type recurrentAnswer struct {
	Warned        []bool
	Coefficients  []number
	Model, Robust [][]number
	LogLik        []number
}

type recurrentOutput struct {
	Version []string
	Cases   []struct{ AG, Total, Gap, Pooled recurrentAnswer }
}

func randomRecurrent(r *rand.Rand, ties string) recurrentCase {
	c := recurrentCase{recurrenceCase: randomRecurrence(r), Ties: ties}
	drawn := map[int]float64{}
	for i, child := range c.Child {
		if _, ok := drawn[child]; !ok {
			drawn[child] = math.Round(r.NormFloat64()*100) / 100
		}
		c.A = append(c.A, float64(c.Group[i]%2))
		c.B = append(c.B, drawn[child])
	}
	return c
}

func TestRecurrentModelAgainstStoredR(t *testing.T) {
	var cases []recurrentCase
	var out recurrentOutput
	storedCrosscheck(t, "recurrentmodel", &cases, &out)
	compareRecurrent(t, cases, out)
}

func TestRecurrentModelAgainstR(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(30, 9))
	var cases []recurrentCase
	for i := range 500 {
		cases = append(cases, randomRecurrent(r, []string{TiesEfron, TiesBreslow}[i%2]))
	}
	var out recurrentOutput
	crosscheck(t, "recurrentmodel.R", cases, &out)
	compareRecurrent(t, cases, out)
}

// Newton's method on both sides: 1e-7.
func compareRecurrent(t *testing.T, cases []recurrentCase, out recurrentOutput) {
	t.Helper()
	if len(out.Cases) != len(cases) || len(cases) == 0 {
		t.Fatalf("%d answers for %d cases", len(out.Cases), len(cases))
	}
	compared, refused := 0, 0
	for i, c := range cases {
		var x [][]float64
		for j := range c.A {
			x = append(x, []float64{c.A[j], c.B[j]})
		}
		for _, l := range []struct {
			layout  RecurrentLayout
			largest int
			want    recurrentAnswer
		}{
			{AndersenGill, 0, out.Cases[i].AG},
			{PrenticeTotal, 0, out.Cases[i].Total},
			{PrenticeGap, 0, out.Cases[i].Gap},
			{PrenticeTotal, 3, out.Cases[i].Pooled},
		} {
			if l.want.Warned[0] {
				continue
			}
			f, err := FitRecurrent(Times{c.Entry, c.Exit, c.Status}, c.Child, x, []string{"a", "b"},
				RecurrentOptions{Layout: l.layout, LargestNumber: l.largest, Ties: c.Ties})
			if err != nil {
				refused++
				continue
			}
			compared++
			check := func(what string, got float64, want number) {
				if !near(got, float64(want), 1e-7) {
					t.Errorf("case %d, %s: %s %.10g, want %.10g", i+1, l.layout, what, got, float64(want))
				}
			}
			check("log likelihood", f.LogLik, l.want.LogLik[1])
			for j := range 2 {
				check("coefficient", f.Coefficients[j], l.want.Coefficients[j])
				check("model error", f.ModelSE[j], number(math.Sqrt(float64(l.want.Model[j][j]))))
				for k := range 2 {
					check("robust covariance", f.Covariance[j][k], l.want.Robust[j][k])
				}
			}
		}
	}
	t.Logf("%s: %d compared, %d refused", out.Version, compared, refused)
	if compared == 0 || refused*20 > compared {
		t.Errorf("%d refused, %d compared", refused, compared)
	}
}
