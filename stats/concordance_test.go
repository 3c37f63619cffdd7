package stats

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

type concordanceAnswer struct {
	C, SE, DFBeta, Count []number
}

type concordanceOutput struct {
	Version []string
	Cases   []struct{ Larger, Smaller, Model *concordanceAnswer }
}

func randomConcordanceCases(seed uint64, n int) []coxCase {
	r := rand.New(rand.NewPCG(seed, 73))
	var cases []coxCase
	for i := range n {
		cases = append(cases, randomCoxCase(r, 20+r.IntN(100), []string{TiesEfron, TiesBreslow}[i%2]))
	}
	return cases
}

func TestConcordanceAgainstStoredR(t *testing.T) {
	var cases []coxCase
	var out concordanceOutput
	storedCrosscheck(t, "concordance", &cases, &out)
	compareConcordance(t, cases, out, 5)
}

// TestConcordanceAgainstR compares with R on 700 random data sets, with late
// entry, strata, weights and clusters in about half each.
func TestConcordanceAgainstR(t *testing.T) {
	cases := randomConcordanceCases(1, 700)
	var out concordanceOutput
	crosscheck(t, "concordance.R", cases, &out)
	compareConcordance(t, cases, out, 500)
}

// Closed forms on both sides: 1e-8. Models of different coefficients order their
// rows alike.
func compareConcordance(t *testing.T, cases []coxCase, out concordanceOutput, least int) {
	t.Helper()
	if len(out.Cases) != len(cases) || len(cases) == 0 {
		t.Fatalf("%d answers for %d cases", len(out.Cases), len(cases))
	}
	scores, models := 0, 0
	for i, c := range cases {
		want := out.Cases[i]
		same := func(what string, got ConcordanceResult, w *concordanceAnswer) {
			t.Helper()
			pairs := [][2]float64{{got.Concordance.Value, float64(w.C[0])}}
			if !math.IsNaN(got.Concordance.SE) {
				pairs = append(pairs, [2]float64{got.Concordance.SE, float64(w.SE[0])})
			}
			for k, v := range []float64{got.Concordant, got.Discordant, got.TiedScore, got.TiedTime, got.TiedBoth} {
				pairs = append(pairs, [2]float64{v, float64(w.Count[k])})
			}
			if c.Cluster == nil {
				for k, v := range got.Influence {
					pairs = append(pairs, [2]float64{v, float64(w.DFBeta[k])})
				}
			}
			for k, p := range pairs {
				if !near(p[0], p[1], 1e-8) {
					t.Errorf("case %d, %s, quantity %d: %v, want %v", i+1, what, k, p[0], p[1])
				}
			}
		}
		score := make([]float64, len(c.X))
		for k, row := range c.X {
			score[k] = row[len(row)-1]
		}
		opts := ConcordanceOptions{Strata: c.Stratum, Weights: c.Weight, Cluster: c.Cluster}
		r, err := Concordance(c.times(), score, opts)
		must(t, err)
		same("larger is earlier", r, want.Smaller)
		opts.LargerIsLater = true
		r, err = Concordance(c.times(), score, opts)
		must(t, err)
		same("larger is later", r, want.Larger)
		scores++
		f, err := FitCox(c.times(), c.X, c.terms(), c.options())
		if err != nil || want.Model == nil {
			continue
		}
		r, err = f.Concordance(0)
		must(t, err)
		same("model", r, want.Model)
		models++
	}
	t.Logf("%s: %d scores, %d models", out.Version, scores, models)
	if scores < least || models < least*3/4 {
		t.Error("too few compared")
	}
}

// By hand: a has the event at 1, b at 2, c is censored at 2 and d enters at 1 and
// has the event at 3. Comparable are a with b and c, and b with c and d; c with
// d is not. Of the scores 4, 3, 3, 5 the first two pairs are concordant, b and c
// tied, b and d discordant.
func TestConcordanceByHand(t *testing.T) {
	times := Times{Entry: []float64{0, 0, 0, 1}, Exit: []float64{1, 2, 2, 3}, Status: []bool{true, true, false, true}}
	r, err := Concordance(times, []float64{4, 3, 3, 5}, ConcordanceOptions{})
	must(t, err)
	if r.Concordant != 2 || r.Discordant != 1 || r.TiedScore != 1 || r.TiedTime != 0 || r.TiedBoth != 0 || r.Concordance.Value != 2.5/4 {
		t.Errorf("%+v", r)
	}
	// Influence: (concordant + tied/2 − C comparable)/4 of each row.
	for i, want := range []float64{(2 - 0.625*2) / 4, (1.5 - 0.625*3) / 4, (1.5 - 0.625*2) / 4, (0 - 0.625) / 4} {
		if !near(r.Influence[i], want, 1e-15) {
			t.Errorf("influence %v, want %v at %d", r.Influence, want, i)
		}
	}
	if r.Concordance.Lower <= 0 || r.Concordance.Upper >= 1 || !(r.Concordance.P > 0.3) {
		t.Errorf("limits %+v", r.Concordance)
	}
}

