package stats

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// Without censoring and late entry a curve is the share of rows with a later
// time, with the binomial error; the median is the rows' own (the lower of two);
// the mean up to a horizon is the rows' mean of the time or the horizon; and the
// cumulative hazard is the sum of one over the rows still there, tied ones taken
// together.
func TestCurvesOfCompleteDataAreEmpirical(t *testing.T) {
	r := rand.New(rand.NewPCG(33, 6))
	for i := range 200 {
		n := 3 + r.IntN(60)
		var rows Times
		for range n {
			rows.Exit, rows.Status = append(rows.Exit, float64(1+r.IntN(3+i))), append(rows.Status, true)
		}
		if i%2 == 0 { // an entry at 0 is none
			rows.Entry = make([]float64, n)
		}
		sorted := slices.Sorted(slices.Values(rows.Exit))
		c := mustCurve(t, rows, CurveOptions{})
		h, err := NelsonAalen(rows, CurveOptions{})
		must(t, err)
		hazard := 0.0
		for k, at := range c.Time {
			later := 0.0
			before := 0.0
			for _, x := range sorted {
				if x > at {
					later++
				}
				if x >= at {
					before++
				}
			}
			hazard += (before - later) / before
			share := later / float64(n)
			if se := math.Sqrt(share * (1 - share) / float64(n)); !near(c.Survival[k], share, 1e-12) || share > 0 && !near(c.SE[k], se, 1e-12) {
				t.Fatalf("at %v: %v (%v), want %v (%v)", at, c.Survival[k], c.SE[k], share, se)
			}
			if !near(h.Hazard[k], hazard, 1e-12) {
				t.Fatalf("at %v: hazard %v, want %v", at, h.Hazard[k], hazard)
			}
		}
		if median := c.Quantile(0.5).Value; median != sorted[(n-1)/2] {
			t.Errorf("median %v of %v", median, sorted)
		}
		horizon := 0.5 + sorted[n/2]
		sum, squares := 0.0, 0.0
		for _, x := range sorted {
			sum += math.Min(x, horizon)
			squares += math.Min(x, horizon) * math.Min(x, horizon)
		}
		mean := sum / float64(n)
		se := math.Sqrt(math.Max(0, squares/float64(n)-mean*mean) / float64(n))
		if got := c.RestrictedMean(horizon); !near(got.Value, mean, 1e-12) || sorted[n-1] > horizon && !near(got.SE, se, 1e-7) {
			t.Errorf("mean up to %v: %v (%v), want %v (%v)", horizon, got.Value, got.SE, mean, se)
		}
	}
}

