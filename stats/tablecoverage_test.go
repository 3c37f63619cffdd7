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

// TestTableCoverage works the coverage of limits of tables out, by summing the
// probabilities of all tables of a size (or, for strata, by 4,000 seeded
// draws), and compares it with the committed table. Exact limits never cover
// less than they say: 1e-9 allows for rounding. Tables that bear no estimate
// are left out, which favours no method, but for exact limits they count as
// covered, as those limits are 0 to unbounded.
func TestTableCoverage(t *testing.T) {
	const level = 0.95
	var table strings.Builder
	fmt.Fprintf(&table, "Coverage of limits of %g: the mean and the least over the truths named.\n\n", level)
	fmt.Fprintf(&table, "%-74s %-58s %6s %6s\n", "limits", "truths", "mean", "least")
	line := func(name, truths string, c *coverage, exact bool) {
		fmt.Fprintf(&table, "%-74s %-58s %6.4f %6.4f\n", name, truths, c.sum/float64(c.n), c.least)
		if exact && c.least < level-1e-9 {
			t.Errorf("%s: least coverage %v, below %v", name, c.least, level)
		}
	}
	coverOddsRatios(t, level, line)
	coverPairs(t, level, line)
	coverTableStrata(t, level, line)
	file := filepath.Join("testdata", "tablecoverage.txt")
	if *update {
		must(t, os.WriteFile(file, []byte(table.String()), 0o644))
	}
	want, err := os.ReadFile(file)
	must(t, err)
	if diff := cmp.Diff(string(want), table.String()); diff != "" {
		t.Errorf("the table differs from %s:\n%s", file, diff)
	}
}

func binomialChances(n int, p float64) []float64 {
	chances := make([]float64, n+1)
	for k := range chances {
		chances[k] = binomialAt(k, n, p, 1-p)
	}
	return chances
}

// coverOddsRatios sums over both counts of groups of 15 and 25.
func coverOddsRatios(t *testing.T, level float64, line coverLine) {
	const n1, n0 = 15, 25
	for _, m := range []struct {
		measure TwoByTwoMeasure
		exact   bool
	}{{OddsRatioExact, true}, {OddsRatioMidP, false}, {OddsRatioScore, false}, {cornfield(false), false}, {cornfield(true), false}, {OddsRatio, false}} {
		limits := map[[2]int]Estimate{}
		name := ""
		for a := range n1 + 1 {
			for c := range n0 + 1 {
				if e, err := m.measure(a, n1-a, c, n0-c, LimitOptions{level}); err == nil {
					limits[[2]int{a, c}] = e
					name, _, _ = strings.Cut(e.Method, ", p twice")
				}
			}
		}
		cover := newCoverage()
		for _, p0 := range []float64{0.1, 0.25, 0.5} {
			for _, ratio := range []float64{0.3, 1, 2, 5} {
				odds := ratio * p0 / (1 - p0)
				held, all := 0.0, 0.0
				reference := binomialChances(n0, p0)
				for a, x := range binomialChances(n1, odds/(1+odds)) {
					for c, y := range reference {
						e, there := limits[[2]int{a, c}]
						switch {
						case there && e.Lower <= ratio && ratio <= e.Upper, !there && m.exact:
							held += x * y
						case !there:
							continue
						}
						all += x * y
					}
				}
				cover.add(held / all)
			}
		}
		line("odds ratio: "+name, "odds ratio 0.3 to 5, risk 0.1, 0.25, 0.5, groups of 15 and 25", cover, m.exact)
	}
}

// coverPairs sums over all tables of 20 pairs.
func coverPairs(t *testing.T, level float64, line coverLine) {
	const n = 20
	logs := logFactorials(n)
	truths := [][4]float64{{0.2, 0.2, 0.2, 0.4}, {0.1, 0.3, 0.1, 0.5}, {0.5, 0.2, 0.05, 0.25}, {0.3, 0.1, 0.1, 0.5}, {0.05, 0.1, 0.05, 0.8}, {0.2, 0.5, 0.1, 0.2}}
	for _, m := range []struct {
		name    string
		exact   bool
		compute func(PairTable) (Estimate, error)
		truth   func(p [4]float64) float64
	}{
		{"odds ratio of pairs: exact", true, func(p PairTable) (Estimate, error) { return PairedOddsRatio(p, ExactOptions{Level: level}) }, func(p [4]float64) float64 { return p[1] / p[2] }},
		{"odds ratio of pairs: mid-P", false, func(p PairTable) (Estimate, error) {
			return PairedOddsRatio(p, ExactOptions{Level: level, MidP: true})
		}, func(p [4]float64) float64 { return p[1] / p[2] }},
		{"paired difference: Tango", false, func(p PairTable) (Estimate, error) {
			return PairedDifference(p, PairedDifferenceOptions{Level: level})
		}, func(p [4]float64) float64 { return p[1] - p[2] }},
		{"paired difference: Newcombe", false, func(p PairTable) (Estimate, error) {
			return PairedDifference(p, PairedDifferenceOptions{Level: level, Method: PairedNewcombe})
		}, func(p [4]float64) float64 { return p[1] - p[2] }},
		{"paired difference: Wald", false, func(p PairTable) (Estimate, error) {
			return PairedDifference(p, PairedDifferenceOptions{Level: level, Method: PairedWald})
		}, func(p [4]float64) float64 { return p[1] - p[2] }},
		{"paired ratio: score", false, func(p PairTable) (Estimate, error) { return PairedRatio(p, LimitOptions{level}) }, func(p [4]float64) float64 { return (p[0] + p[1]) / (p[0] + p[2]) }},
	} {
		held, all := make([]float64, len(truths)), make([]float64, len(truths))
		for a := range n + 1 {
			for b := range n + 1 - a {
				for c := range n + 1 - a - b {
					e, err := m.compute(PairTable{a, b, c, n - a - b - c})
					if err != nil && !m.exact {
						continue
					}
					for i, p := range truths {
						x := logs[n]
						for k, count := range []int{a, b, c, n - a - b - c} {
							x += float64(count)*math.Log(p[k]) - logs[count]
						}
						chance := math.Exp(x)
						all[i] += chance
						// 1e-12 so that a limit equal to the truth holds it.
						if truth := m.truth(p); err != nil || e.Lower <= truth+1e-12 && truth <= e.Upper+1e-12 {
							held[i] += chance
						}
					}
				}
			}
		}
		cover := newCoverage()
		for i := range truths {
			cover.add(held[i] / all[i])
		}
		line(m.name, "six distributions of 20 pairs", cover, m.exact)
	}
}

