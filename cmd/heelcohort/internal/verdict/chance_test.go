package verdict

import (
	"fmt"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"heelcohort/cmd/heelcohort/internal/printedtable"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/dataset"
)

// A distortion makes a wrong number of a right one; the texts have the same
// decimals. Without make all numbers of a cell are made wrong.
type distortion struct {
	name string
	make func(r *rand.Rand, text string) string
}

// Distortions that know nothing of the changes that are searched.
var distortions = []distortion{
	{"any number from a quarter to four times", func(r *rand.Rand, text string) string {
		x, d := parsed(text)
		return format(x*(0.25+3.75*r.Float64()), d)
	}},
	{"one digit replaced", func(r *rand.Rand, text string) string {
		at := digitAt(r, text)
		b := []byte(text)
		b[at] = '0' + byte((int(b[at]-'0')+1+r.IntN(9))%10)
		return string(b)
	}},
	{"two neighbouring digits swapped", func(r *rand.Rand, text string) string {
		at := digitAt(r, text)
		b := []byte(text)
		if next := at + 1; next < len(b) && b[next] != '.' {
			b[at], b[next] = b[next], b[at]
		}
		return string(b)
	}},
	{"all numbers of the cell times one factor", nil},
	{"off by one to nine units of the last digit", func(r *rand.Rand, text string) string {
		x, d := parsed(text)
		step := float64(1 + r.IntN(9))
		if r.IntN(2) == 0 {
			step = -step
		}
		for range d {
			step /= 10
		}
		return format(x+step, d)
	}},
}

func parsed(text string) (x float64, decimals int) {
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		panic(err)
	}
	_, rest, _ := strings.Cut(text, ".")
	return x, len(rest)
}

func format(x float64, decimals int) string { return strconv.FormatFloat(x, 'f', decimals, 64) }

// digitAt draws the place of a digit.
func digitAt(r *rand.Rand, text string) int {
	for {
		if at := r.IntN(len(text)); text[at] >= '0' && text[at] <= '9' {
			return at
		}
	}
}

// cellsOf lists the parts of rows that tables print together.
func cellsOf(res *result.Results) (cells [][][2]string) {
	for _, r := range res.Rows {
		switch {
		case r.Lower.Present() && r.Upper.Present():
			cells = append(cells, [][2]string{{r.ID, "value"}, {r.ID, "lower"}, {r.ID, "upper"}})
		case r.Measure == "percent":
			count := r
			count.Measure = "count"
			cells = append(cells, [][2]string{{count.Address(), "value"}, {r.ID, "value"}})
		case r.Measure == "mean":
			sd := r
			sd.Measure = "standard deviation"
			cells = append(cells, [][2]string{{r.ID, "value"}, {sd.Address(), "value"}})
		case r.Measure == "count" && r.Estimate > 9:
			cells = append(cells, [][2]string{{r.ID, "value"}})
		}
	}
	return cells
}

// falseShare distorts the cells of results many times and counts those that
// are explained, or taken for rounded.
func falseShare(t testing.TB, res *result.Results, rounds int) (lines []string, worst float64) {
	ix := indexOf(res)
	cells := cellsOf(res)
	var wrong, explained, rounded int
	for i, d := range distortions {
		r := rand.New(rand.NewPCG(2026, uint64(i)))
		var w, e, o int
		for range rounds {
			for _, cell := range cells {
				distorted(t, ix, r, d, cell, &w, &e, &o)
			}
		}
		lines = append(lines, fmt.Sprintf("%s: %d wrong cells, %.1f%% explained, %.1f%% taken for rounded", d.name, w, percent(e, w), percent(o, w)))
		worst = max(worst, percent(e, w))
		wrong, explained, rounded = wrong+w, explained+e, rounded+o
	}
	lines = append(lines, fmt.Sprintf("all: %d wrong cells, %.1f%% explained, %.1f%% taken for rounded", wrong, percent(explained, wrong), percent(rounded, wrong)))
	return lines, worst
}

func percent(a, b int) float64 { return 100 * float64(a) / float64(max(b, 1)) }

// distorted distorts one number of a cell that is printed rightly with some
// decimals, and counts it where it came out wrong.
func distorted(t testing.TB, ix *index, r *rand.Rand, d distortion, cell [][2]string, wrong, explained, rounded *int) {
	var bounds []bound
	at, factor := r.IntN(len(cell)), 0.25+3.75*r.Float64()
	decimals := 1 + r.IntN(3)
	for i, c := range cell {
		row := ix.at[c[0]]
		x := Part(row, c[1])
		places := decimals
		if row.Measure == "count" {
			places = 0
		}
		if exact(x) == nil {
			return
		}
		right := written(x, places)
		text := right
		switch {
		case d.make == nil:
			text = format(x*factor, places)
		case i == at:
			text = d.make(r, right)
		}
		n := printedtable.Number{Digits: text, Text: text, Decimals: places}
		b, err := ix.bind(dataset.Origin{}, n, printedtable.Address{Result: c[0], Part: c[1]})
		if err != nil {
			t.Fatal(err)
		}
		if i == at {
			switch sort, _ := judge(n, b.value); sort {
			case Same:
				return
			case Rounding:
				*wrong++
				*rounded++
				return
			}
		}
		bounds = append(bounds, b)
	}
	*wrong++
	if len(ix.explain(bounds)) > 0 {
		*explained++
	}
}

// TestFalseExplanations: of cells in which one number was made wrong at random,
// few are explained.
func TestFalseExplanations(t *testing.T) {
	lines, worst := falseShare(t, fixture(t), 40)
	for _, line := range lines {
		t.Log(line)
	}
	if worst >= 5 {
		t.Errorf("%.1f%% of wrong cells are explained, want below 5%%", worst)
	}
}