// Every row twice with half the weight, both copies of its child, is the row:
// curves, Cox models with Breslow's ties and occupancies, with their errors.
func TestTwoCopiesOfHalfTheWeight(t *testing.T) {
	r := rand.New(rand.NewPCG(34, 6))
	models := 0
	for i := range 60 {
		c := randomIdentityCase(r, 30+r.IntN(40), i%2 == 0)
		n := len(c.exit)
		weight := make([]float64, n)
		for k := range weight {
			weight[k] = 0.3 + r.Float64()
		}
		twice := c.pick(append(everyRowItself(n), everyRowItself(n)...))
		half := append(scaledBy(weight, 0.5), scaledBy(weight, 0.5)...)
		times, doubled := c.competing().onlyCause(1), twice.competing().onlyCause(1)
		one := mustCurve(t, times, CurveOptions{Weights: weight, Cluster: c.cluster})
		two := mustCurve(t, doubled, CurveOptions{Weights: half, Cluster: twice.cluster})
		for k, at := range one.Time {
			if two.Time[k] != at || !near(two.Survival[k], one.Survival[k], 1e-12) || !near(two.SE[k], one.SE[k], 1e-8) {
				t.Fatalf("at %v: %v (%v), want %v (%v)", at, two.Survival[k], two.SE[k], one.Survival[k], one.SE[k])
			}
		}
		// Without weights at all a curve of copies is the curve.
		plain, copies := mustCurve(t, times, CurveOptions{}), mustCurve(t, doubled, CurveOptions{})
		for k := range plain.Time {
			if !near(copies.Survival[k], plain.Survival[k], 1e-12) || plain.Survival[k] > 0 && !near(copies.SE[k], plain.SE[k]/math.Sqrt2, 1e-12) {
				t.Fatalf("copies: %v (%v), want %v (%v over √2)", copies.Survival[k], copies.SE[k], plain.Survival[k], plain.SE[k])
			}
		}
		opts := CoxOptions{Ties: TiesBreslow, Weights: weight, Cluster: c.cluster, Strata: c.stratum}
		want, err := FitCox(times, c.x, []string{"a", "b"}, opts)
		opts.Weights, opts.Cluster, opts.Strata = half, twice.cluster, twice.stratum
		got, err2 := FitCox(doubled, twice.x, []string{"a", "b"}, opts)
		if (err == nil) != (err2 == nil) {
			t.Errorf("%v, twice %v", err, err2)
		}
		if err == nil && err2 == nil {
			models++
			for j := range want.Coefficients {
				if !near(got.Coefficients[j], want.Coefficients[j], 1e-9) || !near(got.SE[j], want.SE[j], 1e-9) {
					t.Errorf("%v (%v), twice %v (%v)", want.Coefficients, want.SE, got.Coefficients, got.SE)
				}
			}
		}
	}
	if models < 40 {
		t.Errorf("only %d models", models)
	}
}

// Groups that change places change the sign of what compares them, and a
// covariate counted the other way round that of its coefficient.
func TestGroupsChangePlaces(t *testing.T) {
	eachIdentityCase(func(_ *rand.Rand, c identityCase) {
		times := c.competing().onlyCause(1)
		turned := make([]int, len(c.group))
		other := make([][]float64, len(c.group))
		group := make([]float64, len(c.group))
		for i, g := range c.group {
			turned[i], group[i], other[i] = 2-g, float64(g), []float64{1 - c.x[i][0], c.x[i][1]}
		}
		for _, cluster := range [][]int{nil, c.cluster} {
			opts := LogRankOptions{Cluster: cluster, Strata: c.stratum}
			up, err := LogRankTrend(times, c.group, 3, nil, opts)
			down, err2 := LogRankTrend(times, turned, 3, nil, opts)
			if err != nil || err2 != nil {
				t.Errorf("trend: %v, %v", err, err2)
			}
			if !near(up.Z, -down.Z, 1e-9) {
				t.Errorf("trend %v, turned %v", up.Z, down.Z)
			}
			f, err := FitCox(times, c.x, []string{"a", "b"}, CoxOptions{Cluster: cluster})
			g, err2 := FitCox(times, other, []string{"a", "b"}, CoxOptions{Cluster: cluster})
			if err == nil && err2 == nil && (!near(f.Coefficients[0], -g.Coefficients[0], 1e-9) || !near(f.Coefficients[1], g.Coefficients[1], 1e-9) || !near(f.SE[0], g.SE[0], 1e-9)) {
				t.Errorf("coefficients %v, turned %v", f.Coefficients, g.Coefficients)
			}
			var by, back RestrictedMeanOptions
			if cluster != nil {
				by.OneCluster, by.ZeroCluster = chosen(cluster, group, 2), chosen(cluster, group, 0)
				back.OneCluster, back.ZeroCluster = by.ZeroCluster, by.OneCluster
			}
			d, err := RestrictedMeanDifference(times.where(group, 2), times.where(group, 0), 6, by)
			e, err2 := RestrictedMeanDifference(times.where(group, 0), times.where(group, 2), 6, back)
			if (err == nil) != (err2 == nil) {
				t.Errorf("difference: %v, turned %v", err, err2)
			}
			if err == nil && (!near(d.Value, -e.Value, 1e-12) || !near(d.Lower, -e.Upper, 1e-9) || !near(d.P, e.P, 1e-9)) {
				t.Errorf("difference %+v, turned %+v", d, e)
			}
		}
	})
}

