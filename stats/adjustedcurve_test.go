package stats

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

// adjustedByHand is data whose coefficient is known: rows A, B, C and D with
// x = 1, 0, 1, 0 and relative hazards of 1, 2, 2, 1 apart from it (as offsets); A
// has the event at 1, B at 2, C ends at 3 and D at 4. With r = exp(b) the risk
// sets weigh r + 2 + 2r + 1 and 2 + 2r + 1, and the score 1 − r/(r+1) − 2r/(2r+3)
// is 0 where 2r² = 3.
func adjustedByHand(t *testing.T) (Fit, [][][]float64) {
	t.Helper()
	x := [][]float64{{1}, {0}, {1}, {0}}
	f, err := FitCox(
		Times{Exit: []float64{1, 2, 3, 4}, Status: []bool{true, true, false, false}}, x, []string{"x"},
		CoxOptions{Offset: []float64{0, math.Log(2), math.Log(2), 0}})
	must(t, err)
	return f, [][][]float64{atLevel(x, 0), atLevel(x, 1)}
}

func TestAdjustedSurvivalByHand(t *testing.T) {
	f, levels := adjustedByHand(t)
	r := math.Sqrt(1.5)
	first, second := 1/(3*r+3), 1/(2*r+3) // dΛ
	survival := func(g, hazard float64) float64 { return (math.Exp(-g*hazard) + math.Exp(-2*g*hazard)) / 2 }
	// The influence of the rows on b: x − x̄ at the event less w (x − x̄) dΛ at
	// both times, over the information Σ x̄(1−x̄).
	one, two := r/(r+1), 2*r/(2*r+3) // x̄
	information := one*(1-one) + two*(1-two)
	onB := []float64{
		(1 - one) - r*(1-one)*first,
		-two + 2*(one*first+two*second),
		-2 * r * ((1-one)*first + (1-two)*second),
		one*first + two*second,
	}
	// And on Λ(2) and Λ(1), given b: dN/ΣR − w dΛ/ΣR.
	onTwo := []float64{
		first - r*first*first,
		second - 2*(first*first+second*second),
		-2 * r * (first*first + second*second),
		-(first*first + second*second),
	}
	onOne := []float64{first - r*first*first, -2 * first * first, -2 * r * first * first, -first * first}
	type known struct{ value, se float64 }
	influences := func(g, hazard, mean float64, onHazard []float64, sampled bool) []float64 {
		s := survival(g, hazard)
		slope := -(g*math.Exp(-g*hazard) + 2*g*math.Exp(-2*g*hazard)) / 2 // ∂S/∂Λ
		x := 0.0
		if g != 1 {
			x = 1
		}
		var out []float64
		for i, c := range []float64{1, 2, 2, 1} {
			v := slope * (onHazard[i] + (x*hazard-mean)*onB[i]/information)
			if sampled {
				v += (math.Exp(-c*g*hazard) - s) / 4
			}
			out = append(out, v)
		}
		return out
	}
	root := func(v []float64) float64 {
		sum := 0.0
		for _, x := range v {
			sum += x * x
		}
		return math.Sqrt(sum)
	}
	for _, sampled := range []bool{true, false} {
		a, err := f.AdjustedSurvival(levels, AdjustedOptions{Given: !sampled})
		must(t, err)
		if a.End != 4 || len(a.Time) != 2 || a.Time[0] != 1 || a.Time[1] != 2 {
			t.Fatalf("times %v up to %v", a.Time, a.End)
		}
		var atTwo, area [][]float64
		for g, ratio := range []float64{1, r} {
			i1 := influences(ratio, first, one*first, onOne, sampled)
			i2 := influences(ratio, first+second, one*first+two*second, onTwo, sampled)
			// Up to 3.5 the curve is 1 for 1, then for 1 and for 1.5.
			var sum []float64
			for i := range i1 {
				sum = append(sum, i1[i]+1.5*i2[i])
			}
			atTwo, area = append(atTwo, i2), append(area, sum)
			want := []known{{survival(ratio, first), root(i1)}, {survival(ratio, first+second), root(i2)}}
			for k, w := range want {
				if c := a.Curves[g]; !near(c.Survival[k], w.value, 1e-9) || !near(c.SE[k], w.se, 1e-9) {
					t.Errorf("sampled %v, level %d at %v: %v (%v), want %v", sampled, g, a.Time[k], c.Survival[k], c.SE[k], w)
				}
			}
			m, err := a.RestrictedMeans(3.5)
			must(t, err)
			if e := m.Values[g]; !near(e.Value, 1+want[0].value+1.5*want[1].value, 1e-9) || !near(e.SE, root(sum), 1e-9) {
				t.Errorf("mean %v (%v), want %v", e.Value, e.SE, root(sum))
			}
		}
		less := func(v [][]float64) []float64 {
			var out []float64
			for i := range v[0] {
				out = append(out, v[1][i]-v[0][i])
			}
			return out
		}
		at, err := a.At(2.5)
		must(t, err)
		d, err := at.Difference(1, 0)
		must(t, err)
		if !near(d.Value, survival(r, first+second)-survival(1, first+second), 1e-9) || !near(d.SE, root(less(atTwo)), 1e-9) {
			t.Errorf("difference %v (%v)", d.Value, d.SE)
		}
		z := 1.959963984540054
		if !near(d.Upper, d.Value+z*d.SE, 1e-9) || !near(d.Lower, math.Max(-1, d.Value-z*d.SE), 1e-9) {
			t.Errorf("limits %v to %v", d.Lower, d.Upper)
		}
		m, err := a.RestrictedMeans(3.5)
		must(t, err)
		d, err = m.Difference(1, 0)
		must(t, err)
		if !near(d.SE, root(less(area)), 1e-9) {
			t.Errorf("SE of the difference of means %v, want %v", d.SE, root(less(area)))
		}
		// Log-log limits: S^exp(±z SE/(S log S)).
		s, se := at.Values[0].Value, at.Values[0].SE
		spread := math.Exp(z * se / (s * math.Log(s)))
		if !near(at.Values[0].Upper, math.Pow(s, spread), 1e-9) || !near(at.Values[0].Lower, math.Pow(s, 1/spread), 1e-9) {
			t.Errorf("limits %v to %v", at.Values[0].Lower, at.Values[0].Upper)
		}
	}
}

