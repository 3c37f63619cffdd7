package stats

import (
	"math"
	"math/rand/v2"
	"testing"
)

type influenceCase struct {
	X [][]float64 `json:"x"`
	Y []int       `json:"y"`
}

func randomInfluenceCase(r *rand.Rand) (c influenceCase) {
	n, p := 25+r.IntN(60), 2+r.IntN(3)
	for range n {
		row := make([]float64, p)
		for j := range row {
			row[j] = r.NormFloat64()
			if j%2 == 0 {
				row[j] = float64(r.IntN(2))
			}
		}
		row[p-1] += 0.8 * row[0]
		y := 0
		if r.Float64() < 0.3+0.3*row[0] {
			y = 1
		}
		c.X, c.Y = append(c.X, row), append(c.Y, y)
	}
	return c
}

type influenceOutput struct {
	Version string
	Cases   []struct {
		Converged bool
		VIF       []float64
		Change    [][]float64
		Rao       []float64
	}
}

func TestInfluenceAgainstStoredR(t *testing.T) {
	var cases []influenceCase
	var out influenceOutput
	storedCrosscheck(t, "influence", &cases, &out)
	compareInfluence(t, cases, out)
}

// TestInfluenceAgainstR compares with base R on 600 random data sets.
func TestInfluenceAgainstR(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(44, 2))
	var cases []influenceCase
	for range 600 {
		cases = append(cases, randomInfluenceCase(r))
	}
	var out influenceOutput
	crosscheck(t, "influence.R", cases, &out)
	compareInfluence(t, cases, out)
}

// Inflation is a closed form: 1e-8. Influence and score tests stand on fits that
// iterate: 1e-6.
func compareInfluence(t *testing.T, cases []influenceCase, out influenceOutput) {
	t.Helper()
	if len(out.Cases) != len(cases) || len(cases) == 0 {
		t.Fatalf("%d answers for %d cases", len(out.Cases), len(cases))
	}
	compared := 0
	for i, c := range cases {
		want := out.Cases[i]
		terms := []string{"a", "b", "c", "d"}[:len(c.X[0])]
		var groups [][]int
		y := make([]bool, len(c.Y))
		for j := range terms {
			groups = append(groups, []int{j})
		}
		for k := range y {
			y[k] = c.Y[k] == 1
		}
		inflation, err := VarianceInflation(c.X, terms, groups)
		must(t, err)
		for j, v := range inflation {
			if !nearRelative(v.Factor, want.VIF[j], 1e-8) {
				t.Errorf("case %d, %s: inflation %.12g, R %.12g", i+1, terms[j], v.Factor, want.VIF[j])
			}
		}
		f, err := FitLogistic(c.X, terms, y, GLMOptions{})
		if err != nil || !want.Converged {
			continue
		}
		compared++
		list, err := LogisticInfluence(c.X, y, f, InfluenceOptions{})
		must(t, err)
		for k, one := range list {
			if one.Change == nil { // a row without which the coefficients cannot be told
				continue
			}
			for j, v := range one.Change {
				if math.Abs(v-want.Change[k][j]) > 1e-6*f.SE[j]*(1+math.Abs(want.Change[k][j])/f.SE[j]) {
					t.Errorf("case %d, row %d, coefficient %d: change %.12g, R %.12g", i+1, k+1, j, v, want.Change[k][j])
				}
			}
		}
		score, err := LogisticScore(c.X, terms, y, GLMOptions{})
		must(t, err)
		for j, e := range score {
			if !nearRelative(e.P, want.Rao[j], 1e-6) {
				t.Errorf("case %d, %s: P %.12g of the score test, R %.12g", i+1, terms[j], e.P, want.Rao[j])
			}
		}
	}
	if compared < len(cases)*3/4 {
		t.Errorf("%d of %d fits compared", compared, len(cases))
	}
	t.Logf("%s: %d of %d fits compared", out.Version, compared, len(cases))
}
