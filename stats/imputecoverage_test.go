package stats

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// TestImputeCoverage keeps a table of simulated logistic regressions whose
// covariates are missing at random, given the outcome and each other: bias and
// coverage of the pooled estimates beside those of complete rows.
func TestImputeCoverage(t *testing.T) {
	if testing.Short() {
		t.Skip("simulation")
	}
	const draws, n = 200, 300
	truth := []float64{0.7, 0.5} // log odds ratios of flat and age
	type tally struct{ sum, squares, covered, used float64 }
	var pooled, complete [2]tally
	for draw := range draws {
		r := rand.New(rand.NewPCG(uint64(draw), 2024))
		c := []ImputeColumn{{Name: "flat", Levels: 2}, {Name: "age"}, {Name: "pain", Levels: 2}}
		for range n {
			age := r.NormFloat64()
			flat, pain := 0.0, 0.0
			if r.Float64() < 1/(1+math.Exp(0.5-0.6*age)) {
				flat = 1
			}
			if r.Float64() < 1/(1+math.Exp(0.8-truth[0]*flat-truth[1]*age)) {
				pain = 1
			}
			seenFlat, seenAge := flat, age
			if r.Float64() < 0.1+0.35*pain {
				seenFlat = math.NaN()
			} else if r.Float64() < 0.1+0.25*pain {
				seenAge = math.NaN()
			}
			c[0].Values, c[1].Values, c[2].Values = append(c[0].Values, seenFlat), append(c[1].Values, seenAge), append(c[2].Values, pain)
		}
		fit := func(values [][]float64) Fit {
			var x [][]float64
			var y []bool
			for i := range n {
				if math.IsNaN(values[0][i]) || math.IsNaN(values[1][i]) {
					continue
				}
				x, y = append(x, []float64{values[0][i], values[1][i]}), append(y, values[2][i] == 1)
			}
			f, err := FitLogistic(x, []string{"flat", "age"}, y, GLMOptions{})
			must(t, err)
			return f
		}
		add := func(to *tally, e Estimate, truth float64) {
			to.sum += e.Value - truth
			to.squares += (e.Value - truth) * (e.Value - truth)
			to.used++
			if e.Lower <= truth && truth <= e.Upper {
				to.covered++
			}
		}
		f := fit([][]float64{c[0].Values, c[1].Values, c[2].Values})
		done, err := Impute(c, ImputeOptions{Imputations: 10, Cycles: 5, Seed: uint64(draw)})
		must(t, err)
		for j := range truth {
			add(&complete[j], f.Coefficient(j+1, 0.95), truth[j])
		}
		var b, v [2][]float64
		for _, values := range done.Values {
			f := fit(values)
			for j := range truth {
				b[j], v[j] = append(b[j], f.Coefficients[j+1]), append(v[j], f.SE[j+1]*f.SE[j+1])
			}
		}
		for j := range truth {
			p, err := PoolImputed(b[j], v[j], PooledOptions{CompleteDF: n - 3})
			must(t, err)
			add(&pooled[j], p.Estimate, truth[j])
		}
	}
	var out strings.Builder
	fmt.Fprintf(&out, "%d rows, %d draws; missing given the outcome; true log odds ratios %.1f and %.1f; level 0.95\n", n, draws, truth[0], truth[1])
	fmt.Fprintf(&out, "%-10s %-16s %8s %8s %8s\n", "term", "rows", "bias", "rmse", "covered")
	for j, term := range []string{"flat", "age"} {
		for _, k := range []struct {
			name string
			tally
		}{{"complete", complete[j]}, {"10 imputations", pooled[j]}} {
			fmt.Fprintf(&out, "%-10s %-16s %8.3f %8.3f %8.3f\n", term, k.name, k.sum/k.used, math.Sqrt(k.squares/k.used), k.covered/k.used)
			// Three standard errors of a coverage of 0.95 in as many draws.
			if k.name != "complete" && k.covered/k.used < 0.95-3*math.Sqrt(0.95*0.05/draws) {
				t.Errorf("%s: pooled limits cover %.3f", term, k.covered/k.used)
			}
		}
	}
	file := filepath.Join("testdata", "imputecoverage.txt")
	if *update {
		must(t, os.WriteFile(file, []byte(out.String()), 0o666))
		return
	}
	want, err := os.ReadFile(file)
	must(t, err)
	if diff := cmp.Diff(string(want), out.String()); diff != "" {
		t.Errorf("%s (-want +got):\n%s", file, diff)
	}
}