// coverTableStrata draws five strata of some 10 to 20 persons, and 40 matched
// sets of one case and two controls.
func coverTableStrata(t *testing.T, level float64, line coverLine) {
	const draws = 4000
	draw := func(r *rand.Rand, n int, p float64) (k int) {
		for range n {
			if r.Float64() < p {
				k++
			}
		}
		return k
	}
	counters := map[string]*coverage{}
	names := []string{
		"pooled odds ratio: Mantel-Haenszel", "common odds ratio: exact", "common odds ratio: mid-P",
		"pooled risk ratio: Mantel-Haenszel", "pooled risk difference: Sato", "pooled risk difference: Greenland-Robins",
		"odds ratio of 40 matched sets 1:2: Mantel-Haenszel", "odds ratio of 40 matched sets 1:2: exact",
	}
	for _, name := range names {
		counters[name] = newCoverage()
	}
	base := []float64{0.1, 0.2, 0.3, 0.4, 0.25}
	size := [][2]int{{8, 10}, {10, 6}, {5, 9}, {9, 9}, {6, 12}}
	for truth := range 2 {
		odds, ratio, difference := []float64{1, 3}[truth], []float64{1, 1.8}[truth], []float64{0, 0.2}[truth]
		r := rand.New(rand.NewPCG(59, uint64(truth)))
		held, all := map[string]int{}, map[string]int{}
		count := func(name string, e Estimate, err error, truth float64) {
			if err == nil {
				all[name]++
				if e.Lower <= truth && truth <= e.Upper {
					held[name]++
				}
			}
		}
		for range draws {
			strata := func(p1 func(p0 float64) float64) []TableStratum {
				out := make([]TableStratum, len(base))
				for i, p0 := range base {
					a, c := draw(r, size[i][0], p1(p0)), draw(r, size[i][1], p0)
					out[i] = TableStratum{a, size[i][0] - a, c, size[i][1] - c}
				}
				return out
			}
			s := strata(func(p float64) float64 { return odds * p / (1 - p + odds*p) })
			e, err := MantelHaenszelOddsRatio(s, LimitOptions{level})
			count(names[0], e, err, odds)
			e, err = CommonOddsRatioExact(s, ExactOptions{Level: level})
			count(names[1], e, err, odds)
			e, err = CommonOddsRatioExact(s, ExactOptions{Level: level, MidP: true})
			count(names[2], e, err, odds)
			e, err = MantelHaenszelRiskRatio(strata(func(p float64) float64 { return ratio * p }), LimitOptions{level})
			count(names[3], e, err, ratio)
			s = strata(func(p float64) float64 { return p + difference })
			e, err = MantelHaenszelRiskDifference(s, PooledDifferenceOptions{Level: level})
			count(names[4], e, err, difference)
			e, err = MantelHaenszelRiskDifference(s, PooledDifferenceOptions{Level: level, Variance: GreenlandRobinsVariance})
			count(names[5], e, err, difference)
			sets := make([]MatchedSet, 40)
			for i := range sets {
				p := base[i%len(base)]
				sets[i] = MatchedSet{1, draw(r, 1, odds*p/(1-p+odds*p)), 2, draw(r, 2, p)}
			}
			e, err = MatchedOddsRatio(sets, LimitOptions{level})
			count(names[6], e, err, odds)
			e, err = MatchedOddsRatioExact(sets, ExactOptions{Level: level})
			count(names[7], e, err, odds)
		}
		for _, name := range names {
			counters[name].add(float64(held[name]) / float64(all[name]))
		}
	}
	for _, name := range names {
		line(name, "two truths, 4,000 draws each", counters[name], false)
	}
}
