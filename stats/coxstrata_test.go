package stats

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
)

// sameFit compares fits that must agree. Iterations end within rounding of the
// maximum.
func sameFit(t *testing.T, what string, got, want Fit) {
	t.Helper()
	if !near(got.LogLik, want.LogLik, 1e-11) || !near(got.NullLogLik, want.NullLogLik, 1e-11) {
		t.Errorf("%s: log likelihoods %v %v, want %v %v", what, got.NullLogLik, got.LogLik, want.NullLogLik, want.LogLik)
	}
	for j := range want.Coefficients {
		if !near(got.Coefficients[j], want.Coefficients[j], 1e-9) || !near(got.SE[j], want.SE[j], 1e-9) || !near(got.ModelSE[j], want.ModelSE[j], 1e-9) {
			t.Errorf("%s: term %d: %v (%v, %v), want %v (%v, %v)", what, j,
				got.Coefficients[j], got.SE[j], got.ModelSE[j], want.Coefficients[j], want.SE[j], want.ModelSE[j])
		}
	}
	for i := range want.Tests {
		if !near(got.Tests[i].Statistic, want.Tests[i].Statistic, 1e-8) {
			t.Errorf("%s: %s %v, want %v", what, want.Tests[i].Name, got.Tests[i].Statistic, want.Tests[i].Statistic)
		}
	}
}

// eachCoxCase calls f for random data sets that have a fit, with every way to
// handle ties.
func eachCoxCase(t *testing.T, seed uint64, f func(r *rand.Rand, c coxCase, fit Fit)) {
	t.Helper()
	r := rand.New(rand.NewPCG(seed, 5))
	done := 0
	for i := range 90 {
		c := randomCoxCase(r, 25+r.IntN(40), []string{TiesEfron, TiesBreslow, TiesExact}[i%3])
		fit, err := FitCox(c.times(), c.X, c.terms(), c.options())
		if err != nil {
			continue // refusals are compared with R
		}
		done++
		f(r, c, fit)
	}
	if done < 60 {
		t.Errorf("only %d of 90 data sets had a fit", done)
	}
}

func TestCoxOneStratum(t *testing.T) {
	eachCoxCase(t, 1, func(_ *rand.Rand, c coxCase, _ Fit) {
		opts := c.options()
		opts.Strata = nil
		plain, errPlain := FitCox(c.times(), c.X, c.terms(), opts)
		opts.Strata = make([]int, len(c.X))
		for i := range opts.Strata {
			opts.Strata[i] = 42
		}
		one, err := FitCox(c.times(), c.X, c.terms(), opts)
		if err != nil || errPlain != nil {
			if err == nil || errPlain == nil {
				t.Errorf("%v, without strata %v", err, errPlain)
			}
			return
		}
		sameFit(t, "one stratum", one, plain)
		if one.Strata != 1 || plain.Strata != 0 {
			t.Errorf("%d and %d strata", one.Strata, plain.Strata)
		}
	})
}

// Strata far apart in time are risk sets of their own without being strata.
func TestCoxStrataAreApart(t *testing.T) {
	eachCoxCase(t, 2, func(_ *rand.Rand, c coxCase, fit Fit) {
		if c.Stratum == nil {
			return
		}
		rows := c.times()
		apart := Times{Status: rows.Status}
		for i, s := range c.Stratum {
			apart.Entry = append(apart.Entry, rows.entry(i)+1000*float64(s))
			apart.Exit = append(apart.Exit, rows.Exit[i]+1000*float64(s))
		}
		opts := c.options()
		opts.Strata = nil
		sameFit(t, "strata apart in time", mustCox(t, apart, c.X, c.terms(), opts), fit)
	})
}

