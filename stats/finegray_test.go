package stats

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"heelcohort/stats/internal/published"
)

// TestFineGrayPublished is the tutorial of Putter, Fiocco and Geskus.
func TestFineGrayPublished(t *testing.T) {
	s := published.Load(t, "putter-fiocco-geskus-2007")
	causes := map[string]int{"censored": 0, "AIDS": 1, "SI": 2}
	data := CompetingTimes{Exit: s.Floats("years")}
	var x [][]float64
	for i, v := range s.Floats("ccr5_wm") {
		x = append(x, []float64{v})
		data.Cause = append(data.Cause, causes[s.Text("cause")[i]])
	}
	for cause, name := range map[int]string{1: "aids", 2: "si"} {
		own := Times{Exit: data.Exit}
		for _, c := range data.Cause {
			own.Status = append(own.Status, c == cause)
		}
		cs, err := FitCox(own, x, []string{"ccr5"}, CoxOptions{})
		must(t, err)
		s.Check("cs_"+name, cs.Coefficients[0])
		s.Check("cs_"+name+"_se", cs.SE[0])
		sd, err := FitFineGray(data, cause, x, []string{"ccr5"}, FineGrayOptions{})
		must(t, err)
		s.Check("sd_"+name, sd.Coefficients[0])
		s.Check("sd_"+name+"_se", sd.SE[0])
	}
}

// TestFineGrayByHand has one row ended otherwise, at 1, and one censored, at 2,
// with four at risk: from then the first counts 3/4. With θ = exp(b) the three
// denominators are 1+θ+1+3θ/4, θ+1+3θ/4 and 1+3θ/4.
func TestFineGrayByHand(t *testing.T) {
	data := CompetingTimes{Exit: []float64{1, 2, 3, 4, 5}, Cause: []int{2, 0, 1, 1, 1}}
	x := [][]float64{{1}, {0}, {0}, {1}, {0}}
	f, err := FitFineGray(data, 1, x, []string{"x"}, FineGrayOptions{})
	must(t, err)
	if want := -math.Log(3.75 * 2.75 * 1.75); !near(f.NullLogLik, want, 1e-14) {
		t.Errorf("log likelihood at 0 %v, want %v", f.NullLogLik, want)
	}
	low, high := -5.0, 5.0 // the root of the score
	for range 100 {
		b := (low + high) / 2
		th := math.Exp(b)
		if 1-1.75*th/(2+1.75*th)-1.75*th/(1+1.75*th)-0.75*th/(1+0.75*th) > 0 {
			low = b
		} else {
			high = b
		}
	}
	if !near(f.Coefficients[0], low, 1e-12) {
		t.Errorf("coefficient %v, want %v", f.Coefficients[0], low)
	}
	th := math.Exp(low)
	points, err := f.PredictedIncidence(nil, []float64{2.5, 4, 5, 6}, IncidenceOptions{})
	must(t, err)
	h := 1/(2+1.75*th) + 1/(1+1.75*th)
	if p := points[0]; p.Incidence != 0 || p.SE != 0 || !math.IsNaN(p.Lower) {
		t.Errorf("before the first end: %+v", p)
	}
	if p := points[1]; !near(p.Incidence, 1-math.Exp(-h), 1e-12) {
		t.Errorf("incidence %v, want %v", p.Incidence, 1-math.Exp(-h))
	}
	if p := points[2]; !near(p.Incidence, 1-math.Exp(-h-1/(1+0.75*th)), 1e-12) || !(p.Lower < p.Incidence && p.Incidence < p.Upper) {
		t.Errorf("%+v", p)
	}
	if !math.IsNaN(points[3].Incidence) {
		t.Errorf("after all were gone: %+v", points[3])
	}
	if !warned(f.Warnings, "few-events") || warned(f.Warnings, "known-weights") {
		t.Error(f.Warnings)
	}
}

