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

func ExampleFisher() {
	test, err := Fisher([][]int{{3, 1}, {1, 3}})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("p = %.3f\n", test.P)
	// Output: p = 0.486
}

func TestFisherTea(t *testing.T) {
	want := published.Load(t, "fisher-1935")
	milk, tea := want.Ints("guessed_milk"), want.Ints("guessed_tea")
	test, err := Fisher([][]int{{milk[0], tea[0]}, {milk[1], tea[1]}})
	must(t, err)
	want.Check("p_two_sided", test.P)
	_, _, upper := newHypergeometric(milk[0]+tea[0], milk[1]+tea[1], milk[0]+milk[1]).moments(0, milk[0])
	want.Check("p_one_sided", upper)
	odds, err := OddsRatioExact(milk[0], tea[0], milk[1], tea[1], LimitOptions{})
	must(t, err)
	want.Check("conditional_or", odds.Value)
	want.Check("or_upper", odds.Upper)
	// The printed lower limit is that of a one-sided interval at 95%.
	oneSided, err := OddsRatioExact(milk[0], tea[0], milk[1], tea[1], LimitOptions{Level: 0.9})
	must(t, err)
	want.Check("or_lower_one_sided", oneSided.Lower)
}

// fisherPlain enumerates all tables in exact integers.
func fisherPlain(table [][]int) float64 {
	_, columns, _ := margins(table)
	r, total := 0, 0
	weight := func(first []int) *big.Int {
		w := big.NewInt(1)
		for j, c := range columns {
			w.Mul(w, new(big.Int).Binomial(int64(c), int64(first[j])))
		}
		return w
	}
	for j, n := range table[0] {
		r += n
		total += columns[j]
	}
	observed, tail := weight(table[0]), new(big.Int)
	first := make([]int, len(columns))
	var walk func(j, left int)
	walk = func(j, left int) {
		if j == len(columns) {
			if w := weight(first); left == 0 && w.Cmp(observed) <= 0 {
				tail.Add(tail, w)
			}
			return
		}
		for first[j] = 0; first[j] <= min(left, columns[j]); first[j]++ {
			walk(j+1, left-first[j])
		}
	}
	walk(0, r)
	p, _ := new(big.Rat).SetFrac(tail, new(big.Int).Binomial(int64(total), int64(r))).Float64()
	return p
}

func TestFisherAgainstPlain(t *testing.T) {
	r := rand.New(rand.NewPCG(13, 1))
	for range 400 {
		table := randomTable(r, 2, 2+r.IntN(4), 2+r.IntN(7))
		want := fisherPlain(table)
		got, err := Fisher(table)
		must(t, err)
		if !nearRelative(got.P, want, 1e-10) {
			t.Errorf("%v: p %v, want %v", table, got.P, want)
		}
		tall, err := Fisher(transpose(table))
		must(t, err)
		if !nearRelative(tall.P, want, 1e-10) {
			t.Errorf("%v on its side: p %v, want %v", table, tall.P, want)
		}
	}
}

// The general search and the two by two sum agree; the order of rows and
// columns, and rows and columns of zeros, do not matter.
func TestFisherProperties(t *testing.T) {
	r := rand.New(rand.NewPCG(14, 1))
	for range 200 {
		four := randomTable(r, 2, 2, 60)
		p, ok := fisherTwoByK(four[0], four[1])
		q := fisherTwoByTwo(four[0][0], four[0][1], four[1][0], four[1][1])
		if !ok || !nearRelative(p, q, 1e-9) {
			t.Errorf("%v: search %v, sum %v", four, p, q)
		}
		table := randomTable(r, 2, 4, 12)
		want, err := Fisher(table)
		must(t, err)
		other := make([][]int, 3)
		for _, j := range r.Perm(4) {
			other[0] = append(other[0], table[1][j], 0)
			other[1] = append(other[1], 0, 0)
			other[2] = append(other[2], table[0][j], 0)
		}
		got, err := Fisher(other)
		must(t, err)
		if !nearRelative(got.P, want.P, 1e-12) {
			t.Errorf("%v: p %v, rearranged %v", table, want.P, got.P)
		}
	}
}

func TestFisherRefuses(t *testing.T) {
	large := make([][]int, 2)
	for j := range 40 {
		large[0] = append(large[0], 900+17*j)
		large[1] = append(large[1], 1400-13*j)
	}
	for _, c := range []struct {
		name  string
		table [][]int
		want  error
	}{
		{"nothing", nil, ErrNoData},
		{"zeros", [][]int{{0, 0}, {0, 0}}, ErrNoData},
		{"one row", [][]int{{1, 2}, {0, 0}}, ErrNoVariance},
		{"one column", [][]int{{1, 0}, {2, 0}}, ErrNoVariance},
		{"large square", [][]int{{30, 40, 50, 20}, {20, 60, 70, 10}, {35, 50, 90, 30}, {12, 33, 41, 17}}, ErrTooLarge},
		{"large", large, ErrTooLarge},
	} {
		if _, err := Fisher(c.table); !errors.Is(err, c.want) {
			t.Errorf("%s: error %v, want %v", c.name, err, c.want)
		}
	}
}

// A table far out still has a p-value, not 0.
func TestFisherSmallTail(t *testing.T) {
	test, err := Fisher([][]int{{100, 0}, {0, 100}})
	must(t, err)
	// By hand: the two extreme tables of C(200, 100).
	log := func(n float64) float64 { x, _ := math.Lgamma(n + 1); return x }
	want := 2 * math.Exp(2*log(100)-log(200))
	if !nearRelative(test.P, want, 1e-10) {
		t.Errorf("p %v, want %v", test.P, want)
	}
}

func BenchmarkFisher(b *testing.B) {
	for _, table := range [][][]int{
		{{120, 340}, {160, 290}},
		{{12, 30, 8, 21, 9}, {22, 18, 14, 25, 4}},
		{{40, 35, 62, 28, 31, 12}, {52, 48, 44, 39, 20, 25}},
	} {
		b.Run(fmt.Sprintf("2x%d", len(table[0])), func(b *testing.B) {
			for b.Loop() {
				if _, err := Fisher(table); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
