package stats

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// A simulatedChild is followed for some time and has spells at a rate of its
// own, none of them of any length.
type simulatedChild struct {
	group float64 // 0 or 1
	age   float64
	exit  float64
	ended bool      // gave the sport up at exit
	first []float64 // times of the spells of one kind
	later []float64 // and of another kind, in the same time at risk
}

// A childScene is how children are drawn.
type childScene struct {
	name     string
	children int
	spread   float64 // variance of a child's own rate about 1: gamma; 0 is none
}

const (
	sceneRate  = 0.8 // spells a unit of time, group 0 at age 0
	sceneLog   = 0.5 // log rate ratio of group 1
	sceneAge   = 0.3 // log rate ratio of one unit of age
	sceneQuit  = 0.25
	sceneLater = 1.6 // rate of the later kind over that of the first, group 0
	sceneDays  = 20.0
)

func (s childScene) draw(r *rand.Rand) []simulatedChild {
	children := make([]simulatedChild, s.children)
	for i := range children {
		c := &children[i]
		c.group = float64(i % 2)
		c.age = r.NormFloat64()
		quit := r.ExpFloat64() / sceneQuit
		c.exit = 0.5 + 1.5*r.Float64()
		if c.ended = quit < c.exit; c.ended {
			c.exit = quit
		}
		own := 1.0
		if s.spread > 0 {
			own = gammaDraw(r, 1/s.spread) * s.spread
		}
		rate := own * sceneRate * math.Exp(float64(sceneLog*c.group)+float64(sceneAge*c.age))
		c.first = spellTimes(r, rate, c.exit)
		c.later = spellTimes(r, rate*sceneLater, c.exit)
	}
	return children
}

func spellTimes(r *rand.Rand, rate, exit float64) (times []float64) {
	for at := r.ExpFloat64() / rate; at < exit; at += r.ExpFloat64() / rate {
		times = append(times, at)
	}
	return times
}

// gammaDraw is Marsaglia and Tsang's (2000), with a shape below 1 by their
// power of a uniform number.
func gammaDraw(r *rand.Rand, shape float64) float64 {
	if shape < 1 {
		return gammaDraw(r, shape+1) * math.Pow(r.Float64(), 1/shape)
	}
	d := shape - 1.0/3
	c := 1 / math.Sqrt(9*d)
	for {
		x := r.NormFloat64()
		v := 1 + float64(c*x)
		if v <= 0 {
			continue
		}
		v = v * v * v
		if math.Log(r.Float64()) < 0.5*x*x+d-d*v+d*math.Log(v) {
			return d * v
		}
	}
}

// A coverTally counts, by a limit's name, how often the truth is held.
type coverTally struct {
	order       []string
	held, of    map[string]int
	unestimable map[string]int
	unbounded   map[string]int // a limit is infinite; they count as well
}

func newCoverTally() *coverTally {
	return &coverTally{held: map[string]int{}, of: map[string]int{}, unestimable: map[string]int{}, unbounded: map[string]int{}}
}

func (c *coverTally) count(name string, lower, upper, truth float64, ok bool) {
	if c.of[name]+c.unestimable[name] == 0 {
		c.order = append(c.order, name)
	}
	if !ok || math.IsNaN(lower) || math.IsNaN(upper) {
		c.unestimable[name]++
		return
	}
	c.of[name]++
	if math.IsInf(lower, 0) || math.IsInf(upper, 0) {
		c.unbounded[name]++
	}
	if lower <= truth && truth <= upper {
		c.held[name]++
	}
}

func (c *coverTally) estimate(name string, e Estimate, err error, truth float64) {
	c.count(name, e.Lower, e.Upper, truth, err == nil)
}