func TestFineGrayRefuses(t *testing.T) {
	data := CompetingTimes{Exit: []float64{1, 2, 3, 4, 5, 6}, Cause: []int{1, 2, 1, 0, 1, 2}}
	x := [][]float64{{0.5}, {1}, {0}, {1}, {0.7}, {0.2}}
	column := func(values ...float64) (out [][]float64) {
		for _, v := range values {
			out = append(out, []float64{v})
		}
		return out
	}
	entries := func(entry ...float64) CompetingTimes { return CompetingTimes{entry, data.Exit, data.Cause} }
	for name, c := range map[string]struct {
		data CompetingTimes
		x    [][]float64
		opts FineGrayOptions
		want error
	}{
		"no rows":             {CompetingTimes{}, nil, FineGrayOptions{}, ErrNoData},
		"no end by the cause": {CompetingTimes{Exit: data.Exit, Cause: []int{2, 2, 0, 0, 2, 2}}, x, FineGrayOptions{}, ErrNoEvents},
		"a covariate is NaN":  {data, column(1, 2, math.NaN(), 4, 5, 6), FineGrayOptions{}, ErrNotFinite},
		"a time is infinite":  {CompetingTimes{Exit: []float64{1, 2, 3, 4, 5, math.Inf(1)}, Cause: data.Cause}, x, FineGrayOptions{}, ErrNotFinite},
		"entry after exit":    {entries(0, 0, 3, 0, 0, 0), x, FineGrayOptions{}, ErrEntryAfterExit},
		"one value":           {data, column(2, 2, 2, 2, 2, 2), FineGrayOptions{}, ErrCollinear},
		// Only the rows that ended otherwise differ from the ends, on one side.
		"separated":        {data, column(0, 1, 0, 0, 0, 1), FineGrayOptions{}, ErrSeparation},
		"one cluster":      {data, x, FineGrayOptions{Cluster: []int{1, 1, 1, 1, 1, 1}}, ErrTooFewClusters},
		"too few steps":    {data, x, FineGrayOptions{MaxIterations: 1}, ErrNotConverged},
		"pieces":           {entries(0, 0, 0, 0, 4, 0), x, FineGrayOptions{Cluster: []int{1, 2, 3, 4, 4, 5}}, ErrSplitRows},
		"nobody for a day": {entries(0, 0, 2, 2, 2, 2), x, FineGrayOptions{}, ErrUnobserved},
	} {
		if f, err := FitFineGray(c.data, 1, c.x, []string{"x"}, c.opts); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, coefficients %v, want %v", name, err, f.Coefficients, c.want)
		}
	}
	_, err := FitFineGray(data, 1, [][]float64{{1, 2}, {2, 4}, {0, 0}, {5, 10}, {2, 4}, {1, 2}}, []string{"a", "b"}, FineGrayOptions{})
	if !errors.Is(err, ErrCollinear) {
		t.Errorf("twice a column: %v", err)
	}
	// All who add to the score are in one cluster, where it adds up to nothing.
	early := CompetingTimes{Exit: []float64{1, 2, 3, 4, 5}, Cause: []int{0, 1, 1, 1, 0}}
	_, err = FitFineGray(early, 1, column(3, 1, 0, 2, 1), []string{"x"}, FineGrayOptions{Cluster: []int{1, 2, 2, 2, 2}})
	if !errors.Is(err, ErrNoVariance) {
		t.Errorf("one cluster has all: %v", err)
	}
	panics(t, "ties", func() { _, _ = FitFineGray(data, 1, x, []string{"x"}, FineGrayOptions{Ties: TiesExact}) })
	panics(t, "cause", func() { _, _ = FitFineGray(data, 0, x, []string{"x"}, FineGrayOptions{}) })
	panics(t, "rows of covariates", func() { _, _ = FitFineGray(data, 1, x[:3], []string{"x"}, FineGrayOptions{}) })
	panics(t, "no subdistribution", func() { _, _ = Fit{}.PredictedIncidence(nil, nil, IncidenceOptions{}) })
	f, err := FitFineGray(data, 1, x, []string{"x"}, FineGrayOptions{})
	must(t, err)
	panics(t, "2 covariates", func() { _, _ = f.PredictedIncidence([]float64{1, 2}, nil, IncidenceOptions{}) })
	for _, bad := range []float64{math.NaN(), 1e6} {
		if _, err := f.PredictedIncidence([]float64{math.Copysign(bad, f.Coefficients[0])}, []float64{3}, IncidenceOptions{}); !errors.Is(err, ErrNotFinite) {
			t.Errorf("incidence at %v: %v", bad, err)
		}
	}
}

