package stats

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"
)

var returnScenes = []returnScene{
	{"50 children", 50, 0.5, 0.3},
	{"100 children", 100, 0.5, 0.3},
	{"300 children", 300, 0.5, 0.3},
	{"100, one heel", 100, 0, 0.3},
	{"100, few early", 100, 0.5, 0.05},
}

// The draws of a scene; bands are only worked out in one draw of four, and the
// curve between visits, which has one scene, in one of ten.
const (
	returnDraws      = 2000
	returnDrawsShort = 100
	bandEvery        = 4
	intervalEvery    = 10
)

// coverReturns counts how often limits hold the truth in the first draws of the
// scenes, and of the scene of visits.
func coverReturns(draws int) (scenes []*coverTally, visits *coverTally) {
	scenes, visits = make([]*coverTally, len(returnScenes)), newCoverTally()
	var all sync.WaitGroup
	for i, s := range returnScenes {
		c := newCoverTally()
		scenes[i] = c
		all.Go(func() {
			for draw := range draws {
				r := rand.New(rand.NewPCG(83+uint64(i), uint64(draw)))
				h := s.draw(r, returns, quitDaily)
				coverCurves(c, h)
				coverComparisons(c, h)
				coverIncidences(c, h)
				coverSubdistribution(c, s.draw(r, subdistributionReturns, 0))
				if s.two == 0 && draw%bandEvery == 0 {
					coverBands(c, h)
				}
			}
		})
	}
	all.Go(func() {
		for draw := range draws / intervalEvery {
			coverIntervals(visits, rand.New(rand.NewPCG(82, uint64(draw))))
		}
	})
	all.Wait()
	return scenes, visits
}

// returnTable writes the shares down.
func returnTable(draws int) string {
	scenes, visits := coverReturns(draws)
	error95 := func(n int) float64 { return math.Sqrt(0.95 * 0.05 / float64(n)) }
	var b strings.Builder
	fmt.Fprintf(&b, "%d draws a scene: the standard error of a share of 0.95 is %.3f (bands: %d draws, %.3f)\n\n",
		draws, error95(draws), draws/bandEvery, error95(draws/bandEvery))
	fmt.Fprintf(&b, "%-74s", "limits")
	for _, s := range returnScenes {
		fmt.Fprintf(&b, " %18s", s.name)
	}
	b.WriteString("\n")
	cell := func(c *coverTally, name string) string {
		n := c.of[name] + c.unestimable[name]
		if n == 0 {
			return "."
		}
		text := fmt.Sprintf("%.3f", float64(c.held[name])/float64(c.of[name]))
		if k := c.unestimable[name]; k > 0 {
			text += fmt.Sprintf(" n%.1f", 100*float64(k)/float64(n))
		}
		if k := c.unbounded[name]; k > 0 {
			text += fmt.Sprintf(" u%.1f", 100*float64(k)/float64(n))
		}
		return text
	}
	for _, name := range scenes[3].order {
		fmt.Fprintf(&b, "%-74s", name)
		for _, c := range scenes {
			fmt.Fprintf(&b, " %18s", cell(c, name))
		}
		b.WriteString("\n")
	}
	fmt.Fprintf(&b, "\n%d children seen from onset on about every 14 days, %d draws of %d replicates: the standard error is %.3f\n\n",
		intervalChildren, draws/intervalEvery, intervalReplicates, error95(draws/intervalEvery))
	for _, name := range visits.order {
		fmt.Fprintf(&b, "%-74s %18s\n", name, cell(visits, name))
	}
	return b.String()
}

const returnTableHead = `Coverage of limits of 0.95 for time to return, with entry after onset

Half of the children have two heels (in one scene none), whose days of return agree by Kendall's tau of
1/2. A heel's clock runs from its onset in whole days. The child is seen only from some day on: 3 of 10
from onset (1 of 20 in the scene of few early), the others after up to 60 days, and a heel that is well
again by then never gets in. Observation ends after 30 to 179 days. A child gives the sport up, with both
heels, on 3 of 1000 days. What is to be held is the law of all heels with a spell, seen or not, whose truth
is known by formula (the scenes are in returnscene_test.go). Entry there tells nothing of return, and
each heel gets in on its own condition: a design in which a heel gets in only while its fellow is sore
selects heels, and no method here makes up for that.

After the share: n, percent of draws in which the quantity was not estimable (they are left out), and u,
percent in which a limit was infinite (they count; there were none).

What the table says:
- Taking entry for onset holds nearly nothing, the less the more children there are.
- Limits that take heels for independent are too narrow for what is the same in a child's heels, and too
  wide for what differs between them, and do not get better with more children. Limits by child hold 0.93
  to 0.97 at 300 children, but for plain ones of giving up.
- At 50 children limits by child hold 0.92 to 0.95 of ratios, means and the curve's middle: robust errors of
  few children are a little small, and have no correction. Plain and log limits of a curve near 1 or 0 do
  worse, since its errors are skewed there: log-log limits, the default, hold best, arcsine ones next.
- Giving up is rare, and both heels of a child do it together: 6 of 50 children on average, 12 of 100. Plain
  limits of its incidence are to be avoided at any of these sizes.
- Where few are seen from onset on, the first days rest on some 10 heels (22 on day 5), and what happens
  among them stays in the curve, in means and most of all in the incidence of a rare end: an end seen early
  counts much, one not seen leaves the error too small. This is in the data and no limits mend it. The
  warning small-risk-set, of fewer than 5 heels, does not come yet.
- The median's limits hold a little more than they say, because days are whole. Subdistribution ratios
  hold nearly what they say though their errors take the weights of late entry for known.
`

