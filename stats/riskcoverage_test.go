package stats

import (
	"errors"
	"testing"
)

// coverRisks sums over both counts of two groups. A table without outcomes has
// no risk ratio, and a zero cell no limits on the log scale: such tables are
// left out, which favours no method.
func coverRisks(t *testing.T, level float64, line coverLine) {
	const truths = "risks 0.05, 0.2, 0.5, 0.8; 10 of 15, 30 of 60"
	type limits func(a, b, c, d int) (Estimate, error)
	cover := func(measure string, method limits, truth func(p1, p0 float64) float64) {
		all, name := newCoverage(), ""
		for _, n := range [][2]int{{10, 15}, {30, 60}} {
			table := make([][]Estimate, n[0]+1)
			known := make([][]bool, n[0]+1)
			for a := range table {
				table[a], known[a] = make([]Estimate, n[1]+1), make([]bool, n[1]+1)
				for c := range table[a] {
					e, err := method(a, n[0]-a, c, n[1]-c)
					switch {
					case err == nil:
						table[a][c], known[a][c], name = e, true, e.Method
					case !errors.Is(err, ErrZeroCell) && !errors.Is(err, ErrNoVariance) && !errors.Is(err, ErrNoEvents):
						t.Fatal(err)
					}
				}
			}
			for _, p1 := range []float64{0.05, 0.2, 0.5, 0.8} {
				for _, p0 := range []float64{0.05, 0.2, 0.5, 0.8} {
					want, held, chance := truth(p1, p0), 0.0, 0.0
					for a := range table {
						for c, e := range table[a] {
							if known[a][c] {
								x := binomialAt(a, n[0], p1, 1-p1) * binomialAt(c, n[1], p0, 1-p0)
								chance += x
								if e.Lower <= want && want <= e.Upper {
									held += x
								}
							}
						}
					}
					all.add(held / chance)
				}
			}
		}
		line(measure+": "+name, truths, all, false)
	}
	difference := func(p1, p0 float64) float64 { return p1 - p0 }
	ratio := func(p1, p0 float64) float64 { return p1 / p0 }
	opts := LimitOptions{Level: level}
	cover("risk difference", func(a, b, c, d int) (Estimate, error) { return RiskDifference(a, b, c, d, opts) }, difference)
	cover("risk difference", func(a, b, c, d int) (Estimate, error) { return RiskDifferenceScore(a, b, c, d, opts) }, difference)
	cover("risk ratio", func(a, b, c, d int) (Estimate, error) { return RiskRatio(a, b, c, d, opts) }, ratio)
	cover("risk ratio", func(a, b, c, d int) (Estimate, error) { return RiskRatioScore(a, b, c, d, opts) }, ratio)
}

// coverStandards sums over the observed count of a standardised incidence
// ratio, whose reference rates are known.
func coverStandards(t *testing.T, level float64, line coverLine) {
	time, rates := []float64{100, 300}, []float64{0.02, 0.01}
	const expected = 5
	for _, method := range []RateMethod{Garwood, PoissonMidP, Byar} {
		c := newCoverage()
		for _, truth := range []float64{0.2, 0.5, 1, 1.5, 2, 3, 5} {
			share := 0.0
			for k, p := range poissonChances(truth * expected) {
				e, err := IndirectStandardisation(k, time, rates, RateOptions{Level: level, Method: method})
				must(t, err)
				if e.Lower <= truth && truth <= e.Upper {
					share += p
				}
			}
			c.add(share)
		}
		line("standardised incidence ratio: "+method.String(), "ratio 0.2 to 5 of 5 expected", c, method == Garwood)
	}
}
