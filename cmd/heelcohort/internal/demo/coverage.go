package demo

import (
	"context"
	"fmt"
	"math"
	"strings"
	"sync"
)

// coverageLevel is the level of the limits whose coverage is counted.
const coverageLevel = 0.95

// Methods are the estimators whose limits are counted, so that one simulation
// serves any implementation of them. The limits are two-sided at the level of
// 95 %; an error or NaN is not estimable.
type Methods struct {
	Name string // of the implementation, for the report
	// Rate is a rate from a count of events.
	Rate func(events int, amount float64) (Limits, error)
	// RateRatio compares the first rate to the second.
	RateRatio func(events int, amount float64, events2 int, amount2 float64) (Limits, error)
	// OddsRatio and RiskRatio compare two groups of children, each given as
	// numbers with and without an episode.
	OddsRatio, RiskRatio func(group, reference [2]int) (Limits, error)
	// HazardRatio compares an arch type with normal in a proportional hazards
	// model of arch type, with delayed entry and errors clustered by child.
	HazardRatio func(rows *Returns, arch int) (Limits, error)
	// Survival is the share of rows without the event at a time.
	Survival func(rows *Returns, at float64) (Limits, error)
	// Median is the median time to the event.
	Median func(rows *Returns) (Limits, error)
}

// A Report says how often limits cover the truth.
type Report struct {
	Methods              string
	Registries, Children int
	Rows                 []Covered
}

// Covered is one estimate over all registries.
type Covered struct {
	Name      string
	Truth     float64
	Mean      float64 // of the estimates; of ratios the geometric mean
	N         int     // registries in which limits could be estimated
	Hits      int     // of these, limits that cover the truth
	Low, High int     // limits wholly below and wholly above the truth
}

// Share is the share of limits that cover the truth.
func (c *Covered) Share() float64 { return float64(c.Hits) / float64(c.N) }

// Limits are an estimate with its limits; NaN is not estimable.
type Limits struct{ Value, Lower, Upper float64 }

// An estimand is one quantity with its truth and its estimate.
type estimand struct {
	name  string
	truth func(*Truth) (Quantity, bool)
	ratio bool
	of    func(*Registry) (Limits, error)
}

// Coverage draws registries of the published size and counts how often the
// limits of the main estimates cover the truth. The report depends on the
// seed, the number of registries and the methods alone.
func Coverage(ctx context.Context, registries int, seed uint64, methods Methods) (Report, error) {
	const children = 1200
	truth, err := StoredTruth()
	if err != nil {
		return Report{}, err
	}
	all := estimands(methods)
	results := make([][]Limits, registries)
	var wait sync.WaitGroup
	next := make(chan int)
	for range 4 {
		wait.Go(func() {
			for r := range next {
				reg := Generate(Options{Seed: mix(seed) + uint64(r) + 1, Children: children})
				results[r] = make([]Limits, len(all))
				for k, e := range all {
					l, err := e.of(reg)
					if err != nil {
						l = Limits{math.NaN(), math.NaN(), math.NaN()}
					}
					results[r][k] = l
				}
			}
		})
	}
	for r := range registries {
		if ctx.Err() != nil {
			break
		}
		next <- r
	}
	close(next)
	wait.Wait()
	if err := ctx.Err(); err != nil {
		return Report{}, err
	}
	report := Report{Methods: methods.Name, Registries: registries, Children: children}
	for k, e := range all {
		q, ok := e.truth(truth)
		if !ok {
			return Report{}, fmt.Errorf("demo: no stored truth for %q", e.name)
		}
		row := Covered{Name: e.name, Truth: q.Value}
		for r := range results {
			row.add(results[r][k], e.ratio)
		}
		row.Mean /= float64(row.N)
		if e.ratio {
			row.Mean = math.Exp(row.Mean)
		}
		report.Rows = append(report.Rows, row)
	}
	return report, nil
}