// With the group alone in the model every row of a level has the same curve.
func TestAdjustedSurvivalOfTheGroupAlone(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 5))
	c := randomCase(r, 60, true)
	x := make([][]float64, 60)
	for i := range x {
		x[i] = c.X[i][:1]
	}
	f, err := FitCox(c.times(), x, []string{"group"}, CoxOptions{})
	must(t, err)
	a, err := f.AdjustedSurvival([][][]float64{atLevel(x, 0), atLevel(x, 1)}, AdjustedOptions{})
	must(t, err)
	for g := range 2 {
		h, err := f.CumulativeHazards([]float64{float64(g)})
		must(t, err)
		if len(h[0].Time) != len(a.Time) {
			t.Fatalf("%d times, want %d", len(a.Time), len(h[0].Time))
		}
		for k, v := range h[0].Hazard {
			if !near(a.Curves[g].Survival[k], math.Exp(-v), 1e-12) {
				t.Errorf("level %d at %v: %v, want %v", g, a.Time[k], a.Curves[g].Survival[k], math.Exp(-v))
			}
		}
	}
}

// adjustedStudy is data of children with two heels whose times depend on each
// other, on the group and on a covariate unlike in the groups.
func adjustedStudy(r *rand.Rand, children int) (t Times, x [][]float64, child []int) {
	for c := range children {
		frailty := math.Exp(0.6 * r.NormFloat64())
		measured := r.NormFloat64()
		group := 0.0
		if r.Float64() < 1/(1+math.Exp(-measured)) {
			group = 1
		}
		for range 2 {
			exit := 10 * r.ExpFloat64() / (frailty * math.Exp(0.7*group+0.5*measured))
			stop := 4 + 8*r.Float64()
			t.Exit, t.Status = append(t.Exit, math.Ceil(math.Min(exit, stop))), append(t.Status, exit <= stop)
			x, child = append(x, []float64{group, measured}), append(child, c)
		}
	}
	return t, x, child
}