// plainPairs goes through all pairs.
func plainPairs(t Times, score, weight []float64, strata []int) (concordant, discordant, tied, tiedTime, tiedBoth float64) {
	for i := range t.Exit {
		for j := range t.Exit {
			if i == j || strata[i] != strata[j] || !t.Status[i] || t.entry(j) >= t.Exit[i] && t.Entry != nil || t.Exit[j] < t.Exit[i] {
				continue
			}
			w := weight[i] * weight[j]
			switch both := t.Status[j] && t.Exit[j] == t.Exit[i]; {
			case both && score[i] == score[j]:
				tiedBoth += w / 2
			case both:
				tiedTime += w / 2
			case score[i] > score[j]:
				concordant += w
			case score[i] < score[j]:
				discordant += w
			default:
				tied += w
			}
		}
	}
	return concordant, discordant, tied, tiedTime, tiedBoth
}

// The pairs are those of going through all of them, and the influence is the
// slope of C in the row's weight, by difference.
func TestConcordanceIsThatOfAllPairs(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 73))
	for range 100 {
		c := randomCoxCase(r, 10+r.IntN(40), TiesEfron)
		n := len(c.Exit)
		score, weight, strata := make([]float64, n), make([]float64, n), make([]int, n)
		for i := range n {
			score[i], weight[i], strata[i] = c.X[i][0]+float64(r.IntN(3)), 1+float64(r.IntN(9))/4, r.IntN(2)
		}
		got, err := Concordance(c.times(), score, ConcordanceOptions{Weights: weight, Strata: strata})
		if errors.Is(err, ErrNoVariance) || errors.Is(err, ErrNoEvents) {
			continue
		}
		must(t, err)
		a, d, e, f, g := plainPairs(c.times(), score, weight, strata)
		if !near(got.Concordant, a, 1e-11) || !near(got.Discordant, d, 1e-11) || !near(got.TiedScore, e, 1e-11) || !near(got.TiedTime, f, 1e-11) || !near(got.TiedBoth, g, 1e-11) {
			t.Errorf("%v, want %v %v %v %v %v", got, a, d, e, f, g)
		}
		i := r.IntN(n)
		c0 := func(w float64) float64 {
			other := append([]float64{}, weight...)
			other[i] = w
			a, d, e, _, _ := plainPairs(c.times(), score, other, strata)
			return (a + e/2) / (a + d + e)
		}
		if slope := (c0(weight[i]+1e-4) - c0(weight[i]-1e-4)) / 2e-4; math.Abs(got.Influence[i]-weight[i]*slope) > 1e-6 {
			t.Errorf("influence %v, want %v", got.Influence[i], weight[i]*slope)
		}
	}
}

func TestConcordanceRefuses(t *testing.T) {
	times := Times{Exit: []float64{1, 2, 3}, Status: []bool{true, true, false}}
	score := []float64{3, 2, 1}
	for _, c := range []struct {
		times Times
		score []float64
		opts  ConcordanceOptions
		want  error
	}{
		{Times{}, nil, ConcordanceOptions{}, ErrNoData},
		{Times{Exit: []float64{1, 2}, Status: []bool{false, false}}, score[:2], ConcordanceOptions{}, ErrNoEvents},
		{Times{Exit: []float64{1, 1}, Status: []bool{true, true}}, score[:2], ConcordanceOptions{}, ErrNoVariance},
		{times, []float64{1, math.NaN(), 2}, ConcordanceOptions{}, ErrNotFinite},
		{times, score, ConcordanceOptions{Weights: []float64{1, 0, 1}}, ErrNotPositive},
		{times, score, ConcordanceOptions{Cluster: []int{1, 1, 1}}, ErrTooFewClusters},
		{times, score, ConcordanceOptions{Strata: []int{1, 2, 3}}, ErrNoVariance},
	} {
		if _, err := Concordance(c.times, c.score, c.opts); !errors.Is(err, c.want) {
			t.Errorf("%v, want %v", err, c.want)
		}
	}
	r, err := Concordance(times, score, ConcordanceOptions{})
	must(t, err)
	if r.Concordance.Value != 1 || !math.IsNaN(r.Concordance.SE) || !math.IsNaN(r.Concordance.Upper) || !warned(r.Concordance.Warnings, "no-variation") {
		t.Errorf("all concordant: %+v", r.Concordance)
	}
	panics(t, "scores", func() { _, _ = Concordance(times, score[:2], ConcordanceOptions{}) })
	panics(t, "no Cox model", func() { _, _ = Fit{}.Concordance(0) })
}

func BenchmarkConcordance(b *testing.B) {
	r := rand.New(rand.NewPCG(1, 1))
	var times Times
	var score []float64
	for range 200_000 {
		entry := 100 * r.Float64()
		times.Entry, times.Exit = append(times.Entry, entry), append(times.Exit, entry+100*r.ExpFloat64()+1)
		times.Status, score = append(times.Status, r.IntN(3) > 0), append(score, r.NormFloat64())
	}
	for b.Loop() {
		if _, err := Concordance(times, score, ConcordanceOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}

func ExampleConcordance() {
	times := Times{Exit: []float64{5, 8, 12, 12, 20}, Status: []bool{true, true, false, true, false}}
	r, _ := Concordance(times, []float64{9, 4, 5, 4, 1}, ConcordanceOptions{})
	fmt.Printf("C %.3f of %g pairs\n", r.Concordance.Value, r.Concordant+r.Discordant+r.TiedScore)
	// Output: C 0.722 of 9 pairs
}