// TestChildCoverage simulates children with repeated spells and compares the
// coverage of limits that take children for their unit with the committed
// table. Limits that take spells to be independent stand beside them.
func TestChildCoverage(t *testing.T) {
	const level, draws = 0.95, 2000
	scenes := []childScene{
		{"20 children", 20, 0.5},
		{"60 children, no spread", 60, 0},
		{"60 children", 60, 0.5},
		{"200 children", 200, 0.5},
	}
	tallies := make([]*coverTally, len(scenes))
	var all sync.WaitGroup
	for i, s := range scenes {
		tallies[i] = newCoverTally()
		all.Go(func() {
			r := rand.New(rand.NewPCG(41, uint64(i)))
			for draw := range draws {
				children := s.draw(r)
				coverModels(tallies[i], children, level)
				coverCounts(tallies[i], children, level)
				coverBurden(tallies[i], children, r, level, draw < draws/8)
			}
		})
	}
	all.Wait()
	var table strings.Builder
	fmt.Fprintf(&table, "Coverage of limits of %g where children have several spells each: %d seeded draws a scene\n", level, draws)
	fmt.Fprintf(&table, "(bootstrap: %d draws of %d replicates). Children's own rates vary with a variance of 0.5\n", draws/8, coverReplicates)
	table.WriteString("about 1 unless said. In brackets: draws in which the quantity was not estimable.\n\n")
	fmt.Fprintf(&table, "%-64s", "limits")
	for _, s := range scenes {
		fmt.Fprintf(&table, " %23s", s.name)
	}
	table.WriteString("\n")
	for _, name := range tallies[0].order {
		fmt.Fprintf(&table, "%-64s", name)
		for _, c := range tallies {
			cell := fmt.Sprintf("%.3f", float64(c.held[name])/float64(c.of[name]))
			if n := c.unestimable[name]; n > 0 {
				cell += fmt.Sprintf(" (%d)", n)
			}
			fmt.Fprintf(&table, " %23s", cell)
		}
		table.WriteString("\n")
	}
	file := filepath.Join("testdata", "childcoverage.txt")
	if *update {
		must(t, os.WriteFile(file, []byte(table.String()), 0o644))
	}
	want, err := os.ReadFile(file)
	must(t, err)
	if diff := cmp.Diff(string(want), table.String()); diff != "" {
		t.Errorf("the table differs from %s:\n%s", file, diff)
	}
}

// coverModels covers the rate ratio of the groups and marginal rates.
func coverModels(c *coverTally, children []simulatedChild, level float64) {
	n := len(children)
	x, one, zero := make([][]float64, n), make([][]float64, n), make([][]float64, n)
	events, time, cluster := make([]float64, n), make([]float64, n), make([]int, n)
	for i, child := range children {
		x[i], one[i], zero[i] = []float64{child.group, child.age}, []float64{1, child.age}, []float64{0, child.age}
		events[i], time[i], cluster[i] = float64(len(child.first)), child.exit, i
	}
	terms := []string{"group", "age"}
	ratio := math.Exp(sceneLog)
	fit := func(opts GLMOptions) (Fit, Estimate, error) {
		opts.Level = level
		f, err := FitPoisson(x, terms, events, time, opts)
		if err != nil {
			return f, Estimate{}, err
		}
		return f, f.Estimates[0], nil
	}
	for _, m := range []struct {
		name string
		opts GLMOptions
	}{
		{"rate ratio: Poisson, spells independent", GLMOptions{}},
		{"rate ratio: quasi-Poisson", GLMOptions{Dispersion: true}},
		{"rate ratio: Poisson, robust by child CR0", GLMOptions{Cluster: cluster, Robust: CR0}},
		{"rate ratio: Poisson, robust by child CR1", GLMOptions{Cluster: cluster}},
		{"rate ratio: Poisson, CR1, t on clusters less coefficients", GLMOptions{Cluster: cluster, Reference: ReferenceClusters}},
		{"rate ratio: Poisson, CR2, t on Satterthwaite's degrees", GLMOptions{Cluster: cluster, Robust: CR2, Reference: ReferenceSatterthwaite}},
		{"rate ratio: Poisson, robust by child CR3", GLMOptions{Cluster: cluster, Robust: CR3}},
	} {
		f, e, err := fit(m.opts)
		c.estimate(m.name, e, err, ratio)
		if err != nil || !strings.HasSuffix(m.name, "CR1") {
			continue
		}
		mean := func(of [][]float64) float64 {
			sum, all := 0.0, 0.0
			for i, row := range of {
				sum += time[i] * sceneRate * math.Exp(sceneLog*row[0]+sceneAge*row[1])
				all += time[i]
			}
			return sum / all
		}
		opts := MarginalOptions{Level: level}
		e, err = MarginalRate(f, one, time, opts)
		c.estimate("marginal rate: CR1", e, err, mean(one))
		e, err = MarginalRatio(f, one, zero, time, opts)
		c.estimate("marginal rate ratio: CR1", e, err, mean(one)/mean(zero))
		e, err = MarginalDifference(f, one, zero, time, opts)
		c.estimate("marginal rate difference: CR1", e, err, mean(one)-mean(zero))
	}
	f, err := FitNegativeBinomial(x, terms, events, time, GLMOptions{Level: level})
	e := Estimate{}
	if err == nil {
		e = f.Estimates[0]
	}
	c.estimate("rate ratio: negative binomial", e, err, ratio)

	var firsts, laters ClusterEvents
	for _, child := range children {
		if child.group == 0 {
			firsts.Events, firsts.PersonTime = append(firsts.Events, float64(len(child.first))), append(firsts.PersonTime, child.exit)
			laters.Events, laters.PersonTime = append(laters.Events, float64(len(child.later))), append(laters.PersonTime, child.exit)
		}
	}
	e, err = ClusterRateRatio(laters, firsts, LimitOptions{Level: level})
	c.estimate("rate ratio of two kinds of spells of the same children", e, err, sceneLater)
}

