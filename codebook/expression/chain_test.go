package expression

import (
	"testing"

	"heelcohort/codebook/value"
)

func TestChains(t *testing.T) {
	checkResults(t, []result{
		{"6 <= age < 17", yes()},
		{"6 <= age < 9.5", no()},
		{"17 > age >= 6", yes()},
		{"1 < 2 < 3 < 4", yes()},
		{"1 < 2 < 3 < 3", no()},
		{"3 < 2 < 3 < 4", no()},
		{"1 < 2 < 2 < 4", no()},
		{"6 < height < 17", none(value.Bool, "NM")},
		{"height < age < 9", no()},
		{"height < age < weight", none(value.Bool, "NM")},
		{"age < weight < height", none(value.Bool, "999")},
		{"9 < age < weight", none(value.Bool, "999")},
		{"10 < age < weight", no()},
		{"6 <= age < 17 and limp", yes()},
		{"limp && 6 <= age < 17", yes()},
		{"6 <= age < 17 && limp", yes()},
		{"6 <= age && age < 17", yes()},
		{"6 < age < 17 && 1 < 2 < 3", yes()},
		{"count_true(1 < count_true(limp, limp) < 3, limp) == 2", yes()},
		{"date('2024-04-30') < seen <= date('2024-05-01')", yes()},
	})
	checkRefusals(t, []refusal{
		{"¦agee < 6 < 7", "found agee", "age"},
		{"6 < ¦agee < 7", "found agee", "age"},
		{"6 <= age ¦> 17", "found > after <=, expected one direction", ""},
		{"6 <= age ¦< '17'", "expected the same kind", ""},
		{"'a' ¦< 'b' < 'c'", "texts have no order", ""},
		{"6 < age ¦== 7 < 8", "expected the same kind", ""},
	})
}

// A chain inside a chain doubles no work: each operand is computed once.
func TestNestedChainsAreLinear(t *testing.T) {
	source := "age"
	for range 40 {
		source = "count_true(0 < " + source + " < 100)"
	}
	p, err := Compile(source, child)
	if err != nil {
		t.Fatal(err)
	}
	row := &countingRow{row: childRow}
	if got := p.Eval(row); got != num(1) {
		t.Errorf("got %+v, want 1", got)
	}
	if row.n != 1 {
		t.Errorf("got %d reads of the variable, want 1", row.n)
	}
}

// A countingRow counts how often it is read.
type countingRow struct {
	row Row
	n   int
}

func (r *countingRow) Value(slot int) value.Value {
	r.n++
	return r.row.Value(slot)
}
