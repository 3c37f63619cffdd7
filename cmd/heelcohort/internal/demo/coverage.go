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

// A Report says how often limits cover the truth.
type Report struct {
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

// limits are an estimate with its limits; NaN is not estimable.
type limits struct{ value, lower, upper float64 }

// An estimand is one quantity with its truth and its estimate.
type estimand struct {
	name  string
	truth func(*Truth) (Quantity, bool)
	ratio bool
	of    func(*Registry) (limits, error)
}

// Coverage draws registries of the published size and counts how often the
// limits of the main estimates cover the truth. The report depends on the
// seed and the number of registries alone.
func Coverage(ctx context.Context, registries int, seed uint64) (Report, error) {
	const children = 1200
	truth, err := StoredTruth()
	if err != nil {
		return Report{}, err
	}
	all := estimands()
	results := make([][]limits, registries)
	var wait sync.WaitGroup
	next := make(chan int)
	for range 4 {
		wait.Go(func() {
			for r := range next {
				reg := Generate(Options{Seed: mix(seed) + uint64(r) + 1, Children: children})
				results[r] = make([]limits, len(all))
				for k, e := range all {
					l, err := e.of(reg)
					if err != nil {
						l = limits{math.NaN(), math.NaN(), math.NaN()}
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
	report := Report{Registries: registries, Children: children}
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
func (c *Covered) add(l limits, ratio bool) {
	if math.IsNaN(l.value) || math.IsNaN(l.lower) || math.IsNaN(l.upper) {
		return
	}
	c.N++
	if ratio {
		c.Mean += math.Log(l.value)
	} else {
		c.Mean += l.value
	}
	switch {
	case l.upper < c.Truth:
		c.Low++
	case l.lower > c.Truth:
		c.High++
	default:
		c.Hits++
	}
}

// String is the report as a table.
func (r Report) String() string {
	var b strings.Builder
	fmt.Fprintf(&b, "Coverage of %g%% limits over %d registries of %d children\n", 100*coverageLevel, r.Registries, r.Children)
	b.WriteString("Simulated: the truth is that of the invented registry's model.\n\n")
	fmt.Fprintf(&b, "%-52s %9s %9s %9s %7s %7s %7s\n", "estimate", "truth", "mean", "covered %", "below", "above", "n")
	for _, c := range r.Rows {
		fmt.Fprintf(&b, "%-52s %9.4f %9.4f %9.1f %7d %7d %7d\n", c.Name, c.Truth, c.Mean, 100*c.Share(), c.Low, c.High, c.N)
	}
	b.WriteString("\nBelow and above count limits wholly on one side of the truth; n counts registries with limits.\n")
	return b.String()
}

// estimands lists what the report covers.
func estimands() []estimand {
	find := func(name, age, sport, arch string, day float64) func(*Truth) (Quantity, bool) {
		return func(t *Truth) (Quantity, bool) { return t.Find(name, age, sport, arch, day) }
	}
	const rateName = "first-episode rate"
	perThousand := func(band, sport int) func(*Registry) (limits, error) {
		return func(reg *Registry) (limits, error) {
			events, hours := firstEpisodes(reg).sums(band, sport)
			return rateLimits(events, hours/1000)
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
			func(reg *Registry) (limits, error) {
				t := firstEpisodes(reg)
				a, hoursA := t.sums(-1, football)
				b, hoursB := t.sums(-1, swimming)
				return rateRatioLimits(a, hoursA, b, hoursB)
			},
		},
		{
			"odds ratio of any episode, pronated to normal", find("odds ratio of any episode", "", "", "pronated", 0), true,
			func(reg *Registry) (limits, error) {
				n := anyEpisode(reg)
				return oddsRatioLimits(n[pronated], n[normal])
			},
		},
		{
			"risk ratio of any episode, pronated to normal", find("risk ratio of any episode", "", "", "pronated", 0), true,
			func(reg *Registry) (limits, error) {
				n := anyEpisode(reg)
				return riskRatioLimits(n[pronated], n[normal])
			},
		},
		{
			"hazard ratio of return, pronated to normal", find("hazard ratio of match return", "", "", "pronated", 0), true,
			func(reg *Registry) (limits, error) { return hazardRatioLimits(matchReturns(reg), pronated) },
		},
	}
	for _, arch := range []int{normal, pronated} {
		all = append(all, estimand{
			"not yet returned at 56 days, " + Arches[arch], find("not yet returned", "", "", Arches[arch], 56), false,
			func(reg *Registry) (limits, error) { return survivalLimits(oneHeel(reg, arch), 56) },
		})
	}
	return append(all, estimand{
		"median days to match return, normal", find("median time to match return", "", "", "normal", 0), false,
		func(reg *Registry) (limits, error) { return medianLimits(oneHeel(reg, normal)) },
	})
}