// TestFineGrayLateEntry counts a row that ended at 2 otherwise more than once
// after many have entered: the chance of having entered before 2 is small.
func TestFineGrayLateEntry(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 7))
	data := CompetingTimes{Entry: []float64{0, 0, 0}, Exit: []float64{2, 40, 50}, Cause: []int{2, 1, 0}}
	x := [][]float64{{1}, {0}, {1}}
	for range 60 {
		data.Entry, data.Exit = append(data.Entry, 5), append(data.Exit, 6+math.Floor(30*r.Float64()))
		data.Cause, x = append(data.Cause, r.IntN(3)), append(x, []float64{r.NormFloat64()})
	}
	f, err := FitFineGray(data, 1, x, []string{"x"}, FineGrayOptions{})
	must(t, err)
	// At entry 5 there are 60 of 62 new: H(2-) is 2/62.
	if got := f.fineGray.model.heaviest(); !near(got, 31, 1e-12) {
		t.Errorf("largest weight %v, want 31", got)
	}
	if !warned(f.Warnings, "known-weights") || !warned(f.Warnings, "large-weights") {
		t.Error(f.Warnings)
	}
}

// Without other ends the model is Cox's, and its error is the robust one.
func TestFineGrayWithoutOthersIsCox(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 30))
	for i := range 60 {
		c := randomFineGray(r, 60, i%2 == 0)
		ones := make([]float64, 60)
		own := Times{Entry: c.Entry, Exit: c.Exit}
		for k := range c.Cause {
			c.Cause[k] = min(c.Cause[k], 1)
			own.Status = append(own.Status, c.Cause[k] == 1)
			ones[k] = 1
		}
		ties := []string{TiesEfron, TiesBreslow}[i/2%2]
		want, err := FitCox(own, c.X, c.terms(), CoxOptions{Ties: ties, Weights: ones, Cluster: c.Cluster})
		must(t, err)
		got, err := FitFineGray(c.times(), 1, c.X, c.terms(), FineGrayOptions{Ties: ties, Cluster: c.Cluster})
		if errors.Is(err, ErrSplitRows) {
			continue
		}
		must(t, err)
		hazards, err := want.CumulativeHazards(c.X[0])
		must(t, err)
		points, err := got.PredictedIncidence(c.X[0], hazards[0].Time, IncidenceOptions{})
		must(t, err)
		for k, p := range points {
			if !near(p.Incidence, 1-math.Exp(-hazards[0].Hazard[k]), 1e-12) {
				t.Errorf("set %d: incidence %v, want that of hazard %v", i, p.Incidence, hazards[0].Hazard[k])
			}
		}
		sameFineGray(t, i, got, want, 1)
	}
}

// A heel censored on the very day of its own clock on which its fellow's clock is
// when the child comes in is doubted and not refused, and the fit is that of the
// rows as they are; cut persons are refused.
func TestFineGrayMeetingRows(t *testing.T) {
	r := rand.New(rand.NewPCG(12, 3))
	h := returnScene{children: 60, two: 0.5, fromOnset: 0.3}.draw(r, subdistributionReturns, 0)
	c := h.competing
	want, err := FitFineGray(c, 1, h.x(), []string{"shared", "own"}, FineGrayOptions{Cluster: h.child})
	must(t, err)
	if warned(want.Warnings, "split-rows") {
		t.Fatal("rows meet already")
	}
	// A censored row becomes a fellow of one that enters when it ends.
	child := slices.Clone(h.child)
	met := false
	for i, cause := range c.Cause {
		if j := slices.Index(c.Entry, c.Exit[i]); !met && cause == 0 && j >= 0 {
			child[i], met = child[j], true
		}
	}
	if !met { // none does: let it
		i, j := slices.Index(c.Cause, 0), slices.Index(c.Entry, slices.Max(c.Entry))
		c.Exit[i], child[i] = c.Entry[j], child[j]
	}
	got, err := FitFineGray(c, 1, h.x(), []string{"shared", "own"}, FineGrayOptions{Cluster: child})
	must(t, err)
	if !warned(got.Warnings, "split-rows") {
		t.Errorf("warnings %v", got.Warnings)
	}
	if met && got.Coefficients[0] != want.Coefficients[0] {
		t.Errorf("coefficient %v, want %v", got.Coefficients[0], want.Coefficients[0])
	}
	// One in ten rows cut in two, the pieces one cluster's.
	x := h.x()
	for i := range len(c.Exit) / 10 {
		middle := c.Entry[i] + 0.5
		c.Entry, c.Exit, c.Cause = append(c.Entry, middle), append(c.Exit, c.Exit[i]), append(c.Cause, c.Cause[i])
		c.Exit[i], c.Cause[i] = middle, 0
		child, x = append(child, child[i]), append(x, x[i])
	}
	if _, err := FitFineGray(c, 1, x, []string{"shared", "own"}, FineGrayOptions{Cluster: child}); !errors.Is(err, ErrSplitRows) {
		t.Errorf("pieces: %v", err)
	}
}

