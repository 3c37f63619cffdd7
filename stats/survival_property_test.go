package stats

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// A change that must not matter, made to a data set.
type survivalChange struct {
	name  string
	apply func(r *rand.Rand, c survivalCase) survivalCase
	unit  float64 // of the new time scale, in the old one
	grown bool    // whether rows or censorings are added
}

func (c survivalCase) pick(rows []int) survivalCase {
	out := survivalCase{}
	for _, i := range rows {
		out.Entry = append(out.Entry, c.Entry[i])
		out.Exit = append(out.Exit, c.Exit[i])
		out.Status = append(out.Status, c.Status[i])
		out.Group = append(out.Group, c.Group[i])
		out.Stratum = append(out.Stratum, c.Stratum[i])
		out.Cluster = append(out.Cluster, c.Cluster[i])
		out.X = append(out.X, slices.Clone(c.X[i]))
	}
	return out
}

var survivalChanges = []survivalChange{
	{name: "row order", unit: 1, apply: func(r *rand.Rand, c survivalCase) survivalCase {
		return c.pick(r.Perm(len(c.Exit)))
	}},
	{name: "time scale", unit: 7, apply: func(_ *rand.Rand, c survivalCase) survivalCase {
		for i := range c.Exit {
			c.Entry[i] /= 7
			c.Exit[i] /= 7
		}
		return c
	}},
	{name: "rows at risk at no event", unit: 1, grown: true, apply: func(_ *rand.Rand, c survivalCase) survivalCase {
		events := []float64{}
		for i, s := range c.Status {
			if s == 1 {
				events = append(events, c.Exit[i])
			}
		}
		slices.Sort(events)
		last := events[len(events)-1]
		for i := range 5 {
			extra := c.pick([]int{0})
			extra.Entry[0], extra.Exit[0], extra.Status[0] = last, last+1+float64(i), 0
			if i%2 == 0 { // or between two events
				extra.Entry[0], extra.Exit[0] = events[0], math.Nextafter(events[0], 1e9)
			}
			for j := range extra.X[0] {
				extra.X[0][j] = 1e6
			}
			c = join(c, extra)
		}
		return c
	}},
	{name: "rows split in two", unit: 1, grown: true, apply: func(_ *rand.Rand, c survivalCase) survivalCase {
		for i := range len(c.Exit) {
			middle := math.Floor((c.Entry[i] + c.Exit[i]) / 2)
			if middle == c.Entry[i] {
				continue
			}
			extra := c.pick([]int{i})
			extra.Entry[0] = middle
			c.Exit[i], c.Status[i] = middle, 0
			c = join(c, extra)
		}
		return c
	}},
}

func join(a, b survivalCase) survivalCase {
	return survivalCase{
		Entry: append(a.Entry, b.Entry...), Exit: append(a.Exit, b.Exit...), Status: append(a.Status, b.Status...),
		Group: append(a.Group, b.Group...), Stratum: append(a.Stratum, b.Stratum...),
		Cluster: append(a.Cluster, b.Cluster...), X: append(a.X, b.X...),
	}
}

func (c survivalCase) clone() survivalCase {
	rows := make([]int, len(c.Exit))
	for i := range rows {
		rows[i] = i
	}
	return c.pick(rows)
}

func TestSurvivalProperties(t *testing.T) {
	for _, change := range survivalChanges {
		t.Run(change.name, func(t *testing.T) {
			r := rand.New(rand.NewPCG(5, 5))
			for i := range 40 {
				old := randomCase(r, 20+r.IntN(30), i%2 == 0)
				changed := change.apply(r, old.clone())
				sameCurve(t, old, changed, change)
				sameLogRank(t, old, changed)
				sameCox(t, old, changed)
			}
		})
	}
}

func sameCurve(t *testing.T, old, changed survivalCase, change survivalChange) {
	t.Helper()
	a, b := mustCurve(t, old.times(), CurveOptions{}), mustCurve(t, changed.times(), CurveOptions{})
	if !change.grown && len(a.Time) != len(b.Time) {
		t.Errorf("%d steps became %d", len(a.Time), len(b.Time))
	}
	for i, at := range a.Time {
		if a.Events[i] == 0 {
			continue
		}
		got := b.At(at / change.unit)
		if !near(got.Survival, a.Survival[i], 1e-13) || !near(got.SE, a.SE[i], 1e-13) || !near(got.Lower, a.Lower[i], 1e-12) || got.AtRisk != a.AtRisk[i] {
			t.Errorf("at %v: %+v, was %v %v %v %d", at, got, a.Survival[i], a.SE[i], a.Lower[i], a.AtRisk[i])
		}
	}
	if x, y := a.Quantile(0.5).Value, b.Quantile(0.5).Value*change.unit; !near(y, x, 1e-13) {
		t.Errorf("median %v became %v", x, y)
	}
}