// adjustedNumbers are survival at 5, its difference, and the same of the
// restricted mean up to 8.
func adjustedNumbers(t *testing.T, times Times, x [][]float64, child []int) []Estimate {
	t.Helper()
	f, err := FitCox(times, x, []string{"group", "measured"}, CoxOptions{Cluster: child})
	must(t, err)
	a, err := f.AdjustedSurvival([][][]float64{atLevel(x, 0), atLevel(x, 1)}, AdjustedOptions{})
	must(t, err)
	var out []Estimate
	at, err := a.At(5)
	must(t, err)
	means, err := a.RestrictedMeans(8)
	must(t, err)
	for _, v := range []AdjustedValues{at, means} {
		d, err := v.Difference(1, 0)
		must(t, err)
		out = append(out, v.Values[0], v.Values[1], d)
	}
	return out
}

// Errors against those of estimates made anew: from samples of the children with
// replacement, and without each child in turn. Of 500 samples a standard
// deviation is known to 3%, so that six numbers stay within 12%; and both differ
// from first-order errors by terms of the order of 1/80.
func TestAdjustedSurvivalAgainstBootstrap(t *testing.T) {
	const children, samples = 80, 500
	times, x, child := adjustedStudy(rand.New(rand.NewPCG(11, 4)), children)
	want := adjustedNumbers(t, times, x, child)
	anew := func(chosen []int) []Estimate {
		var s Times
		var sx [][]float64
		var sc []int
		for k, c := range chosen {
			for i := range times.Exit {
				if child[i] == c {
					s.Exit, s.Status, sx, sc = append(s.Exit, times.Exit[i]), append(s.Status, times.Status[i]), append(sx, x[i]), append(sc, k)
				}
			}
		}
		return adjustedNumbers(t, s, sx, sc)
	}
	deviation := func(list [][]Estimate, j int, scale float64) float64 {
		mean, squares := 0.0, 0.0
		for _, v := range list {
			mean += v[j].Value / float64(len(list))
		}
		for _, v := range list {
			squares += (v[j].Value - mean) * (v[j].Value - mean)
		}
		return math.Sqrt(squares * scale)
	}
	r := rand.New(rand.NewPCG(2, 9))
	var drawn, without [][]Estimate
	for range samples {
		var chosen []int
		for range children {
			chosen = append(chosen, r.IntN(children))
		}
		drawn = append(drawn, anew(chosen))
	}
	for c := range children {
		var chosen []int
		for k := range children {
			if k != c {
				chosen = append(chosen, k)
			}
		}
		without = append(without, anew(chosen))
	}
	for j, e := range want {
		bootstrap := deviation(drawn, j, 1/float64(samples-1))
		jackknife := deviation(without, j, float64(children-1)/children)
		if math.Abs(e.SE/bootstrap-1) > 0.12 || math.Abs(e.SE/jackknife-1) > 0.06 {
			t.Errorf("number %d: SE %v, bootstrap %v, jackknife %v", j, e.SE, bootstrap, jackknife)
		}
	}
}

