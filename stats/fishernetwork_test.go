package stats

import (
	"errors"
	"fmt"
	"math"
	"math/big"
	"math/rand/v2"
	"testing"

	"heelcohort/stats/internal/published"
)

func TestFisherJob(t *testing.T) {
	want := published.Load(t, "agresti-2002-job")
	table := make([][]int, 4)
	for _, column := range []string{"very_dissatisfied", "little_dissatisfied", "moderately_satisfied", "very_satisfied"} {
		for i, n := range want.Ints(column) {
			table[i] = append(table[i], n)
		}
	}
	test, err := Fisher(table)
	must(t, err)
	want.Check("p", test.P)
}

// By hand: with all margins 1, the six tables are equally probable. With all
// margins 2 there are 6 tables like 2 0 0 / 0 2 0 / 0 0 2 of probability
// 64/(720·8) = 1/90, 9 with one 2 and four 1s of 4/90, and 6 of two 1s in each
// row and column of 8/90.
func TestFisherNetworkByHand(t *testing.T) {
	for _, c := range []struct {
		table [][]int
		want  float64
	}{
		{[][]int{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}, 1},
		{[][]int{{2, 0, 0}, {0, 2, 0}, {0, 0, 2}}, 6.0 / 90},
		{[][]int{{2, 0, 0}, {0, 1, 1}, {0, 1, 1}}, 42.0 / 90},
		{[][]int{{1, 1, 0}, {0, 1, 1}, {1, 0, 1}}, 1},
		{[][]int{{2, 0, 0, 0}, {0, 0, 0, 0}, {0, 2, 0, 0}, {0, 0, 2, 0}}, 6.0 / 90},
	} {
		test, err := Fisher(c.table)
		must(t, err)
		if !near(test.P, c.want, 1e-12) {
			t.Errorf("%v: p %v, want %v", c.table, test.P, c.want)
		}
	}
}

// fisherPlainWide enumerates all tables in exact integers: N!/Π x! each.
func fisherPlainWide(table [][]int) float64 {
	rows, columns, n := margins(table)
	weight := func(cells []int) *big.Int {
		w := new(big.Int).MulRange(1, int64(n))
		for _, x := range cells {
			w.Quo(w, new(big.Int).MulRange(1, int64(x)))
		}
		return w
	}
	var seen []int
	for _, row := range table {
		seen = append(seen, row...)
	}
	observed, tail, total := weight(seen), new(big.Int), new(big.Int)
	cells := make([]int, len(seen))
	left := append([]int(nil), columns...)
	var walk func(i, j, r int)
	walk = func(i, j, r int) {
		if j == len(columns) {
			if r != 0 {
				return
			}
			if i == len(rows)-1 {
				w := weight(cells)
				total.Add(total, w)
				if w.Cmp(observed) <= 0 {
					tail.Add(tail, w)
				}
				return
			}
			walk(i+1, 0, rows[i+1])
			return
		}
		for x := 0; x <= min(r, left[j]); x++ {
			cells[i*len(columns)+j] = x
			left[j] -= x
			walk(i, j+1, r-x)
			left[j] += x
		}
	}
	walk(0, 0, rows[0])
	p, _ := new(big.Rat).SetFrac(tail, total).Float64()
	return p
}

func TestFisherNetworkAgainstPlain(t *testing.T) {
	r := rand.New(rand.NewPCG(83, 427))
	for range 500 {
		table := randomTable(r, 3, 3+r.IntN(2), 2+r.IntN(2))
		want := fisherPlainWide(table)
		got, err := Fisher(table)
		must(t, err)
		tall, err := Fisher(transpose(table))
		must(t, err)
		if !nearRelative(got.P, want, 1e-10) || !nearRelative(tall.P, want, 1e-10) {
			t.Errorf("%v: p %v, on its side %v, want %v", table, got.P, tall.P, want)
		}
	}
}

// A two by k table goes through the network as through its own search.
func TestFisherNetworkTwoRows(t *testing.T) {
	r := rand.New(rand.NewPCG(83, 428))
	for range 300 {
		table := randomTable(r, 2, 3+r.IntN(3), 12)
		one, ok := fisherNetwork(table)
		two, ok2 := fisherTwoByK(table[0], table[1])
		if !ok || !ok2 || !nearRelative(one, two, 1e-9) {
			t.Errorf("%v: network %v, search %v", table, one, two)
		}
	}
}

