package stats

import (
	"errors"
	"math/rand/v2"
	"testing"
)

type separationOutput struct {
	Version string
	Cases   []struct {
		Rank              int
		Logistic, Poisson bool
	}
}

// randomSparse is a data set so small that about half are separated.
func randomSparse(r *rand.Rand) glmCase {
	var c glmCase
	n, p := 8+r.IntN(20), 1+r.IntN(3)
	continuous := r.IntN(3) == 0
	for range n {
		row := make([]float64, p)
		for j := range row {
			row[j] = float64(r.IntN(2 + j))
			if continuous && j == 0 {
				row[j] = r.NormFloat64() * 10
			}
		}
		c.X = append(c.X, row)
		c.Yes = append(c.Yes, r.IntN(3) == 0)
		c.Events = append(c.Events, float64(max(0, r.IntN(4)-2)))
		c.Time = append(c.Time, 1)
	}
	return c
}

func TestSeparationAgainstStoredPython(t *testing.T) {
	var cases []glmCase
	var out separationOutput
	storedCrosscheck(t, "separation", &cases, &out)
	compareSeparation(t, cases, out)
}

func TestSeparationAgainstPython(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 1))
	var cases []glmCase
	for range 1000 {
		cases = append(cases, randomSparse(r))
	}
	var out separationOutput
	crosscheck(t, "separation.py", cases, &out)
	compareSeparation(t, cases, out)
}

// The verdict of the iterations is that of linear programming in every case.
func compareSeparation(t *testing.T, cases []glmCase, out separationOutput) {
	t.Helper()
	if len(out.Cases) != len(cases) || len(cases) == 0 {
		t.Fatalf("%d answers for %d cases", len(out.Cases), len(cases))
	}
	verdicts := map[bool]int{}
	check := func(i int, model string, err error, separated bool) {
		t.Helper()
		if errors.Is(err, ErrNoEvents) || errors.Is(err, ErrNoVariance) {
			return
		}
		if got := errors.Is(err, ErrSeparation); got != separated || (err != nil && !got) {
			t.Errorf("case %d: %s: error %v, separated %v", i+1, model, err, separated)
		}
		verdicts[separated]++
	}
	for i, c := range cases {
		want := out.Cases[i]
		_, err := FitLogistic(c.X, c.terms(), c.Yes, GLMOptions{})
		_, countErr := FitPoisson(c.X, c.terms(), c.Events, c.Time, GLMOptions{})
		if collinear := want.Rank < len(c.X[0])+1; collinear || errors.Is(err, ErrCollinear) {
			if !collinear || !errors.Is(err, ErrCollinear) || !errors.Is(countErr, ErrCollinear) {
				t.Errorf("case %d: rank %d of %d, errors %v and %v", i+1, want.Rank, len(c.X[0])+1, err, countErr)
			}
			continue
		}
		check(i, "logistic", err, want.Logistic)
		check(i, "Poisson", countErr, want.Poisson)
	}
	t.Logf("%s: %d separated, %d not", out.Version, verdicts[true], verdicts[false])
	if verdicts[true] == 0 || verdicts[false] == 0 {
		t.Error("only one verdict was met")
	}
}
