package stats

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"
)

type proportionalityScale struct {
	Chisq, P, Time               []number
	Both                         []number
	Approximate, ApproximateBoth []number
	Y, Var                       [][]number
	Smooth                       []struct {
		Row        []int
		Smooth, SE []number
	}
}

type proportionalityOutput struct {
	Version []string
	Cases   []struct {
		Failed             []bool
		Row                []int
		KM, Identity, Rank *proportionalityScale
		Log                *proportionalityScale
	}
}

func randomProportionalityCases(seed uint64, n int) []coxCase {
	r := rand.New(rand.NewPCG(seed, 71))
	var cases []coxCase
	for i := range n {
		c := randomCoxCase(r, 30+r.IntN(90), []string{TiesEfron, TiesBreslow}[i%2])
		cases = append(cases, c)
	}
	return cases
}

func TestProportionalHazardsAgainstStoredR(t *testing.T) {
	var cases []coxCase
	var out proportionalityOutput
	storedCrosscheck(t, "proportionality", &cases, &out)
	compareProportionality(t, cases, out, 4)
}

// TestProportionalHazardsAgainstR compares with R on 600 random data sets, with
// late entry, strata, weights, offsets and clusters in about half each.
func TestProportionalHazardsAgainstR(t *testing.T) {
	t.Parallel()
	cases := randomProportionalityCases(5, 600)
	var out proportionalityOutput
	crosscheck(t, "proportionality.R", cases, &out)
	compareProportionality(t, cases, out, 500)
}

// Both iterate for the coefficients: 1e-6.
func compareProportionality(t *testing.T, cases []coxCase, out proportionalityOutput, least int) {
	t.Helper()
	if len(out.Cases) != len(cases) || len(cases) == 0 {
		t.Fatalf("%d answers for %d cases", len(out.Cases), len(cases))
	}
	fits, tests, joint, residuals, smooths, approximate, untestable, otherwise := 0, 0, 0, 0, 0, 0, 0, 0
	for i, c := range cases {
		want := out.Cases[i]
		f, err := FitCox(c.times(), c.X, c.terms(), c.options())
		if err != nil || want.Failed[0] {
			continue
		}
		fits++
		same := func(what string, got float64, w number, tolerance float64) {
			t.Helper()
			if !near(got, float64(w), tolerance) {
				t.Errorf("case %d, %s: %v, want %v", i+1, what, got, w)
			}
		}
		for _, scale := range []struct {
			name string
			want *proportionalityScale
		}{{"", want.KM}, {TimeIdentity, want.Identity}, {TimeRank, want.Rank}, {TimeLog, want.Log}} {
			w := scale.want
			if w == nil {
				continue
			}
			p := len(f.Terms)
			r, err := f.ProportionalHazards(ProportionalHazardsOptions{Time: scale.name})
			if errors.Is(err, ErrNoVariance) {
				untestable++
				continue
			}
			must(t, err)
			for j, test := range append(r.Terms, r.Global) {
				if math.IsNaN(test.Statistic) {
					untestable++
					continue
				}
				tests++
				same(r.Time+" statistic of "+test.Name, test.Statistic, w.Chisq[j], 1e-6)
				same(r.Time+" P of "+test.Name, test.P, w.P[j], 1e-6)
			}
			both := []TermColumns{{"both", []int{0, 1}}}
			if w.Both != nil {
				r, err := f.ProportionalHazards(ProportionalHazardsOptions{Time: scale.name, Terms: both})
				must(t, err)
				if !math.IsNaN(r.Terms[0].Statistic) {
					joint++
					same(r.Time+" statistic of two columns", r.Terms[0].Statistic, w.Both[0], 1e-6)
					same("its degrees of freedom", r.Terms[0].DF, w.Both[1], 0)
				}
			}
			if w.Approximate != nil {
				approximate++
				r, err := f.ProportionalHazards(ProportionalHazardsOptions{Time: scale.name, Approximate: true})
				must(t, err)
				for j, test := range append(r.Terms, r.Global) {
					same(r.Time+" approximate statistic of "+test.Name, test.Statistic, w.Approximate[j], 1e-6)
				}
				if w.ApproximateBoth != nil {
					r, err := f.ProportionalHazards(ProportionalHazardsOptions{Time: scale.name, Approximate: true, Terms: both})
					must(t, err)
					same("approximate statistic of two columns", r.Terms[0].Statistic, w.ApproximateBoth[0], 1e-6)
				}
			}
			if w.Y == nil {
				continue
			}
			s, err := f.ScaledSchoenfeld(scale.name)
			if errors.Is(err, ErrNoVariance) {
				untestable++
				continue
			}
			must(t, err)
			if missing(s.Residual) != missingNumbers(w.Y) {
				// R takes a column to vary in a stratum that varies only among rows
				// that are at risk at no event.
				otherwise++
				continue
			}
			residuals++
			place := map[int]int{}
			for k, row := range s.Row {
				place[row] = k
			}
			for k, row := range want.Row {
				at := place[row-1]
				same("time", s.ScaleTime[at], w.Time[k], 1e-9)
				for j := range p {
					same("residual of "+s.Terms[j], s.Residual[at][j], w.Y[k][j], 1e-6)
				}
			}
			for j := range p {
				for h := range p {
					same("variance", s.Variance[j][h], w.Var[j][h], 1e-6)
				}
				if len(w.Smooth[j].Smooth) == 0 {
					continue
				}
				curve, err := s.Smooth(j, SmoothOptions{})
				must(t, err)
				smooths++
				value := map[float64][2]float64{}
				for k, at := range curve.Time {
					value[at] = [2]float64{curve.Smooth[k], curve.SE[k]}
				}
				for k, row := range w.Smooth[j].Row {
					got := value[c.Exit[row-1]]
					same("smooth of "+s.Terms[j], got[0], w.Smooth[j].Smooth[k], 1e-6)
					same("SE of the smooth of "+s.Terms[j], got[1], w.Smooth[j].SE[k], 1e-6)
				}
			}
		}
	}
	t.Logf("%s: %d fits, %d tests, %d of two columns, %d approximate, %d sets of residuals, %d smooths, %d not estimable, %d strata seen otherwise",
		out.Version, fits, tests, joint, approximate, residuals, smooths, untestable, otherwise)
	if fits < least || tests < 4*least || residuals < 2*least || smooths < 2*least || untestable > tests/20 || otherwise > fits/20 {
		t.Error("too few compared")
	}
}

func missing(rows [][]float64) (n int) {
	for _, row := range rows {
		for _, v := range row {
			if math.IsNaN(v) {
				n++
			}
		}
	}
	return n
}

func missingNumbers(rows [][]number) (n int) {
	for _, row := range rows {
		for _, v := range row {
			if math.IsNaN(float64(v)) {
				n++
			}
		}
	}
	return n
}