// A row cut in two pieces of one cluster, of which the first counts in the mean,
// is the row; weights have no unit; and the order of rows does not matter.
func TestAdjustedSurvivalOfPieces(t *testing.T) {
	times, x, _ := adjustedStudy(rand.New(rand.NewPCG(3, 3)), 30)
	n := len(x)
	weights := make([]float64, n)
	for i := range weights {
		weights[i] = 1 + float64(i%3)
	}
	f, err := FitCox(times, x, []string{"group", "measured"}, CoxOptions{Weights: weights})
	must(t, err)
	whole, err := f.AdjustedSurvival([][][]float64{atLevel(x, 0), atLevel(x, 1)}, AdjustedOptions{})
	must(t, err)
	cut := Times{Entry: []float64{}}
	var cx [][]float64
	var child []int
	var cw, mean []float64
	for i := n - 1; i >= 0; i-- {
		add := func(from, to float64, event bool, first float64) {
			cut.Entry, cut.Exit, cut.Status = append(cut.Entry, from), append(cut.Exit, to), append(cut.Status, event)
			cx, child, cw, mean = append(cx, x[i]), append(child, i), append(cw, 7*weights[i]), append(mean, 7*weights[i]*first)
		}
		if times.Exit[i] > 2 {
			add(0, 2, false, 1)
			add(2, times.Exit[i], times.Status[i], 0)
		} else {
			add(0, times.Exit[i], times.Status[i], 1)
		}
	}
	f, err = FitCox(cut, cx, []string{"group", "measured"}, CoxOptions{Weights: cw, Cluster: child})
	must(t, err)
	pieces, err := f.AdjustedSurvival([][][]float64{atLevel(cx, 0), atLevel(cx, 1)}, AdjustedOptions{Weights: mean})
	must(t, err)
	for g := range 2 {
		for k := range whole.Time {
			a, b := whole.Curves[g], pieces.Curves[g]
			if !near(a.Survival[k], b.Survival[k], 1e-9) || !near(a.SE[k], b.SE[k], 1e-9) {
				t.Errorf("level %d at %v: %v (%v) and in pieces %v (%v)", g, whole.Time[k], a.Survival[k], a.SE[k], b.Survival[k], b.SE[k])
			}
		}
	}
}

func TestAdjustedSurvivalRefuses(t *testing.T) {
	times := Times{Exit: []float64{1, 2, 3, 4, 2, 4, 5, 6, 1, 2}, Status: []bool{true, true, false, true, true, true, true, false, false, false}}
	x := [][]float64{{0}, {1}, {0}, {1}, {1}, {0}, {0}, {1}, {0}, {1}}
	strata := []int{1, 1, 1, 1, 2, 2, 2, 2, 3, 3}
	f, err := FitCox(times, x, []string{"x"}, CoxOptions{Strata: strata})
	must(t, err)
	levels := [][][]float64{atLevel(x, 0), atLevel(x, 1)}
	if _, err := f.AdjustedSurvival(levels, AdjustedOptions{}); !errors.Is(err, ErrNoEvents) {
		t.Errorf("a stratum without events: %v", err)
	}
	in := []float64{1, 1, 1, 1, 1, 1, 1, 1, 0, 0}
	a, err := f.AdjustedSurvival(levels, AdjustedOptions{Weights: in})
	must(t, err)
	if a.End != 4 {
		t.Errorf("end %v, want that of the first stratum", a.End)
	}
	if _, err := a.At(4.5); !errors.Is(err, ErrBeyondData) {
		t.Errorf("beyond the first stratum: %v", err)
	}
	if _, err := a.RestrictedMeans(5); !errors.Is(err, ErrBeyondData) {
		t.Errorf("a mean beyond it: %v", err)
	}
	if _, err := a.RestrictedMeans(1); !errors.Is(err, ErrNoEvents) {
		t.Errorf("a mean before the first event: %v", err)
	}
	v, err := a.At(0.5)
	must(t, err)
	if e := v.Values[0]; e.Value != 1 || e.SE != 0 || !math.IsNaN(e.Lower) {
		t.Errorf("before the first event %+v", e)
	}
	if _, err := v.Difference(0, 1); !errors.Is(err, ErrNoVariance) {
		t.Errorf("a difference before the first event: %v", err)
	}
	if _, err := f.AdjustedSurvival(levels, AdjustedOptions{Weights: make([]float64, 10)}); !errors.Is(err, ErrNoData) {
		t.Errorf("weights of 0: %v", err)
	}
	far := atLevel(x, 1e6)
	if _, err := f.AdjustedSurvival([][][]float64{far, far}, AdjustedOptions{Weights: in}); err != nil && !errors.Is(err, ErrNotFinite) {
		t.Errorf("far away: %v", err)
	}
	if _, err := f.AdjustedSurvival([][][]float64{atLevel(x, math.NaN())}, AdjustedOptions{Weights: in}); !errors.Is(err, ErrNotFinite) {
		t.Errorf("not a number: %v", err)
	}
	one, err := FitCox(times, x, []string{"x"}, CoxOptions{})
	must(t, err)
	b, err := one.AdjustedSurvival(levels, AdjustedOptions{})
	must(t, err)
	if b.End != 6 || !warned(b.Warnings, "few-clusters") {
		t.Errorf("end %v, warnings %v", b.End, b.Warnings)
	}
	panics(t, "level 2 of 2", func() { _, _ = v.Difference(2, 0) })
	panics(t, "rows of covariates", func() { _, _ = one.AdjustedSurvival([][][]float64{x[1:]}, AdjustedOptions{}) })
	panics(t, "of no level", func() { _, _ = one.AdjustedSurvival(nil, AdjustedOptions{}) })
	panics(t, "weight -1", func() {
		_, _ = f.AdjustedSurvival(levels, AdjustedOptions{Weights: []float64{-1, 1, 1, 1, 1, 1, 1, 1, 1, 1}})
	})
	exact, err := FitCox(times, x, []string{"x"}, CoxOptions{Ties: TiesExact})
	must(t, err)
	panics(t, "adjusted survival", func() { _, _ = exact.AdjustedSurvival(levels, AdjustedOptions{}) })
}