func TestCoxOffsetShifted(t *testing.T) {
	eachCoxCase(t, 3, func(_ *rand.Rand, c coxCase, fit Fit) {
		opts := c.options()
		opts.Offset = make([]float64, len(c.X))
		for i := range c.X {
			opts.Offset[i] = -800
			if c.Stratum != nil {
				opts.Offset[i] += 500 * float64(c.Stratum[i])
			}
			if c.Offset != nil {
				opts.Offset[i] += c.Offset[i]
			}
		}
		sameFit(t, "offset shifted", mustCox(t, c.times(), c.X, c.terms(), opts), fit)
	})
}

// An offset that is a covariate's own part takes as much from its coefficient.
func TestCoxOffsetIsPartOfPredictor(t *testing.T) {
	eachCoxCase(t, 4, func(_ *rand.Rand, c coxCase, fit Fit) {
		opts := c.options()
		opts.Offset = make([]float64, len(c.X))
		for i, row := range c.X {
			opts.Offset[i] = 0.7 * row[0]
			if c.Offset != nil {
				opts.Offset[i] += c.Offset[i]
			}
		}
		f := mustCox(t, c.times(), c.X, c.terms(), opts)
		if !near(f.Coefficients[0], fit.Coefficients[0]-0.7, 1e-9) || !near(f.SE[0], fit.SE[0], 1e-9) || !near(f.LogLik, fit.LogLik, 1e-11) {
			t.Errorf("coefficient %v (%v), want %v (%v) less 0.7", f.Coefficients[0], f.SE[0], fit.Coefficients[0], fit.SE[0])
		}
	})
}

// With Breslow's ties rows given k times are rows of weight k: to the model's
// own errors, and to the robust ones where a row and its copies are a cluster.
func TestCoxDuplicatedRows(t *testing.T) {
	eachCoxCase(t, 5, func(r *rand.Rand, c coxCase, _ Fit) {
		if c.Ties != TiesBreslow {
			return
		}
		var often coxCase
		often.Ties, c.Weight, c.Cluster = c.Ties, nil, nil
		for i := range c.X {
			k := 1 + r.IntN(3)
			c.Weight = append(c.Weight, float64(k))
			c.Cluster = append(c.Cluster, i/2)
			for range k {
				if c.Entry != nil {
					often.Entry = append(often.Entry, c.Entry[i])
				}
				often.Exit = append(often.Exit, c.Exit[i])
				often.Status = append(often.Status, c.Status[i])
				often.X = append(often.X, c.X[i])
				often.Cluster = append(often.Cluster, i/2)
				if c.Stratum != nil {
					often.Stratum = append(often.Stratum, c.Stratum[i])
				}
				if c.Offset != nil {
					often.Offset = append(often.Offset, c.Offset[i])
				}
			}
		}
		want, errWant := FitCox(often.times(), often.X, often.terms(), often.options())
		got, err := FitCox(c.times(), c.X, c.terms(), c.options())
		if err != nil || errWant != nil {
			if err == nil || errWant == nil {
				t.Errorf("%v, duplicated %v", err, errWant)
			}
			return
		}
		sameFit(t, "weights", got, want)
	})
}

// The unit of weights changes neither coefficients nor robust errors, and
// without clusters rows are clusters of one.
func TestCoxWeightsUnit(t *testing.T) {
	eachCoxCase(t, 6, func(_ *rand.Rand, c coxCase, fit Fit) {
		if c.Weight == nil {
			return
		}
		opts := c.options()
		opts.Weights = slices.Clone(c.Weight)
		for i := range opts.Weights {
			opts.Weights[i] *= 1e-9
		}
		if opts.Cluster == nil {
			for i := range c.X {
				opts.Cluster = append(opts.Cluster, -i)
			}
			if fit.Clusters != len(c.X) || !strings.Contains(fit.Robust, "rows independent") {
				t.Errorf("%d clusters, %q", fit.Clusters, fit.Robust)
			}
		}
		f := mustCox(t, c.times(), c.X, c.terms(), opts)
		for j := range f.Coefficients {
			if !near(f.Coefficients[j], fit.Coefficients[j], 1e-9) || !nearRelative(f.SE[j], fit.SE[j], 1e-9) ||
				!nearRelative(f.ModelSE[j], fit.ModelSE[j]*math.Sqrt(1e9), 1e-9) {
				t.Errorf("%v (%v, %v) became %v (%v, %v)", fit.Coefficients[j], fit.SE[j], fit.ModelSE[j], f.Coefficients[j], f.SE[j], f.ModelSE[j])
			}
		}
		if !nearRelative(f.Tests[0].Statistic, 1e-9*fit.Tests[0].Statistic, 1e-7) || !nearRelative(f.Tests[2].Statistic, 1e-9*fit.Tests[2].Statistic, 1e-7) {
			t.Errorf("tests %v became %v", fit.Tests, f.Tests)
		}
		if !hasWarning(f.Tests[0].Warnings, "assumes-counts") {
			t.Errorf("%+v", f.Tests[0])
		}
	})
}