// Incidences, of any number of causes, and what is left sum to 1 with late entry,
// ties and clusters, and each is 0 to 1 and never falls; a cause split in two has
// incidences that add up to it.
func TestIncidencesSumToOne(t *testing.T) {
	r := rand.New(rand.NewPCG(35, 6))
	for i := range 200 {
		c := randomIdentityCase(r, 6+r.IntN(60), i%2 == 0)
		fine := slices.Clone(c.cause)
		for k, cause := range fine {
			if cause == 1 && r.IntN(2) == 0 {
				fine[k] = 3
			}
		}
		whole, err := CumulativeIncidence(c.competing(), 2, IncidenceOptions{Cluster: c.cluster})
		must(t, err)
		parts, err := CumulativeIncidence(CompetingTimes{c.entry, c.exit, fine}, 3, IncidenceOptions{Cluster: c.cluster})
		must(t, err)
		before := make([]float64, 3)
		for s := range parts.Time {
			sum := parts.EventFree[s]
			for k := range 3 {
				f := parts.Incidence[k][s]
				if f < before[k] || f < 0 || f > 1 {
					t.Fatalf("incidence %v after %v", f, before[k])
				}
				before[k] = f
				sum += f
			}
			if !near(sum, 1, 1e-12) || !near(parts.Incidence[0][s]+parts.Incidence[2][s], whole.Incidence[0][s], 1e-12) ||
				!near(parts.Incidence[1][s], whole.Incidence[1][s], 1e-12) || !near(parts.SE[1][s], whole.SE[1][s], 1e-8) {
				t.Fatalf("sum %v; causes 1 and 3 %v + %v, as one %v", sum, parts.Incidence[0][s], parts.Incidence[2][s], whole.Incidence[0][s])
			}
		}
	}
}

// At the fit of a subdistribution hazards model what rows add to the score sums
// to 0, with the weights' own error and without, so that errors by cluster are
// about nothing but the spread.
func TestFineGrayScoreIsZero(t *testing.T) {
	r := rand.New(rand.NewPCG(36, 6))
	fitted := 0
	for i := range 60 {
		c := randomIdentityCase(r, 40+r.IntN(40), i%2 == 0)
		f, err := FitFineGray(c.competing(), 1, c.x, []string{"a", "b"}, FineGrayOptions{KnownWeights: i%4 == 0})
		if errors.Is(err, ErrUnobserved) {
			continue
		}
		must(t, err)
		fitted++
		for j := range f.Coefficients {
			sum := 0.0
			for _, row := range f.fineGray.scores {
				sum += row[j]
			}
			if math.Abs(sum) > 1e-7 {
				t.Errorf("set %d: scores of term %d sum to %v", i, j, sum)
			}
		}
	}
	if fitted < 40 {
		t.Errorf("only %d fits", fitted)
	}
}

// The readings do change where the first event of the data is taken away, so that the tests above can fail.
func TestReadingsSeeChanges(t *testing.T) {
	c := randomIdentityCase(rand.New(rand.NewPCG(37, 6)), 60, true)
	was := c.readings(t, false)
	other := c.pick(everyRowItself(60))
	first := -1
	for i, cause := range c.cause {
		if cause == 1 && (first < 0 || c.exit[i] < c.exit[first]) {
			first = i
		}
	}
	other.cause[first] = 0
	is := map[string]float64{}
	for _, r := range other.readings(t, false) {
		is[r.name] = r.value
	}
	same := 0
	for _, r := range was {
		if v, known := is[r.name]; known && near(v, r.value, 1e-8) {
			same++
		}
	}
	if len(was) < 250 || same > len(was)/2 {
		t.Errorf("%d of %d readings did not see an event less", same, len(was))
	}
}

func scaledBy(values []float64, by float64) []float64 {
	out := make([]float64, len(values))
	for i, v := range values {
		out[i] = v * by
	}
	return out
}