// coverCounts covers the mean cumulative count of group 0, where giving up is
// censoring (the rate then is that of children who stay) and where it is an
// end.
func coverCounts(c *coverTally, children []simulatedChild, level float64) {
	var times Times
	var child []int
	var ended []bool
	for i, k := range children {
		if k.group == 1 {
			continue
		}
		entry := 0.0
		for _, at := range append(append([]float64(nil), k.first...), k.exit) {
			times.Entry, times.Exit = append(times.Entry, entry), append(times.Exit, at)
			times.Status, child = append(times.Status, at < k.exit), append(child, i)
			ended = append(ended, at == k.exit && k.ended)
			entry = at
		}
	}
	rate := sceneRate * math.Exp(sceneAge*sceneAge/2) // the mean over ages, which are standard normal
	const at = 1.2
	for _, m := range []struct {
		name     string
		terminal []bool
		truth    float64
	}{
		{"mean cumulative count, giving up is censoring", nil, rate * at},
		{"mean cumulative count, giving up is an end", ended, rate * -math.Expm1(-sceneQuit*at) / sceneQuit},
	} {
		curve, err := MeanCumulativeCount(times, child, CountOptions{Level: level, Terminal: m.terminal})
		lower, upper, ok := 0.0, 0.0, false
		if err == nil {
			_, lower, upper, ok = curve.At(at)
		}
		c.count(m.name, lower, upper, m.truth, ok)
	}
}

const coverReplicates = 500

// coverBurden covers the days lost of all children over their time, each spell
// lasting an exponential number of days.
func coverBurden(c *coverTally, children []simulatedChild, r *rand.Rand, level float64, bootstrap bool) {
	time := make([]float64, len(children))
	var l Losses
	for i, k := range children {
		time[i] = k.exit
		for range k.first {
			l.Child, l.Days = append(l.Child, i), append(l.Days, math.Ceil(sceneDays*r.ExpFloat64()))
		}
	}
	mean := 1 / -math.Expm1(-1/sceneDays) // of the exponential, rounded up
	truth := mean * sceneRate * math.Exp(sceneAge*sceneAge/2) * (1 + math.Exp(sceneLog)) / 2
	e, err := Burden(time, l, BurdenOptions{Level: level, Limits: BurdenLog})
	c.estimate("burden: log scale, linearised by child", e, err, truth)
	if bootstrap {
		e, err = Burden(time, l, BurdenOptions{Level: level, Replicates: coverReplicates, Seed: 7})
		c.estimate("burden: bootstrap by child", e, err, truth)
	}
}