// The score is 0 at the fit: as the likelihood's slope, and summed over rows.
func TestCoxScoreIsZero(t *testing.T) {
	eachCoxCase(t, 7, func(_ *rand.Rand, c coxCase, fit Fit) {
		m := newCoxModel(c.times(), c.X, c.options())
		scaledBeta := make([]float64, len(fit.Coefficients))
		for j, b := range fit.Coefficients {
			scaledBeta[j] = b * m.scale[j]
		}
		_, gradient, _ := m.likelihood(scaledBeta)
		for j, g := range gradient {
			if math.Abs(g) > 1e-7 {
				t.Errorf("%s: slope %v of term %d", c.Ties, g, j)
			}
		}
		if c.Ties == TiesExact {
			return
		}
		sums := make([]float64, len(gradient))
		for _, row := range m.scoreResiduals(scaledBeta) {
			for j, u := range row {
				sums[j] += u
			}
		}
		for j := range sums {
			if !near(sums[j], gradient[j], 1e-10) {
				t.Errorf("%s: residuals add up to %v, slope %v", c.Ties, sums[j], gradient[j])
			}
		}
	})
}

// The three pairs as strata on one clock, by hand as without: r²/(1+r)³.
func TestFitCoxStrataByHand(t *testing.T) {
	rows := Times{Exit: []float64{1, 1, 1, 1, 1, 1}, Status: pairRows.Status}
	for _, ties := range []string{TiesEfron, TiesBreslow, TiesExact} {
		f := mustCox(t, rows, pairX, []string{"x"}, CoxOptions{Ties: ties, Strata: []int{3, 3, -9, -9, 5, 5}})
		if !near(f.Coefficients[0], math.Ln2, 1e-12) || !near(f.SE[0], math.Sqrt(1.5), 1e-12) || !near(f.LogLik, math.Log(4.0/27), 1e-12) {
			t.Errorf("%s: %v (%v), log likelihood %v", ties, f.Coefficients[0], f.SE[0], f.LogLik)
		}
	}
}

// Two pairs: in one, of weight 3, x = 1 has the event, in the other, of weight 1,
// x = 0: up to a constant 3 log(r/(1+r)) - log(1+r), greatest at r = 3. The
// information is (3+1) · 3/4 · 1/4 = 3/4. The pairs' scores are 3 (1 - 3/4) and
// -3/4: the robust variance is (4/3)² · 2 · (3/4)² = 2.
func TestFitCoxWeightsByHand(t *testing.T) {
	rows := Times{Exit: []float64{1, 2, 1, 2}, Status: []bool{true, false, true, false}}
	x := columns([]float64{1, 0, 0, 1})
	for _, unit := range []float64{1, 0.25} {
		f := mustCox(t, rows, x, []string{"x"}, CoxOptions{
			Strata: []int{1, 1, 2, 2}, Cluster: []int{1, 1, 2, 2}, Weights: []float64{3 * unit, 3 * unit, unit, unit},
		})
		if !near(f.Coefficients[0], math.Log(3), 1e-12) || !near(f.Covariance[0][0], 2, 1e-12) || !near(f.ModelSE[0], math.Sqrt(4.0/3/unit), 1e-12) {
			t.Errorf("%v, robust variance %v, SE %v", f.Coefficients[0], f.Covariance[0][0], f.ModelSE[0])
		}
	}
}

