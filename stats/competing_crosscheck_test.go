package stats

import (
	"math"
	"math/rand/v2"
	"testing"
)

// A competingCase is what competing.R reads.
type competingCase struct {
	Entry   []float64 `json:"entry"`
	Exit    []float64 `json:"exit"`
	Cause   []int     `json:"cause"`
	Group   []int     `json:"group"`
	Stratum []int     `json:"stratum"`
	Cluster []int     `json:"cluster"`
}

func (c competingCase) times(late bool) CompetingTimes {
	if late {
		return CompetingTimes{c.Entry, c.Exit, c.Cause}
	}
	return CompetingTimes{nil, c.Exit, c.Cause}
}

func (c competingCase) late() bool {
	for _, e := range c.Entry {
		if e > 0 {
			return true
		}
	}
	return false
}

// randomCompeting draws rows with heavy ties, two causes, groups, strata and
// pairs for clusters. With late entry some rows are at risk from the start.
func randomCompeting(r *rand.Rand, n int, late bool) competingCase {
	var c competingCase
	days := 4 + r.IntN(30)
	for i := range n {
		entry, exit := 0, 1+r.IntN(days)
		if late && i >= n/3 && r.IntN(2) == 0 {
			entry = r.IntN(exit)
		}
		c.Entry, c.Exit = append(c.Entry, float64(entry)), append(c.Exit, float64(exit))
		c.Cause = append(c.Cause, r.IntN(3))
		c.Group, c.Stratum = append(c.Group, i%3), append(c.Stratum, r.IntN(2))
		c.Cluster = append(c.Cluster, i/2)
	}
	return c
}

type competingOutput struct {
	Version []string
	Cases   []struct {
		Incidence struct {
			Time, Free    []float64
			Incidence     [][]float64
			SE, Clustered [][]float64
			Lower, Upper  [][][]number
		}
		Gray *struct{ Plain, Rho, Strata grayAnswer }
	}
}

type grayAnswer struct {
	Cause        []int
	Statistic, P []number
	DF           []float64
}

func TestCompetingAgainstStoredR(t *testing.T) {
	var cases []competingCase
	var out competingOutput
	storedCrosscheck(t, "competing", &cases, &out)
	compareCompeting(t, cases, out)
}

// TestCompetingAgainstR compares with R on 500 random data sets, a third of
// them with late entry.
func TestCompetingAgainstR(t *testing.T) {
	r := rand.New(rand.NewPCG(61, 4))
	var cases []competingCase
	for i := range 500 {
		cases = append(cases, randomCompeting(r, 10+r.IntN(70), i%3 == 2))
	}
	var out competingOutput
	crosscheck(t, "competing.R", cases, &out)
	compareCompeting(t, cases, out)
}

// Both sides add the same fractions: 1e-8 leaves room for their order.
func compareCompeting(t *testing.T, cases []competingCase, out competingOutput) {
	t.Helper()
	if len(out.Cases) != len(cases) || len(cases) == 0 {
		t.Fatalf("%d answers for %d cases", len(out.Cases), len(cases))
	}
	const close = 1e-8
	tests := 0
	for i, c := range cases {
		want := out.Cases[i].Incidence
		late := c.late()
		for k, limits := range []string{LimitsLogLog, LimitsLog, LimitsPlain} {
			got, err := CumulativeIncidence(c.times(late), 2, IncidenceOptions{Limits: limits})
			must(t, err)
			robust, err := CumulativeIncidence(c.times(late), 2, IncidenceOptions{Limits: limits, Cluster: c.Cluster})
			must(t, err)
			for s, at := range want.Time {
				if got.Time[s] != at || !near(got.EventFree[s], want.Free[s], close) {
					t.Fatalf("case %d, step %d: time and event-free %v %v, want %v %v", i+1, s, got.Time[s], got.EventFree[s], at, want.Free[s])
				}
				for cause := range 2 {
					pairs := [][2]float64{
						{got.Incidence[cause][s], want.Incidence[cause][s]},
						{robust.SE[cause][s], want.Clustered[cause][s]},
					}
					if !late { // with late entry survival has the squared influences, not Greenwood's
						pairs = append(pairs, [2]float64{got.SE[cause][s], want.SE[cause][s]})
						if f := got.Incidence[cause][s]; f > 0 && f < 1 { // limits there are NaN here and conventions there
							lower, upper := float64(want.Lower[k][cause][s]), float64(want.Upper[k][cause][s])
							pairs = append(pairs, [2]float64{got.Lower[cause][s], lower}, [2]float64{got.Upper[cause][s], upper})
						}
					}
					for j, p := range pairs {
						if !near(p[0], p[1], close) {
							t.Fatalf("case %d, %s, cause %d at %v, quantity %d: got %v, want %v", i+1, limits, cause+1, at, j, p[0], p[1])
						}
					}
				}
			}
		}
		if out.Cases[i].Gray == nil {
			continue
		}
		gray := *out.Cases[i].Gray
		for _, g := range []struct {
			name string
			opts GrayOptions
			want grayAnswer
		}{{"plain", GrayOptions{}, gray.Plain}, {"rho", GrayOptions{Rho: 1}, gray.Rho}, {"strata", GrayOptions{Strata: c.Stratum}, gray.Strata}} {
			for j, cause := range g.want.Cause {
				if cause == 0 {
					continue
				}
				if g.want.Statistic[j] == -1 {
					continue // given up there: a group is never compared, which lowers the degrees of freedom here
				}
				got, err := GrayTest(c.times(false), cause, c.Group, 3, g.opts)
				must(t, err)
				tests++
				if want := float64(g.want.Statistic[j]); !near(got.Test.Statistic, want, close) || got.Test.DF != g.want.DF[j] || math.Abs(got.Test.P-float64(g.want.P[j])) > close {
					t.Errorf("case %d, Gray's test %s, cause %d: %v on %v, want %v on %v", i+1, g.name, cause, got.Test.Statistic, got.Test.DF, want, g.want.DF[j])
				}
			}
		}
	}
	t.Logf("%s: %d tests compared", out.Version, tests)
	if tests < len(cases) {
		t.Errorf("%d of Gray's tests compared", tests)
	}
}
