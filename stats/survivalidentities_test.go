package stats

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// An identityCase is a data set of competing ends: cause 1 of two is the event
// where a method knows one only. Days are whole, and few, so that many are tied.
type identityCase struct {
	entry, exit           []float64
	cause, group, cluster []int
	stratum               []int
	x                     [][]float64
	unit                  float64 // of time: 1 as drawn
}

func randomIdentityCase(r *rand.Rand, n int, late bool) identityCase {
	c := identityCase{unit: 1}
	days := 8 + r.IntN(30)
	for i := range n {
		entry := 0
		if late && i > 2 { // three are there from the start
			entry = max(0, r.IntN(days)-days/2)
		}
		c.entry = append(c.entry, float64(entry))
		c.exit = append(c.exit, float64(entry+1+r.IntN(days)))
		c.cause, c.group = append(c.cause, []int{0, 1, 1, 2}[r.IntN(4)]), append(c.group, i%3)
		c.cluster, c.stratum = append(c.cluster, i/2), append(c.stratum, r.IntN(2))
		c.x = append(c.x, []float64{float64(i % 2), r.NormFloat64()})
	}
	return c
}

func (c identityCase) pick(rows []int) identityCase {
	out := identityCase{unit: c.unit}
	for _, i := range rows {
		out.add(c, i, c.entry[i], c.exit[i], c.cause[i])
	}
	return out
}

// add appends a row of another case with times and an end of its own.
func (c *identityCase) add(from identityCase, i int, entry, exit float64, cause int) {
	c.entry, c.exit, c.cause = append(c.entry, entry), append(c.exit, exit), append(c.cause, cause)
	c.group, c.cluster, c.stratum = append(c.group, from.group[i]), append(c.cluster, from.cluster[i]), append(c.stratum, from.stratum[i])
	c.x = append(c.x, from.x[i])
}

func (c identityCase) competing() CompetingTimes { return CompetingTimes{c.entry, c.exit, c.cause} }

// A reading is one number that a method says of a data set; power is that of the
// unit of time in it.
type reading struct {
	name  string
	value float64
	power float64
}

// readings are what the methods say. Those that take rows for persons' whole time
// are left out where rows are pieces. An error is a reading too.
func (c identityCase) readings(t *testing.T, pieces bool) []reading {
	t.Helper()
	var all []reading
	say := func(name string, power float64, values ...float64) {
		for i, v := range values {
			all = append(all, reading{fmt.Sprintf("%s (%d)", name, i), v, power})
		}
	}
	fails := func(name string, err error) bool {
		if err == nil {
			return false
		}
		for _, known := range []error{ErrNoVariance, ErrBeyondData, ErrCollinear, ErrSeparation, ErrUnobserved, ErrNoEvents} {
			if errors.Is(err, known) {
				say(name+": "+known.Error(), 0, 1)
				return true
			}
		}
		t.Fatalf("%s: %v", name, err)
		return true
	}
	estimate := func(name string, power float64, e Estimate) { say(name, power, e.Value, e.Lower, e.Upper, e.SE) }
	times := c.competing().onlyCause(1)
	days := []float64{2, 5, 9, 14, 22}
	clusters := map[string][]int{"": nil, ", by child": c.cluster}
	if pieces {
		clusters = map[string][]int{", by child": c.cluster} // only so are they one child's
	}
	horizon := 8 * c.unit
	for _, words := range []string{"", ", by child"} {
		cluster, known := clusters[words]
		curve := mustCurve(t, times, CurveOptions{Cluster: cluster})
		if known || words == "" { // Greenwood's error is the same for pieces
			for _, day := range days {
				p := curve.At(day * c.unit)
				say(fmt.Sprintf("curve at %v%s", day, words), 0, p.Survival, p.SE, p.Lower, p.Upper)
			}
			q := curve.Quantile(0.5)
			say("median"+words, 1, q.Value, q.Lower, q.Upper)
			estimate("restricted mean"+words, 1, curve.RestrictedMean(horizon))
		}
		incidence, err := CumulativeIncidence(c.competing(), 2, IncidenceOptions{Cluster: cluster})
		if !fails("incidence", err) {
			for _, day := range days {
				for cause := 1; cause <= 2; cause++ {
					p := incidence.At(cause, day*c.unit)
					say(fmt.Sprintf("incidence %d at %v%s", cause, day, words), 0, p.Incidence, p.SE, p.Lower, p.Upper)
				}
			}
			q := incidence.Reaches(1, 0.3)
			say("time to an incidence"+words, 1, q.Value, q.Lower, q.Upper)
		}
		f, err := FitCox(times, c.x, []string{"a", "b"}, CoxOptions{Cluster: cluster, Strata: c.stratum})
		if !fails("hazard ratio"+words, err) {
			say("hazard ratio"+words, 0, append(slices.Clone(f.Coefficients), f.SE...)...)
			say("log likelihood"+words, 0, f.LogLik, f.NullLogLik)
		}
		for _, kind := range []WeightKind{EqualWeights, GehanBreslow, TaroneWare, PetoPeto} {
			opts := LogRankOptions{Weight: LogRankWeight{Kind: kind}, Cluster: cluster, Strata: c.stratum}
			test, err := LogRank(times, c.group, 3, opts)
			if !fails(opts.name()+words, err) {
				say(opts.name()+words, 0, test.Test.Statistic, test.Test.DF)
			}
		}
		c.readDifference(words, cluster, horizon, estimate, fails)
	}
	hazard, err := NelsonAalen(times, CurveOptions{})
	must(t, err)
	for _, day := range days {
		p := hazard.At(day * c.unit)
		say(fmt.Sprintf("hazard at %v", day), 0, p.Lower, p.Upper)
	}
	c.readOccupancy(t, days, horizon, say, fails)
	if !pieces {
		c.readWhole(days, horizon, say, fails)
	}
	return all
}