func ExampleFisherSimulated() {
	table := [][]int{{30, 40, 50, 20}, {20, 60, 70, 10}, {35, 50, 90, 30}, {12, 33, 41, 17}}
	_, err := Fisher(table)
	fmt.Println(err)
	test, err := FisherSimulated(table, SimulationOptions{Tables: 20_000})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("p = %.2f, standard error below 0.001: %v\n", test.P, test.SE < 0.001)
	// Output:
	// Fisher exact test: too large for exact enumeration: 608 persons in 4 by 4 cells
	// p = 0.02, standard error below 0.001: true
}

// The estimate is within 4.5 standard errors of the exact value (one in 150,000
// beyond, of 60 tables); the same seed gives the same, and P is never 0.
func TestFisherSimulated(t *testing.T) {
	r := rand.New(rand.NewPCG(81, 91))
	for i := range 60 {
		table := randomTable(r, 2+r.IntN(3), 2+r.IntN(3), 2+r.IntN(7))
		exact, err := Fisher(table)
		must(t, err)
		opts := SimulationOptions{Tables: 5000, Seed: uint64(i)}
		got, err := FisherSimulated(table, opts)
		must(t, err)
		se := math.Sqrt(exact.P*(1-exact.P)/5000) + 2.0/5000
		if math.Abs(got.P-exact.P) > 4.5*se || !(got.P > 0 && got.P <= 1) || !warned(got.Warnings, "simulated") || got.Tables != 5000 || got.Seed != uint64(i) {
			t.Errorf("%v: simulated %+v, exact %v", table, got, exact.P)
		}
		again, err := FisherSimulated(table, opts)
		must(t, err)
		if again.P != got.P {
			t.Errorf("%v: the same seed gives %v and %v", table, got.P, again.P)
		}
	}
	for _, c := range []struct {
		table [][]int
		want  error
	}{
		{nil, ErrNoData},
		{[][]int{{0, 0}, {0, 0}}, ErrNoData},
		{[][]int{{1, 2, 3}}, ErrNoVariance},
		{[][]int{{1, 0}, {2, 0}}, ErrNoVariance},
	} {
		if _, err := FisherSimulated(c.table, SimulationOptions{}); !errors.Is(err, c.want) {
			t.Errorf("%v: error %v, want %v", c.table, err, c.want)
		}
	}
	panics(t, "-1 random tables", func() { _, _ = FisherSimulated([][]int{{1, 2}, {2, 1}}, SimulationOptions{Tables: -1}) })
}

// Drawn counts have the hypergeometric distribution: a chi-square over 20,000
// draws, each cell of which is expected 5 or more, is below its 1 in 100,000
// point.
func TestRandomHypergeometric(t *testing.T) {
	const draws = 20000
	source := rand.New(rand.NewPCG(1981, 30))
	logs := logFactorials(60)
	for _, c := range [][3]int{{7, 9, 20}, {12, 30, 60}, {3, 58, 60}, {25, 25, 50}} {
		h := newHypergeometric(c[0], c[2]-c[0], c[1])
		count := make([]int, len(h.log))
		for range draws {
			count[randomHypergeometric(source, c[0], c[1], c[2], logs)-h.low]++
		}
		total := 0.0
		for _, w := range h.log {
			total += math.Exp(w)
		}
		statistic, cells, otherSeen, otherWant := 0.0, 0.0, 0.0, 0.0
		for i, w := range h.log {
			e := draws * math.Exp(w) / total
			if e < 5 {
				otherSeen += float64(count[i])
				otherWant += e
				continue
			}
			cells++
			statistic += (float64(count[i]) - e) * (float64(count[i]) - e) / e
		}
		if p := chiSquaredTail(statistic, cells-1); p < 1e-5 || otherSeen > otherWant+6*math.Sqrt(otherWant)+6 {
			t.Errorf("%v: counts %v, p %v", c, count, p)
		}
	}
}