func TestFitCoxStrataRefused(t *testing.T) {
	rows := Times{
		Exit:   []float64{1, 2, 3, 4, 5, 6, 7, 8},
		Status: []bool{true, true, true, true, true, true, false, false},
	}
	mixed := []float64{1, 0, 1, 0, 1, 0, 0, 1}
	halves := []int{0, 0, 0, 0, 1, 1, 1, 1}
	byHalf := []float64{7, 7, 7, 7, 9, 9, 9, 9}
	// Constant in the one stratum and, in the other, after its only event.
	apart := []float64{1, 1, 1, 1, 2, 2, 3, 3}
	// In each stratum the lowest come first, though the second's lie higher.
	order := []float64{1, 2, 3, 4, 1, 2, 3, 4}
	weights := func(at int, w float64) []float64 {
		out := ones(8)
		out[at] = w
		return out
	}
	inOrder := make([]bool, 8)
	inOrder[0], inOrder[4] = true, true
	for _, c := range []struct {
		name string
		rows Times
		x    [][]float64
		opts CoxOptions
		want error
		text string
	}{
		{"one value a stratum", rows, columns(mixed, byHalf), CoxOptions{Strata: halves}, ErrCollinear, `"b" has one value within each stratum`},
		{"combination within strata", rows, columns(mixed, []float64{2, 0, 2, 0, 7, 5, 5, 7}), CoxOptions{Strata: halves}, ErrCollinear, `"b" is a combination of "a"`},
		{"one value in strata with events", Times{Exit: rows.Exit, Status: []bool{true, true, true, false, false, false, false, false}}, columns(mixed, apart), CoxOptions{Strata: halves}, ErrCollinear, `"b" has one value`},
		{"order within strata", Times{Exit: rows.Exit, Status: inOrder}, columns(order), CoxOptions{Strata: halves}, ErrSeparation, `"a"`},
		{"exact order", Times{Exit: rows.Exit, Status: inOrder}, columns(order), CoxOptions{Strata: halves, Ties: TiesExact}, ErrSeparation, `"a"`},
		{"weighted separation", rows, columns(order), CoxOptions{Strata: halves, Weights: weights(3, 1e-3)}, ErrSeparation, `"a"`},
		{"zero weight", rows, columns(mixed), CoxOptions{Weights: weights(2, 0)}, ErrNotPositive, "1 of 8 rows (row 3)"},
		{"negative weight", rows, columns(mixed), CoxOptions{Weights: weights(7, -1)}, ErrNotPositive, "row 8"},
		{"infinite weight", rows, columns(mixed), CoxOptions{Weights: weights(0, math.Inf(1))}, ErrNotFinite, "weights"},
		{"missing weight", rows, columns(mixed), CoxOptions{Weights: weights(0, math.NaN())}, ErrNotFinite, "weights"},
		{"missing offset", rows, columns(mixed), CoxOptions{Offset: weights(1, math.NaN())}, ErrNotFinite, "offsets"},
		{"clusters", rows, columns(mixed), CoxOptions{Strata: halves, Cluster: make([]int, 8)}, ErrTooFewClusters, "found 1"},
	} {
		terms := []string{"a", "b"}[:len(c.x[0])]
		f, err := FitCox(c.rows, c.x, terms, c.opts)
		if !errors.Is(err, c.want) || !strings.Contains(err.Error(), c.text) {
			t.Errorf("%s: %v (%v), want %v saying %q", c.name, err, f.Coefficients, c.want, c.text)
		}
	}
	// Separated if taken together, not within strata.
	together := []float64{1, 4, 2, 3, 11, 14, 12, 13}
	late := Times{Exit: rows.Exit, Status: []bool{true, true, true, false, true, true, false, false}}
	mustCox(t, late, columns(together), []string{"a"}, CoxOptions{Strata: halves})
}