// add counts one registry.
func (c *Covered) add(l Limits, ratio bool) {
	if math.IsNaN(l.Value) || math.IsNaN(l.Lower) || math.IsNaN(l.Upper) {
		return
	}
	c.N++
	if ratio {
		c.Mean += math.Log(l.Value)
	} else {
		c.Mean += l.Value
	}
	switch {
	case l.Upper < c.Truth:
		c.Low++
	case l.Lower > c.Truth:
		c.High++
	default:
		c.Hits++
	}
}

// String is the report as a table.
func (r Report) String() string {
	var b strings.Builder
	fmt.Fprintf(&b, "Coverage of %g%% limits over %d registries of %d children\n", 100*coverageLevel, r.Registries, r.Children)
	fmt.Fprintf(&b, "Simulated: the truth is that of the invented registry's model. Limits: %s.\n\n", r.Methods)
	fmt.Fprintf(&b, "%-52s %9s %9s %9s %7s %7s %7s\n", "estimate", "truth", "mean", "covered %", "below", "above", "n")
	for _, c := range r.Rows {
		fmt.Fprintf(&b, "%-52s %9.4f %9.4f %9.1f %7d %7d %7d\n", c.Name, c.Truth, c.Mean, 100*c.Share(), c.Low, c.High, c.N)
	}
	b.WriteString("\nBelow and above count limits wholly on one side of the truth; n counts registries with limits.\n")
	return b.String()
}

// estimands lists what the report covers.
func estimands(m Methods) []estimand {
	find := func(name, age, sport, arch string, day float64) func(*Truth) (Quantity, bool) {
		return func(t *Truth) (Quantity, bool) { return t.Find(name, age, sport, arch, day) }
	}
	const rateName = "first-episode rate"
	perThousand := func(band, sport int) func(*Registry) (Limits, error) {
		return func(reg *Registry) (Limits, error) {
			events, hours := firstEpisodes(reg).sums(band, sport)
			return m.Rate(events, hours/1000)
		}
	}
	football, swimming := index(Sports, "football"), index(Sports, "swimming")
	const pronated, normal = 2, 1
	all := []estimand{
		{"first-episode rate per 1,000 h, all", find(rateName, "", "", "", 0), false, perThousand(-1, -1)},
		{
			"first-episode rate per 1,000 h, football at 10 to 11",
			find(rateName, bandName(2), "football", "", 0), false, perThousand(2, football),
		},
		{
			"rate ratio, football to swimming", find("rate ratio to swimming", "", "football", "", 0), true,
			func(reg *Registry) (Limits, error) {
				t := firstEpisodes(reg)
				a, hoursA := t.sums(-1, football)
				b, hoursB := t.sums(-1, swimming)
				return m.RateRatio(a, hoursA, b, hoursB)
			},
		},
		{
			"odds ratio of any episode, pronated to normal", find("odds ratio of any episode", "", "", "pronated", 0), true,
			func(reg *Registry) (Limits, error) {
				n := anyEpisode(reg)
				return m.OddsRatio(n[pronated], n[normal])
			},
		},
		{
			"risk ratio of any episode, pronated to normal", find("risk ratio of any episode", "", "", "pronated", 0), true,
			func(reg *Registry) (Limits, error) {
				n := anyEpisode(reg)
				return m.RiskRatio(n[pronated], n[normal])
			},
		},
		{
			"hazard ratio of return, pronated to normal", find("hazard ratio of match return", "", "", "pronated", 0), true,
			func(reg *Registry) (Limits, error) { return m.HazardRatio(matchReturns(reg), pronated) },
		},
	}
	for _, arch := range []int{normal, pronated} {
		all = append(all, estimand{
			"not yet returned at 56 days, " + Arches[arch], find("not yet returned", "", "", Arches[arch], 56), false,
			func(reg *Registry) (Limits, error) { return m.Survival(oneHeel(reg, arch), 56) },
		})
	}
	return append(all, estimand{
		"median days to match return, normal", find("median time to match return", "", "", "normal", 0), false,
		func(reg *Registry) (Limits, error) { return m.Median(oneHeel(reg, normal)) },
	})
}
