package dataset

import (
	"strings"
	"testing"

	"heelcohort/codebook/value"
)

func demoTable() *Table {
	age := &Column{Name: "age", Kind: value.Number, Index: 3, source: &sources{}}
	age.add(value.Num(10), Present)
	age.add(value.None(value.Number, "NM"), Missing)
	age.add(value.Value{}, Invalid)
	for _, text := range []string{"10", "NM", "ten"} {
		age.source.add(text)
	}
	return &Table{Name: "children", File: "a.xlsx", Sheet: "s", Rows: []int{2, 4, 5}, Columns: []*Column{age}}
}

func TestColumnValue(t *testing.T) {
	c := demoTable().Columns[0]
	for i, want := range []value.Value{
		value.Num(10), value.None(value.Number, "NM"), value.None(value.Number, value.CodeFault),
	} {
		if got := c.Value(i); got != want {
			t.Errorf("row %d is %+v, want %+v", i, got, want)
		}
	}
}

func TestWith(t *testing.T) {
	table := demoTable()
	values := []value.Value{value.Str("a"), value.None(value.Text, "NM"), value.Str("b")}
	band := NewColumn("band", "Age band", "", value.Text, []string{"a", "b"}, values)
	more, err := table.With(band)
	if err != nil {
		t.Fatal(err)
	}
	if len(table.Columns) != 1 || len(more.Columns) != 2 || more.Column("band") != band {
		t.Fatalf("columns %d and %d", len(table.Columns), len(more.Columns))
	}
	for i, want := range values {
		if got := band.Value(i); got != want {
			t.Errorf("row %d is %+v, want %+v", i, got, want)
		}
	}
	// Two tables made from one must not share the place of the next column.
	a, err := more.With(NewColumn("x", "", "", value.Text, nil, values))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := more.With(NewColumn("y", "", "", value.Text, nil, values)); err != nil {
		t.Fatal(err)
	}
	if a.Columns[2].Name != "x" {
		t.Errorf("column x was overwritten by %s", a.Columns[2].Name)
	}
	if o := more.Origin(1, band); o != (Origin{"a.xlsx", "s", 4, 0}) {
		t.Errorf("origin of a derived value %+v, want the row", o)
	}
	for _, c := range []struct {
		column *Column
		words  string
	}{
		{NewColumn("age", "", "", value.Text, nil, values), `already has a variable "age"`},
		{NewColumn("x", "", "", value.Text, nil, values[:2]), "has 2 rows, expected the 3"},
	} {
		if _, err := table.With(c.column); err == nil || !strings.Contains(err.Error(), c.words) {
			t.Errorf("error %v, want it to hold %q", err, c.words)
		}
	}
	if _, err := table.Keep([]bool{true}); err == nil {
		t.Error("a filter of wrong length was not refused")
	}
}

func TestNewColumnPanics(t *testing.T) {
	defer func() {
		if p := recover(); p == nil || !strings.HasPrefix(p.(string), "dataset: ") {
			t.Errorf("panic %v, want one of this package", p)
		}
	}()
	NewColumn("x", "", "", value.Number, nil, []value.Value{value.Str("a")})
}