// readDifference says by how much restricted means of two of the groups differ.
func (c identityCase) readDifference(words string, cluster []int, horizon float64, estimate func(string, float64, Estimate), fails func(string, error) bool) {
	times, group := c.competing().onlyCause(1), make([]float64, len(c.group))
	for i, g := range c.group {
		group[i] = float64(g)
	}
	opts := RestrictedMeanOptions{}
	if cluster != nil {
		opts.OneCluster, opts.ZeroCluster = chosen(cluster, group, 1), chosen(cluster, group, 0)
	}
	e, err := RestrictedMeanDifference(times.where(group, 1), times.where(group, 0), horizon, opts)
	if !fails("difference of means"+words, err) {
		estimate("difference of means"+words, 1, e)
	}
}

// readOccupancy takes the ends for states; clusters are the children.
func (c identityCase) readOccupancy(t *testing.T, days []float64, horizon float64, say func(string, float64, ...float64), fails func(string, error) bool) {
	rows := StateTimes{ID: everyRowItself(len(c.exit)), Entry: c.entry, Exit: c.exit, From: make([]int, len(c.exit)), To: slices.Clone(c.cause)}
	for i, cause := range c.cause {
		if cause == 0 {
			rows.To[i] = StayedIn
		}
	}
	zero := 0.0
	o, err := StateOccupancy(rows, stateNames[:3], StateOptions{Cluster: c.cluster, From: &zero, Start: []float64{1, 0, 0}})
	if fails("occupancy", err) {
		return
	}
	for _, day := range days {
		for state := range 3 {
			p := o.At(state, day*c.unit)
			say(fmt.Sprintf("occupancy of %d at %v", state, day), 0, p.Occupancy, p.SE, p.Lower, p.Upper)
		}
	}
	for state, e := range o.TimeInStates(horizon) {
		say(fmt.Sprintf("time in state %d", state), 1, e.Value, e.Lower, e.Upper, e.SE)
	}
}

// readWhole are the methods that take a row for a person's whole time.
func (c identityCase) readWhole(days []float64, horizon float64, say func(string, float64, ...float64), fails func(string, error) bool) {
	for words, cluster := range map[string][]int{"": nil, ", by child": everyRowItself(len(c.exit))} {
		f, err := FitFineGray(c.competing(), 1, c.x, []string{"a", "b"}, FineGrayOptions{Cluster: cluster})
		if fails("subdistribution ratio"+words, err) {
			continue
		}
		say("subdistribution ratio"+words, 0, append(slices.Clone(f.Coefficients), f.SE...)...)
		p, err := f.PredictedIncidence([]float64{1, 0.3}, []float64{horizon}, IncidenceOptions{})
		if !fails("predicted incidence"+words, err) {
			say("predicted incidence"+words, 0, p[0].Incidence, p[0].Lower, p[0].Upper)
		}
	}
	if slices.Max(c.entry) == 0 {
		g, err := GrayTest(c.competing(), 1, c.group, 3, GrayOptions{Strata: c.stratum})
		if !fails("Gray's test", err) {
			say("Gray's test", 0, g.Test.Statistic)
		}
	}
	v := Intervals{}
	for i, exit := range c.exit {
		left, right := math.Max(0, exit-3*c.unit), exit
		if c.cause[i] != 1 {
			left, right = exit, math.Inf(1)
		}
		v.Left, v.Right = append(v.Left, left), append(v.Right, right)
	}
	curve, err := IntervalCensored(v)
	if fails("interval-censored curve", err) {
		return
	}
	for _, day := range days {
		least, largest := curve.At((day + 0.25) * c.unit)
		say(fmt.Sprintf("interval-censored curve at %v", day), 0, least, largest)
	}
	from, to, _ := curve.Quantile(0.3)
	say("interval-censored quantile", 1, from, to)
}