func sameLogRank(t *testing.T, old, changed survivalCase) {
	t.Helper()
	for _, strata := range []bool{false, true} {
		var oldOpts, newOpts LogRankOptions
		if strata {
			oldOpts.Strata, newOpts.Strata = old.Stratum, changed.Stratum
		}
		a, errA := LogRank(old.times(), old.Group, 3, oldOpts)
		b, errB := LogRank(changed.times(), changed.Group, 3, newOpts)
		if errA != nil || errB != nil {
			t.Errorf("%v, then %v", errA, errB)
			continue
		}
		if !near(a.Test.Statistic, b.Test.Statistic, 1e-11) || a.Test.DF != b.Test.DF {
			t.Errorf("log-rank %v on %v became %v on %v", a.Test.Statistic, a.Test.DF, b.Test.Statistic, b.Test.DF)
		}
	}
}

// Iterations end within rounding of the maximum, so coefficients agree to
// 1e-9.
func sameCox(t *testing.T, old, changed survivalCase) {
	t.Helper()
	a, errA := FitCox(old.times(), old.X, old.terms(), CoxOptions{Cluster: old.Cluster})
	b, errB := FitCox(changed.times(), changed.X, changed.terms(), CoxOptions{Cluster: changed.Cluster})
	if errA != nil || errB != nil {
		if errB == nil || errA == nil || !errors.Is(errB, errors.Unwrap(errA)) {
			t.Errorf("%v, then %v", errA, errB)
		}
		return
	}
	if !near(a.LogLik, b.LogLik, 1e-11) {
		t.Errorf("log likelihood %v became %v", a.LogLik, b.LogLik)
	}
	for j := range a.Coefficients {
		if !near(a.Coefficients[j], b.Coefficients[j], 1e-9) || !near(a.SE[j], b.SE[j], 1e-9) || !near(a.ModelSE[j], b.ModelSE[j], 1e-9) {
			t.Errorf("term %d: %v (%v, %v) became %v (%v, %v)", j,
				a.Coefficients[j], a.SE[j], a.ModelSE[j], b.Coefficients[j], b.SE[j], b.ModelSE[j])
		}
	}
}

// Shifting or scaling a covariate only moves its coefficient.
func TestCoxCovariateScale(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 6))
	for range 20 {
		c := randomCase(r, 40, true)
		a, err := FitCox(c.times(), c.X, c.terms(), CoxOptions{})
		if err != nil {
			continue
		}
		for i := range c.X {
			c.X[i][0] = 1e6 + 1000*c.X[i][0]
		}
		b := mustCox(t, c.times(), c.X, c.terms(), CoxOptions{})
		if !near(a.Coefficients[0], 1000*b.Coefficients[0], 1e-8) || !near(a.SE[0], 1000*b.SE[0], 1e-8) || !near(a.LogLik, b.LogLik, 1e-9) {
			t.Errorf("%v (%v) became %v (%v)", a.Coefficients[0], a.SE[0], 1000*b.Coefficients[0], 1000*b.SE[0])
		}
	}
}

// One binary covariate and no ties: the score test is the log-rank test.
func TestCoxScoreIsLogRank(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 8))
	var rows Times
	var group []int
	var x [][]float64
	for i := range 50 {
		g := i % 2
		entry := r.Float64()
		rows.Entry = append(rows.Entry, entry)
		rows.Exit = append(rows.Exit, entry+r.ExpFloat64())
		rows.Status = append(rows.Status, r.IntN(3) > 0)
		group = append(group, g)
		x = append(x, []float64{float64(g)})
	}
	f := mustCox(t, rows, x, []string{"group"}, CoxOptions{})
	lr, err := LogRank(rows, group, 2, LogRankOptions{})
	if err != nil || !near(f.Tests[2].Statistic, lr.Test.Statistic, 1e-12) {
		t.Errorf("score test %v, log-rank %v, %v", f.Tests[2].Statistic, lr.Test.Statistic, err)
	}
}