// Without censoring a row that ended otherwise is one that never ends.
func TestFineGrayWithoutCensoringIsCox(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 40))
	for i := range 30 {
		c := randomFineGray(r, 60, false)
		ones := make([]float64, 60)
		var own Times
		for k := range c.Cause {
			ones[k] = 1
			if c.Cause[k] == 0 {
				c.Cause[k] = 2
			}
			own.Status = append(own.Status, c.Cause[k] == 1)
			own.Exit = append(own.Exit, c.Exit[k])
			if c.Cause[k] != 1 {
				own.Exit[k] = 1000
			}
		}
		want, err := FitCox(own, c.X, c.terms(), CoxOptions{Weights: ones, Cluster: c.Cluster})
		must(t, err)
		got, err := FitFineGray(c.times(), 1, c.X, c.terms(), FineGrayOptions{Cluster: c.Cluster})
		must(t, err)
		sameFineGray(t, i, got, want, 1)
	}
}

// The order of rows, a clock that runs otherwise and the columns' origin change
// nothing, the columns' unit only the unit.
func TestFineGrayUnchanged(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 50))
	for i := range 30 {
		c := randomFineGray(r, 50, i%3 == 0)
		c.Cluster = nil
		want, err := FitFineGray(c.times(), 1, c.X, c.terms(), FineGrayOptions{})
		if errors.Is(err, ErrUnobserved) {
			continue
		}
		must(t, err)
		var d fineGrayCase
		for _, k := range r.Perm(50) {
			if c.Entry != nil {
				d.Entry = append(d.Entry, c.Entry[k]*c.Entry[k])
			}
			d.Exit, d.Cause = append(d.Exit, c.Exit[k]*c.Exit[k]), append(d.Cause, c.Cause[k])
			row := make([]float64, len(c.X[k]))
			for j, v := range c.X[k] {
				row[j] = 100*v + 7
			}
			d.X = append(d.X, row)
		}
		got, err := FitFineGray(d.times(), 1, d.X, d.terms(), FineGrayOptions{})
		must(t, err)
		sameFineGray(t, i, got, want, 100)
	}
}

// sameFineGray wants coefficients that differ by a unit of the columns.
func sameFineGray(t *testing.T, i int, got, want Fit, unit float64) {
	t.Helper()
	if !near(got.LogLik, want.LogLik, 1e-10) || !near(got.NullLogLik, want.NullLogLik, 1e-10) || got.Events != want.Events || got.N != want.N {
		t.Errorf("set %d: %+v, want %+v", i, got, want)
	}
	for j := range want.Coefficients {
		if !near(unit*got.Coefficients[j], want.Coefficients[j], 1e-8) || !near(unit*got.SE[j], want.SE[j], 1e-8) ||
			!near(unit*got.ModelSE[j], want.ModelSE[j], 1e-8) {
			t.Errorf("set %d: %v (%v, %v), want %v (%v, %v)", i, got.Coefficients, got.SE, got.ModelSE, want.Coefficients, want.SE, want.ModelSE)
		}
	}
}
