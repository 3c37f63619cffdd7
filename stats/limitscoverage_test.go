package stats

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

var update = flag.Bool("update", false, "write the table of coverage anew")

// A coverage is how often limits hold the true value, over a grid of truths.
type coverage struct {
	sum, least float64
	n          int
}

func newCoverage() *coverage { return &coverage{least: 1} }

func (c *coverage) add(share float64) {
	c.sum += share
	c.n++
	c.least = math.Min(c.least, share)
}

// poissonChances are the probabilities of counts, up to where they vanish.
func poissonChances(mean float64) []float64 {
	var p []float64
	term := math.Exp(-mean)
	for k := 0; float64(k) < mean+12*math.Sqrt(mean)+25; k++ {
		p = append(p, term)
		term *= mean / float64(k+1)
	}
	return p
}

// TestLimitsCoverage works the coverage of limits out, by summing the
// probabilities of all counts (or, for standardised and pooled rates, by 20,000
// seeded draws), and compares it with the committed table. Exact limits never
// cover less than they say: 1e-9 allows for rounding.
func TestLimitsCoverage(t *testing.T) {
	const level = 0.95
	var table strings.Builder
	fmt.Fprintf(&table, "Coverage of limits of %g: the mean and the least over the truths named.\n\n", level)
	fmt.Fprintf(&table, "%-60s %-56s %6s %6s\n", "limits", "truths", "mean", "least")
	line := func(name, truths string, c *coverage, exact bool) {
		fmt.Fprintf(&table, "%-60s %-56s %6.4f %6.4f\n", name, truths, c.sum/float64(c.n), c.least)
		if exact && c.least < level-1e-9 {
			t.Errorf("%s: least coverage %v, below %v", name, c.least, level)
		}
	}
	coverRates(t, level, line)
	coverProportions(t, level, line)
	coverRisks(t, level, line)
	coverRatios(t, level, line)
	coverStandards(t, level, line)
	coverStrata(t, level, line)
	file := filepath.Join("testdata", "coverage.txt")
	if *update {
		must(t, os.WriteFile(file, []byte(table.String()), 0o644))
	}
	want, err := os.ReadFile(file)
	must(t, err)
	if diff := cmp.Diff(string(want), table.String()); diff != "" {
		t.Errorf("the table differs from %s:\n%s", file, diff)
	}
}

type coverLine func(name, truths string, c *coverage, exact bool)

func coverRates(t *testing.T, level float64, line coverLine) {
	for _, method := range []RateMethod{Garwood, PoissonMidP, Byar} {
		var limits [][2]float64
		for k := range 400 {
			e, err := Rate(k, 1, RateOptions{Level: level, Method: method})
			must(t, err)
			limits = append(limits, [2]float64{e.Lower, e.Upper})
		}
		c := newCoverage()
		for mean := 0.25; mean <= 60; mean += 0.25 {
			share := 0.0
			for k, p := range poissonChances(mean) {
				if limits[k][0] <= mean && mean <= limits[k][1] {
					share += p
				}
			}
			c.add(share)
		}
		line("rate: "+method.String(), "expected events 0.25 to 60", c, method == Garwood)
	}
}

func coverProportions(t *testing.T, level float64, line coverLine) {
	for _, method := range []ProportionMethod{Wilson, ClopperPearson, ProportionMidP, AgrestiCoull, Jeffreys, WilsonCorrected, ProportionLikelihood, ProportionWald, ProportionWaldCorrected} {
		c := newCoverage()
		name := ""
		for _, n := range []int{10, 25, 60} {
			for p := 0.01; p < 0.995; p += 0.01 {
				share := 0.0
				for k := range n + 1 {
					e, err := Proportion(k, n, ProportionOptions{Level: level, Method: method})
					must(t, err)
					name = e.Method
					if e.Lower <= p && p <= e.Upper {
						share += binomialAt(k, n, p, 1-p)
					}
				}
				c.add(share)
			}
		}
		line("proportion: "+name, "0.01 to 0.99 of 10, 25 and 60", c, method == ClopperPearson)
	}
}