// sameReadings wants the same numbers, and times in the new unit. Sums in another
// order differ by some units in the last place, which are 1e-16, and Newton's last
// step squares what is left: 1e-12 is room for both.
func sameReadings(t *testing.T, what string, was, is []reading, unit float64) {
	t.Helper()
	byName := map[string]reading{}
	for _, r := range is {
		byName[r.name] = r
	}
	if len(was) != len(is) {
		t.Errorf("%s: %d readings became %d", what, len(was), len(is))
	}
	for _, a := range was {
		b, known := byName[a.name]
		if !known {
			t.Errorf("%s: %s is gone", what, a.name)
			continue
		}
		if want := a.value * math.Pow(unit, a.power); !near(b.value, want, 1e-12) {
			t.Errorf("%s: %s was %v, is %v", what, a.name, want, b.value)
		}
	}
}

func eachIdentityCase(do func(r *rand.Rand, c identityCase)) {
	r := rand.New(rand.NewPCG(6, 92))
	for i := range 60 {
		do(r, randomIdentityCase(r, 30+r.IntN(50), i%2 == 0))
	}
}

func TestRowOrderChangesNothing(t *testing.T) {
	eachIdentityCase(func(r *rand.Rand, c identityCase) {
		sameReadings(t, "other order", c.readings(t, false), c.pick(r.Perm(len(c.exit))).readings(t, false), 1)
	})
}

// Times in another unit turn medians and means into that unit and change nothing
// else. 2 and 1/8 are exact, 7 is whole: ties stay ties.
func TestTimeUnitScalesTimes(t *testing.T) {
	eachIdentityCase(func(r *rand.Rand, c identityCase) {
		unit := []float64{2, 0.125, 7}[r.IntN(3)]
		scaled := c.pick(everyRowItself(len(c.exit)))
		scaled.unit = unit
		for i := range scaled.exit {
			scaled.entry[i] *= unit
			scaled.exit[i] *= unit
		}
		sameReadings(t, fmt.Sprintf("unit 1/%v", unit), c.readings(t, false), scaled.readings(t, false), unit)
	})
}

// Rows cut at up to three times, whole days or not, some of them days of events,
// are the rows as they were.
func TestCutRowsChangeNothing(t *testing.T) {
	eachIdentityCase(func(r *rand.Rand, c identityCase) {
		cut := identityCase{unit: 1}
		for i := range c.exit {
			from := c.entry[i]
			for range r.IntN(4) {
				at := from + (c.exit[i]-from)*r.Float64()
				if r.IntN(2) == 0 {
					at = math.Floor(at)
				}
				if at > from && at < c.exit[i] {
					cut.add(c, i, from, at, 0)
					from = at
				}
			}
			cut.add(c, i, from, c.exit[i], c.cause[i])
		}
		sameReadings(t, "cut rows", c.readings(t, true), cut.readings(t, true), 1)
	})
}

// Numbers of clusters and strata are names, and so are those of groups in tests
// of any difference.
func TestNumbersAreNames(t *testing.T) {
	eachIdentityCase(func(r *rand.Rand, c identityCase) {
		named := c.pick(everyRowItself(len(c.exit)))
		turn := r.Perm(3)
		for i := range named.exit {
			named.cluster[i] = 1000003 - 77*c.cluster[i]
			named.stratum[i] = -5 * c.stratum[i]
			named.group[i] = turn[c.group[i]]
		}
		var was, is []reading
		for k, all := range [][]reading{c.readings(t, false), named.readings(t, false)} {
			for _, one := range all {
				if len(one.name) >= 10 && one.name[:10] == "difference" {
					continue // of two groups that now have other names
				}
				if k == 0 {
					was = append(was, one)
				} else {
					is = append(is, one)
				}
			}
		}
		sameReadings(t, "other names", was, is, 1)
	})
}