// Late entry: nobody before 2, and three at risk at 3 before the others come.
func TestAdjustedSurvivalWarns(t *testing.T) {
	var times Times
	var x [][]float64
	for i := range 12 {
		entry := 5.0
		if i < 3 {
			entry = 2
		}
		times.Entry, times.Exit = append(times.Entry, entry), append(times.Exit, float64(6+i))
		times.Status, x = append(times.Status, i%4 != 3), append(x, []float64{float64(i / 2 % 2)})
	}
	times.Exit[0] = 3
	f, err := FitCox(times, x, []string{"x"}, CoxOptions{})
	must(t, err)
	a, err := f.AdjustedSurvival([][][]float64{atLevel(x, 0)}, AdjustedOptions{})
	must(t, err)
	if !warned(a.Warnings, "conditional-start") || !warned(a.Warnings, "small-risk-set") {
		t.Errorf("warnings %v", a.Warnings)
	}
}

func ExampleFit_AdjustedSurvival() {
	t := Times{
		Exit:   []float64{5, 8, 9, 12, 13, 4, 6, 7, 9, 14},
		Status: []bool{true, false, true, true, false, true, true, true, false, true},
	}
	// Pronated or not, and age.
	x := [][]float64{{0, 9}, {0, 12}, {0, 10}, {0, 8}, {0, 11}, {1, 12}, {1, 9}, {1, 13}, {1, 10}, {1, 12}}
	f, _ := FitCox(t, x, []string{"pronated", "age"}, CoxOptions{})
	var levels [][][]float64
	for _, pronated := range []float64{0, 1} {
		var rows [][]float64
		for _, row := range x {
			rows = append(rows, []float64{pronated, row[1]})
		}
		levels = append(levels, rows)
	}
	curves, _ := f.AdjustedSurvival(levels, AdjustedOptions{})
	at, _ := curves.At(10)
	for g, name := range []string{"not pronated", "pronated"} {
		fmt.Printf("%s: %.2f without the event\n", name, at.Values[g].Value)
	}
	// Output:
	// not pronated: 0.61 without the event
	// pronated: 0.42 without the event
}