// coverRatios sums over both counts. Where nothing happened in either group no
// ratio is estimable; such draws are left out, which favours no method.
func coverRatios(t *testing.T, level float64, line coverLine) {
	const time1, time0 = 1.0, 2.0
	pairs := func(visit func(mean1, mean0 float64, p1, p0 []float64)) {
		for _, mean0 := range []float64{2, 6, 20} {
			for _, ratio := range []float64{0.3, 1, 2.5} {
				mean1 := ratio * mean0 * time1 / time0
				visit(mean1, mean0, poissonChances(mean1), poissonChances(mean0))
			}
		}
	}
	cover := func(limits func(a, b int) (lower, upper float64, ok bool), truth func(mean1, mean0 float64) float64) *coverage {
		c := newCoverage()
		known := map[[2]int][3]float64{}
		pairs(func(mean1, mean0 float64, p1, p0 []float64) {
			held, all := 0.0, 0.0
			want := truth(mean1, mean0)
			for a, x := range p1 {
				for b, y := range p0 {
					if x*y < 1e-12 {
						continue
					}
					l, there := known[[2]int{a, b}]
					if !there {
						lower, upper, ok := limits(a, b)
						l = [3]float64{lower, upper, 1}
						if !ok {
							l[2] = 0
						}
						known[[2]int{a, b}] = l
					}
					if l[2] == 0 {
						continue
					}
					all += x * y
					if l[0] <= want && want <= l[1] {
						held += x * y
					}
				}
			}
			c.add(held / all)
		})
		return c
	}
	const truths = "ratio 0.3, 1, 2.5; reference expects 2, 6, 20 events"
	ratio := func(mean1, mean0 float64) float64 { return mean1 / time1 / (mean0 / time0) }
	for _, method := range []RateRatioMethod{RatioExact, RatioMidP, RatioScore, RatioLog} {
		name := ""
		c := cover(func(a, b int) (float64, float64, bool) {
			e, err := RateRatio(a, time1, b, time0, RateRatioOptions{level, method})
			if err == nil {
				name = e.Method
			}
			return e.Lower, e.Upper, err == nil
		}, ratio)
		name, _, _ = strings.Cut(name, ", p twice")
		line("rate ratio: "+name, truths, c, method == RatioExact)
	}
	difference := func(mean1, mean0 float64) float64 { return mean1/time1 - mean0/time0 }
	for _, method := range []RateDifferenceMethod{DifferenceNormal, DifferenceScore} {
		name := ""
		c := cover(func(a, b int) (float64, float64, bool) {
			e, err := RateDifference(a, time1, b, time0, RateDifferenceOptions{Level: level, Method: method})
			if err == nil {
				name = e.Method
			}
			return e.Lower, e.Upper, err == nil
		}, difference)
		line("rate difference: "+name, truths, c, false)
	}
}

// coverStrata draws the events of three age bands.
func coverStrata(t *testing.T, level float64, line coverLine) {
	const draws = 20000
	time := []float64{400, 900, 300}
	other := []float64{500, 500, 500}
	weights := []float64{1, 1, 1}
	rates := []float64{0.008, 0.02, 0.03}
	gamma, modified, ratio, difference, standard := newCoverage(), newCoverage(), newCoverage(), newCoverage(), newCoverage()
	for _, scale := range []float64{0.3, 1, 3} {
		r := rand.New(rand.NewPCG(5, uint64(10*scale)))
		truth := 0.0
		for _, x := range rates {
			truth += scale * x / 3
		}
		var held [5]int
		var of [5]int
		count := func(i int, e Estimate, err error, truth float64) {
			if err != nil {
				return // not estimable in this draw
			}
			of[i]++
			if e.Lower <= truth && truth <= e.Upper {
				held[i]++
			}
		}
		for range draws {
			events, strata, apart := make([]int, 3), make([]RateStratum, 3), make([]RateStratum, 3)
			for i := range events {
				events[i] = randomPoisson(r, scale*rates[i]*time[i])
				reference := randomPoisson(r, scale*rates[i]*other[i]/2)
				strata[i] = RateStratum{events[i], time[i], reference, other[i]}
				apart[i] = RateStratum{randomPoisson(r, (scale*rates[i]+0.01)*time[i]), time[i], randomPoisson(r, scale*rates[i]*other[i]), other[i]}
			}
			e, err := DirectStandardisation(events, time, weights, StandardOptions{Level: level})
			count(0, e, err, truth)
			e, err = DirectStandardisation(events, time, weights, StandardOptions{Level: level, Method: ModifiedGamma})
			count(1, e, err, truth)
			e, err = MantelHaenszelRateRatio(strata, LimitOptions{level})
			count(2, e, err, 2)
			e, err = MantelHaenszelRateDifference(apart, RateOptions{Level: level})
			count(3, e, err, 0.01)
			e, err = StandardisedRateRatio(strata, weights, LimitOptions{level})
			count(4, e, err, 2)
		}
		for i, c := range []*coverage{gamma, modified, ratio, difference, standard} {
			c.add(float64(held[i]) / float64(of[i]))
		}
	}
	const truths = "three ages, some 10, 30 and 90 events, 20,000 draws each"
	line("standardised rate: "+FayFeuer.String(), truths, gamma, false)
	line("standardised rate: "+ModifiedGamma.String(), truths, modified, false)
	line("standardised rate ratio: log scale", truths, standard, false)
	line("pooled rate ratio: Mantel-Haenszel", truths, ratio, false)
	line("pooled rate difference: Mantel-Haenszel", truths, difference, false)
}
