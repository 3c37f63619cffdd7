package stats

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"heelcohort/stats/internal/published"
)

func TestMarginalCoxPublished(t *testing.T) {
	want := published.Load(t, "wei-lin-weissfeld-1989")
	id, rx, order := want.Ints("id"), want.Floats("rx"), want.Ints("enum")
	number, size, stop, event := want.Floats("number"), want.Floats("size"), want.Floats("stop"), want.Ints("event")
	kinds := make([]EndType, 4)
	for i := range id {
		k := &kinds[order[i]-1]
		k.Name = fmt.Sprint(order[i])
		k.Times.Exit, k.Times.Status = append(k.Times.Exit, stop[i]), append(k.Times.Status, event[i] == 1)
		k.X, k.Child = append(k.X, []float64{rx[i], number[i], size[i]}), append(k.Child, id[i])
	}
	f, err := FitMarginalCox(kinds, []string{"rx", "number", "size"}, CoxOptions{Ties: TiesBreslow})
	must(t, err)
	treatment := []int{0, 3, 6, 9}
	for k, i := range treatment {
		want.Check(fmt.Sprintf("rx %d", k+1), f.Coefficients[i])
		want.Check(fmt.Sprintf("robust SE of rx %d", k+1), math.Sqrt(f.Covariance[i][i]))
	}
	want.Check("joint Wald test", f.JointTest("treatment", treatment).Statistic)
	e, err := f.Average("rx", treatment, 0)
	must(t, err)
	want.Check("average", math.Log(e.Value))
	want.Check("SE of the average", e.SE)
}

// The blocks of one kind are the robust covariance of its own fit, and two
// kinds with the same rows have the same block between them.
func TestMarginalCoxBlocks(t *testing.T) {
	r := rand.New(rand.NewPCG(77, 1))
	for range 50 {
		c := randomCase(r, 60, true)
		kind := EndType{Name: "first", Times: c.times(), X: c.X, Child: c.Cluster}
		terms := make([]string, len(c.X[0]))
		for j := range terms {
			terms[j] = fmt.Sprint("x", j)
		}
		one, err := FitCox(kind.Times, kind.X, terms, CoxOptions{Cluster: c.Cluster})
		if err != nil {
			continue
		}
		again := kind
		again.Name = "second"
		f, err := FitMarginalCox([]EndType{kind, again}, terms, CoxOptions{})
		must(t, err)
		p := len(terms)
		for a := range p {
			for b := range p {
				for _, at := range [][2]int{{a, b}, {a + p, b + p}, {a, b + p}} {
					if got, want := f.Covariance[at[0]][at[1]], one.Covariance[a][b]; !near(got, want, 1e-9) {
						t.Fatalf("covariance of %s and %s: %v, want %v", f.Terms[at[0]], f.Terms[at[1]], got, want)
					}
				}
			}
		}
		if _, err := f.Average("same", []int{0, p}, 0); !errors.Is(err, ErrNoVariance) {
			t.Errorf("average of one coefficient twice: %v", err)
		}
	}
}

func TestMarginalCoxRefuses(t *testing.T) {
	kind := EndType{Name: "second spell", Times: Times{Exit: []float64{1, 2}, Status: []bool{false, false}}, X: [][]float64{{0}, {1}}, Child: []int{1, 2}}
	_, err := FitMarginalCox([]EndType{kind}, []string{"x"}, CoxOptions{})
	if !errors.Is(err, ErrNoEvents) {
		t.Errorf("without events: %v", err)
	}
}
