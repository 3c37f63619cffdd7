package stats

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat"
)

// influenceStudy is a small study with two covariates.
func influenceStudy(seed uint64, n int) (x [][]float64, y []bool, cluster []int) {
	r := rand.New(rand.NewPCG(seed, 11))
	for i := range n {
		row := []float64{float64(r.IntN(2)), 10 + 3*r.NormFloat64()}
		x, y, cluster = append(x, row), append(y, r.Float64() < 0.25+0.3*row[0]), append(cluster, i/2)
	}
	return x, y, cluster
}

// TestInfluenceIsOneNewtonStep refits by one step of Newton's method from the
// estimates of all rows, written out here, and holds Pregibon's closed form for
// single rows beside it.
func TestInfluenceIsOneNewtonStep(t *testing.T) {
	terms := []string{"flat", "age"}
	for seed := range uint64(20) {
		x, y, cluster := influenceStudy(seed, 60)
		f, err := FitLogistic(x, terms, y, GLMOptions{})
		if err != nil {
			continue
		}
		for _, unit := range [][]int{nil, cluster} {
			list, err := LogisticInfluence(x, y, f, InfluenceOptions{Cluster: unit})
			must(t, err)
			for g, one := range list {
				out := map[int]bool{}
				for _, i := range one.Rows {
					out[i] = true
				}
				information, score := newMatrix(3, 3), make([]float64, 3)
				for i, row := range x {
					if out[i] {
						continue
					}
					z := []float64{1, row[0], row[1]}
					p := 1 / (1 + math.Exp(-dot(z, f.Coefficients)))
					d := -p
					if y[i] {
						d = 1 - p
					}
					for j := range z {
						score[j] += d * z[j]
						for k := range z {
							information[j][k] += p * (1 - p) * z[j] * z[k]
						}
					}
				}
				step, ok := solveDense(information, score)
				if !ok {
					t.Fatal("singular")
				}
				for j := range step {
					if !near(one.Change[j], -step[j], 1e-8*(1+f.SE[j])) {
						t.Fatalf("seed %d, unit %d, coefficient %d: change %v, a Newton step gives %v", seed, g, j, one.Change[j], -step[j])
					}
				}
				if unit == nil {
					i := one.Rows[0]
					z := []float64{1, x[i][0], x[i][1]}
					p := 1 / (1 + math.Exp(-dot(z, f.Coefficients)))
					d, h := -p, 0.0
					if y[i] {
						d = 1 - p
					}
					for j := range z {
						h += z[j] * dot(f.Covariance[j], z) * p * (1 - p)
					}
					for j := range z {
						if want := dot(f.Covariance[j], z) * d / (1 - h); !near(one.Change[j], want, 1e-8*(1+f.SE[j])) {
							t.Fatalf("row %d, coefficient %d: change %v, Pregibon's form gives %v", i, j, one.Change[j], want)
						}
					}
				}
			}
		}
	}
}

// One row alone has a level: without it the coefficient cannot be told.
func TestInfluenceWithoutTheUnit(t *testing.T) {
	x := [][]float64{{0}, {0}, {0}, {0}, {1}, {1}}
	y := []bool{true, false, true, false, true, false}
	f, err := FitLogistic(x, []string{"only"}, y, GLMOptions{})
	must(t, err)
	list, err := LogisticInfluence(x, y, f, InfluenceOptions{Cluster: []int{1, 1, 2, 2, 3, 3}})
	must(t, err)
	if len(list) != 3 || list[0].Change == nil || list[2].Change != nil {
		t.Errorf("units %v: that which alone has the level has a change", list)
	}
}

// TestVarianceInflation holds single columns against 1/(1 − R²) of a regression
// and a category against another reference level.
func TestVarianceInflation(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 5))
	var x, other [][]float64
	var a, b []float64
	for range 80 {
		age := 10 + 2*r.NormFloat64()
		offset := age/3 - 4 + 0.4*r.NormFloat64()
		site := r.IntN(3)
		one, two, zero := 0.0, 0.0, 0.0
		switch site {
		case 1:
			one = 1
		case 2:
			two = 1
		default:
			zero = 1
		}
		x, other = append(x, []float64{age, offset, one, two}), append(other, []float64{age, offset, zero, one})
		a, b = append(a, age), append(b, offset)
	}
	two := make([][]float64, len(x))
	for i := range x {
		two[i] = x[i][:2]
	}
	list, err := VarianceInflation(two, []string{"age", "maturity offset"}, [][]int{{0}, {1}})
	must(t, err)
	want := 1 / (1 - math.Pow(stat.Correlation(a, b, nil), 2))
	for _, v := range list {
		if !near(v.Factor, want, 1e-10*want) {
			t.Errorf("%s: factor %v, 1/(1−r²) is %v", v.Term, v.Factor, want)
		}
	}
	groups := [][]int{{0}, {1}, {2, 3}}
	names := []string{"age", "maturity offset", "site"}
	list, err = VarianceInflation(x, names, groups)
	must(t, err)
	again, err := VarianceInflation(other, names, groups)
	must(t, err)
	for i := range list {
		if !near(list[i].Factor, again[i].Factor, 1e-10*list[i].Factor) {
			t.Errorf("%s: factor %v, with another reference level %v", names[i], list[i].Factor, again[i].Factor)
		}
	}
	// R² of age on the others, from the linear regression.
	rest := make([][]float64, len(x))
	for i := range x {
		rest[i] = x[i][1:]
	}
	f, err := FitLinear(rest, []string{"offset", "one", "two"}, a, GLMOptions{})
	must(t, err)
	if want := 1 / (1 - f.RSquared); !near(list[0].Factor, want, 1e-9*want) {
		t.Errorf("age: factor %v, 1/(1−R²) is %v", list[0].Factor, want)
	}
	for i := range x {
		x[i][1] = 2*x[i][0] + 1
	}
	if _, err := VarianceInflation(x, names, groups); !errors.Is(err, ErrCollinear) {
		t.Errorf("a copy of a column: %v", err)
	}
	if _, err := VarianceInflation(nil, nil, nil); !errors.Is(err, ErrNoData) {
		t.Errorf("no rows: %v", err)
	}
}