// TestSurvivalCoverage compares with testdata/survivalcoverage.txt how often
// limits hold the truth where children come in late with one or two heels. The
// table of all draws, which takes minutes, is worked out only with -update or
// HEELCOHORT_COVERAGE set; otherwise that of the first draws, which stands below
// it.
func TestSurvivalCoverage(t *testing.T) {
	const mark = "\n\nThe same of the first draws only\n\n"
	file := filepath.Join("testdata", "survivalcoverage.txt")
	short := returnTable(returnDrawsShort)
	if *update || os.Getenv("HEELCOHORT_COVERAGE") != "" {
		whole := returnTableHead + "\n" + returnTable(returnDraws) + mark + short
		if *update {
			must(t, os.WriteFile(file, []byte(whole), 0o644))
		}
		stored, err := os.ReadFile(file)
		must(t, err)
		if diff := cmp.Diff(string(stored), whole); diff != "" {
			t.Errorf("the table differs from %s:\n%s", file, diff)
		}
	}
	stored, err := os.ReadFile(file)
	must(t, err)
	head, first, found := strings.Cut(string(stored), mark)
	if !found || !strings.HasPrefix(head, returnTableHead) {
		t.Fatalf("%s has another head or no part of the first draws: write it anew", file)
	}
	if diff := cmp.Diff(first, short); diff != "" {
		t.Errorf("the table differs from %s:\n%s", file, diff)
	}
	boundReturns(t, head)
}

// boundReturns holds the stored shares against what they must be. A share of 2000
// draws is within 0.015 of the true coverage at three standard errors; with it,
// and large samples' limits in finite ones, limits that take children for their
// unit are to lie between 0.93 and 0.97 at 300 children. Not asked of them are
// plain limits of an end that few heels have, whose share is skewed.
//
// Heels that agree make limits of independent heels too narrow, below 0.935, for
// what is the same in a child's heels, and too wide, above 0.965, for what differs
// between them: that the scenes show it says that they could show a fault of
// limits by child. With one heel a child both are alike. Bands have 500 draws:
// 0.92 is three standard errors below 0.95.
func boundReturns(t *testing.T, table string) {
	shares := map[string][]float64{}
	for line := range strings.Lines(table) {
		if len(line) < 75 {
			continue
		}
		name := strings.TrimSpace(line[:74])
		for at := 75; at+18 <= len(strings.TrimRight(line, "\n")); at += 19 {
			v := math.NaN()
			if cell := strings.Fields(line[at : at+18]); len(cell) > 0 {
				if got, err := strconv.ParseFloat(cell[0], 64); err == nil {
					v = got
				}
			}
			shares[name] = append(shares[name], v)
		}
	}
	checked := 0
	within := func(name string, column int, least, most float64) {
		checked++
		if v := shares[name]; len(v) <= column || !(least <= v[column] && v[column] <= most) {
			t.Errorf("%s: shares %v, expected %v to %v in column %d", name, v, least, most, column+1)
		}
	}
	for name := range shares {
		plainOfFew := strings.Contains(name, "giving up") && strings.Contains(name, "plain")
		if strings.HasSuffix(name, "by child") && !plainOfFew {
			within(name, 2, 0.93, 0.97)
		}
		if strings.HasPrefix(name, "band") {
			within(name, 3, 0.92, 0.98)
		}
		if strings.HasPrefix(name, "between visits") && strings.HasSuffix(name, "children") {
			within(name, 0, 0.95-3*0.0154, 1) // they err on the wide side
		}
	}
	for _, what := range []string{
		"curve on day 42: log-log", "curve on day 84: log-log", "mean up to 90 days",
		"hazard ratio, exposure of the child", "log-rank test of no difference kept at 0.05",
		"incidence of giving up by day 84: log-log", "incidence of return by day 84: log-log",
	} {
		within(what+sep(what)+"heels independent", 2, 0.8, 0.935)
		within(what+sep(what)+"heels independent", 3, 0.93, 0.97)
	}
	within("curve on day 42: log-log, by child, entry wrongly taken for onset", 2, 0, 0.05)
	for _, what := range []string{"hazard ratio, exposure of the heel", "difference of means, exposure of the heel"} {
		within(what+": heels independent", 2, 0.965, 1)
	}
	if checked < 50 {
		t.Errorf("only %d shares found in the table", checked)
	}
}

// sep is what stands between a method and its unit.
func sep(what string) string {
	if strings.HasSuffix(what, "log-log") {
		return ", "
	}
	return ": "
}
