package stats

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// A fineGrayCase is a data set of causes 0 to 3, of which 1 is modelled; a nil
// slice is not given.
type fineGrayCase struct {
	Entry   []float64   `json:"entry"`
	Exit    []float64   `json:"exit"`
	Cause   []int       `json:"cause"`
	Cluster []int       `json:"cluster"`
	X       [][]float64 `json:"x"`
}

func (c fineGrayCase) times() CompetingTimes { return CompetingTimes{c.Entry, c.Exit, c.Cause} }

func (c fineGrayCase) terms() []string { return survivalCase{X: c.X}.terms() }

// randomFineGray draws rows with heavy ties, one to three columns that bear on
// the times, clusters in half, and late entry where asked for.
func randomFineGray(r *rand.Rand, n int, late bool) fineGrayCase {
	var c fineGrayCase
	days, p := 5+r.IntN(40), 1+r.IntN(3)
	pairs := r.IntN(2) == 1
	for i := range n {
		row := make([]float64, p)
		eta := 0.0
		for j := range row {
			switch j {
			case 0:
				row[j] = float64(r.IntN(2))
			case 1:
				row[j] = float64(r.IntN(9)) - 20
			default:
				row[j] = r.NormFloat64()
			}
			eta += 0.3 * row[j]
		}
		exit := 1 + math.Floor(math.Min(float64(days), float64(days)*r.ExpFloat64()*math.Exp(-eta/4)))
		entry := 0.0
		if late && i >= n/3 && r.IntN(2) == 0 {
			entry = float64(r.IntN(int(exit)))
		}
		c.Entry, c.Exit, c.X = append(c.Entry, entry), append(c.Exit, exit), append(c.X, row)
		c.Cause = append(c.Cause, []int{0, 0, 1, 1, 1, 2, 2, 3}[r.IntN(8)])
		if pairs {
			c.Cluster = append(c.Cluster, i/2)
		}
	}
	if !late {
		c.Entry = nil
	}
	return c
}

type fineGrayAnswer struct {
	Failed, Warned          []bool
	Coefficients            []number
	Covariance, Information [][]number
	LogLik                  []number
	Wald                    []number
	Time, Incidence         []number
}

type fineGrayOutput struct {
	Version []string
	Cases   []struct {
		Crr            *fineGrayAnswer
		Efron, Breslow fineGrayAnswer
	}
}

// TestFineGrayAgainstStoredR compares with the committed output of finegray.R
// on finegray_input.json.
func TestFineGrayAgainstStoredR(t *testing.T) {
	var cases []fineGrayCase
	var out fineGrayOutput
	storedCrosscheck(t, "finegray", &cases, &out)
	compareFineGray(t, cases, out, 4)
}

// TestFineGrayAgainstR compares with R itself on 900 random data sets, a third
// of them with late entry.
func TestFineGrayAgainstR(t *testing.T) {
	t.Parallel()
	var out fineGrayOutput
	cases := randomFineGrays(900)
	crosscheck(t, "finegray.R", cases, &out)
	t.Log(out.Version)
	compareFineGray(t, cases, out, 500)
}

func randomFineGrays(sets int) []fineGrayCase {
	r := rand.New(rand.NewPCG(99, 496))
	var cases []fineGrayCase
	for i := range sets {
		cases = append(cases, randomFineGray(r, 30+r.IntN(90), i%3 == 2))
	}
	return cases
}

// compareFineGray wants at least so many fits compared with crr; half as many
// of those have late entry.
func compareFineGray(t *testing.T, cases []fineGrayCase, out fineGrayOutput, least int) {
	t.Helper()
	if len(out.Cases) != len(cases) || len(cases) == 0 {
		t.Fatalf("%d answers for %d cases", len(out.Cases), len(cases))
	}
	compared := map[string]int{}
	for i, c := range cases {
		late := c.Entry != nil
		if late && slices.Max(c.Entry) == slices.Min(c.Exit) {
			continue // finegray takes no entry as late
		}
		want := out.Cases[i]
		if !late {
			opts := FineGrayOptions{Ties: TiesBreslow}
			if compareFineGrayFit(t, i, "crr", c, opts, *want.Crr) {
				compared["crr"]++
			}
		}
		for _, w := range []struct {
			ties   string
			answer fineGrayAnswer
		}{{TiesEfron, want.Efron}, {TiesBreslow, want.Breslow}} {
			opts := FineGrayOptions{Ties: w.ties, Cluster: c.Cluster, KnownWeights: !late}
			if compareFineGrayFit(t, i, w.ties, c, opts, w.answer) {
				compared[w.ties]++
				if late {
					compared["late"]++
				}
			}
		}
	}
	t.Log(compared)
	for name, n := range map[string]int{"crr": least, TiesEfron: least, TiesBreslow: least, "late": least / 2} {
		if compared[name] < n {
			t.Errorf("%s: %d fits compared, expected %d", name, compared[name], n)
		}
	}
}

func compareFineGrayFit(t *testing.T, i int, name string, c fineGrayCase, opts FineGrayOptions, want fineGrayAnswer) bool {
	t.Helper()
	f, err := FitFineGray(c.times(), 1, c.X, c.terms(), opts)
	if err != nil {
		largest := 0.0
		for _, b := range want.Coefficients {
			largest = math.Max(largest, math.Abs(float64(b)))
		}
		known := errors.Is(err, ErrSeparation) || errors.Is(err, ErrCollinear)
		if want.Failed[0] && errors.Is(err, ErrUnobserved) || known && !(largest < 8) || errors.Is(err, ErrSplitRows) {
			return false
		}
		t.Errorf("case %d, %s: %v, want %v", i+1, name, err, want.Coefficients)
		return false
	}
	if want.Failed[0] {
		t.Errorf("case %d, %s: fitted here, but not by R", i+1, name)
		return false
	}
	const close = 1e-6
	bad := func(what string, got float64, want number) {
		t.Helper()
		if !near(got, float64(want), close) {
			t.Errorf("case %d, %s: %s %v, want %v", i+1, name, what, got, want)
		}
	}
	bad("log likelihood at 0", f.NullLogLik, want.LogLik[0])
	bad("log likelihood", f.LogLik, want.LogLik[1])
	if len(want.Wald) > 0 {
		bad("Wald test", f.Tests[0].Statistic, want.Wald[0])
	}
	for j := range f.Coefficients {
		bad("coefficient", f.Coefficients[j], want.Coefficients[j])
		bad("model-based variance, relative", f.ModelSE[j]*f.ModelSE[j]/float64(want.Information[j][j]), 1)
		for k := range f.Coefficients {
			unit := f.SE[j] * f.SE[k]
			bad("covariance in these errors", f.Covariance[j][k]/unit, number(float64(want.Covariance[j][k])/unit))
		}
	}
	times := make([]float64, len(want.Time))
	for s, at := range want.Time {
		times[s] = float64(at)
	}
	points, err := f.PredictedIncidence(c.X[0], times, IncidenceOptions{})
	must(t, err)
	for s, p := range points {
		bad("incidence", p.Incidence, want.Incidence[s])
	}
	return true
}
